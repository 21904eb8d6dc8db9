"""SSHSIG signatures, as `ssh-keygen -Y sign` and `-Y verify` make and check them.

What is signed is a short text that holds the digest of the message (OpenSSH's PROTOCOL.sshsig),
so a running digest of a file suffices to sign all of it.
"""

import base64
import binascii
import hashlib
from collections.abc import Callable
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.trouble import BadSignature
from benchrun.record.wire import (
    ED25519,
    PublicKey,
    Reader,
    SigningKey,
    WireError,
    pack,
)

SIGN: Final = "sign@benchrun"
"""The namespace of people's signatures."""

SEAL: Final = "seal@benchrun"
"""The namespace of the station's seals."""

_MAGIC: Final = b"SSHSIG"
_BEGIN: Final = "-----BEGIN SSH SIGNATURE-----\n"
_END: Final = "-----END SSH SIGNATURE-----\n"
_WIDTH: Final = 70
_SIZES: Final = {"sha256": 32, "sha512": 64}
_TOUCHED: Final = 0x01  # PROTOCOL.u2f: the flag of user presence


@lean_dataclass(frozen=True, slots=True)
class Signature:
    """A signature taken apart.

    Attributes:
        key: The public key it was made with.
        namespace: What it is for.
        algorithm: The digest of the message, `sha256` or `sha512`.
        raw: The signature proper in SSH's wire form.
    """

    key: PublicKey
    namespace: str
    algorithm: str
    raw: bytes


def sign_digest(key: SigningKey, namespace: str, digest: bytes, algorithm: str = "sha512") -> str:
    """Sign a message by its finished digest.

    Args:
        key: What signs.
        namespace: What the signature is for.
        digest: The digest of the message.
        algorithm: Which digest: `sha512` or `sha256`.

    Returns:
        The armoured signature, byte for byte what `ssh-keygen -Y sign` writes.

    Raises:
        ValueError: The digest has not the size of that algorithm.
        BenchrunError: The key did not sign (an agent refused).
    """
    if _SIZES.get(algorithm) != len(digest):
        raise ValueError(f"{len(digest)} bytes are no {algorithm} digest")
    signature = key.sign(_MAGIC + pack(namespace, b"", algorithm, digest))
    return _armour(Signature(key.public, namespace, algorithm, signature))


def _armour(signature: Signature) -> str:
    blob = (
        _MAGIC
        + (1).to_bytes(4, "big")
        + pack(signature.key.blob, signature.namespace, b"", signature.algorithm, signature.raw)
    )
    text = base64.b64encode(blob).decode("ascii")
    rows = [text[at : at + _WIDTH] + "\n" for at in range(0, len(text), _WIDTH)]
    return _BEGIN + "".join(rows) + _END


def read_signature(armoured: str) -> Signature:
    """Take an armoured signature apart without checking it.

    Raises:
        BadSignature: It is not written exactly as the stock tool writes it, or is of a kind that
            is not accepted.
    """
    if not armoured.startswith(_BEGIN) or not armoured.endswith(_END):
        raise BadSignature("this is not an SSH signature")
    body = armoured[len(_BEGIN) : -len(_END)]
    try:
        signature = _unpack(base64.b64decode(body.replace("\n", ""), validate=True))
    except (binascii.Error, ValueError) as error:
        raise BadSignature(f"this SSH signature is malformed: {error}") from None
    if _armour(signature) != armoured:
        raise BadSignature("this SSH signature is not in the form that the stock tool writes")
    return signature


def _unpack(blob: bytes) -> Signature:
    reader = Reader(blob)
    if reader.take(6) != _MAGIC or reader.uint32() != 1:
        raise WireError("it is not an SSHSIG of version 1")
    key = PublicKey.from_blob(reader.string())
    namespace = reader.text()
    if reader.string():
        raise WireError("its reserved part is not empty")
    algorithm = reader.text()
    if algorithm not in _SIZES:
        raise WireError(f"it uses {algorithm[:20]!r}, only sha256 and sha512 are accepted")
    raw = reader.string()
    reader.end()
    return Signature(key, namespace, algorithm, raw)


def verify_signature(
    armoured: str,
    namespace: str,
    digest_of: Callable[[str], bytes],
    public_key: PublicKey | None = None,
) -> PublicKey:
    """Check a signature over a message that is known by its digests.

    Args:
        armoured: The signature.
        namespace: What it must be for.
        digest_of: Gives the message's digest for `sha256` or `sha512`.
        public_key: The key it must be made with; None to accept any and look at the result.

    Returns:
        The key it was made with. Whether that key is trusted is another question: see `signers`.

    Raises:
        BadSignature: It does not hold.
    """
    signature = read_signature(armoured)
    if signature.namespace != namespace:
        raise BadSignature(f"it is for {signature.namespace[:40]!r} instead of {namespace!r}")
    if public_key is not None and signature.key != public_key:
        raise BadSignature(f"it was made with another key, {signature.key.fingerprint}")
    digest = digest_of(signature.algorithm)
    message = _MAGIC + pack(namespace, b"", signature.algorithm, digest)
    _check(signature, message)
    return signature.key


def _check(signature: Signature, message: bytes) -> None:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    key = signature.key
    try:
        raw, signed = _signed(signature, message)
        Ed25519PublicKey.from_public_bytes(key.point).verify(raw, signed)
    except InvalidSignature:
        raise BadSignature(
            "it does not fit the bytes it was made over: these were changed since, or it was"
        ) from None
    except ValueError as error:
        raise BadSignature(f"it is malformed: {error}") from None


def _signed(signature: Signature, message: bytes) -> tuple[bytes, bytes]:
    """The 64 bytes of the signature, and the bytes that they are over."""
    reader = Reader(signature.raw)
    kind = reader.text()
    if kind != signature.key.kind:
        raise WireError("its kind is not that of its key")
    raw = reader.string()
    if kind == ED25519:
        reader.end()
        return raw, message
    flags, counter = reader.take(1), reader.take(4)
    reader.end()
    if not flags[0] & _TOUCHED:
        raise BadSignature("it was made by a hardware key that nobody touched")
    application = hashlib.sha256(signature.key.application.encode()).digest()
    return raw, application + flags + counter + hashlib.sha256(message).digest()
