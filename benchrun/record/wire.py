"""The byte strings of SSH keys and signatures, and what a public key is.

Formats: RFC 4251 section 5 (string, uint32), RFC 8709 (ssh-ed25519), OpenSSH's PROTOCOL.u2f
(sk-ssh-ed25519@openssh.com).
"""

import base64
import binascii
import hashlib
import struct
from typing import Final, Protocol

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass

ED25519: Final = "ssh-ed25519"
SK_ED25519: Final = "sk-ssh-ed25519@openssh.com"
KINDS: Final = (ED25519, SK_ED25519)
"""The kinds of key that are accepted."""


class WireError(ValueError):
    """Bytes that are not what they should be."""


def pack(*parts: bytes | str) -> bytes:
    """Write strings one after the other, each with its length before it."""
    raws = (part.encode() if isinstance(part, str) else part for part in parts)
    return b"".join(struct.pack(">I", len(raw)) + raw for raw in raws)


class Reader:
    """Takes bytes apart from the front; everything must be used up."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0

    def take(self, count: int) -> bytes:
        """The next bytes as they are."""
        end = self._at + count
        if end > len(self._data):
            raise WireError("it ends too early")
        raw = self._data[self._at : end]
        self._at = end
        return raw

    def uint32(self) -> int:
        """The next four bytes as a number."""
        return int.from_bytes(self.take(4), "big")

    def string(self) -> bytes:
        """The next string."""
        return self.take(self.uint32())

    def text(self) -> str:
        """The next string as ASCII text."""
        try:
            return self.string().decode("ascii")
        except UnicodeDecodeError:
            raise WireError("a text in it is not ASCII") from None

    def end(self) -> None:
        """Demand that nothing is left."""
        if self._at != len(self._data):
            raise WireError("something follows its end")


@lean_dataclass(frozen=True, slots=True)
class PublicKey:
    """A public key of a kind that is accepted.

    Attributes:
        kind: `ssh-ed25519`, or `sk-ssh-ed25519@openssh.com` for one kept in a hardware token.
        point: The 32 bytes of the key proper.
        application: What a hardware key was made for; empty for others.
    """

    kind: str
    point: bytes
    application: str = ""

    @classmethod
    def from_blob(cls, blob: bytes) -> "PublicKey":
        """Read SSH's wire form.

        Raises:
            WireError: It is malformed or of a kind not accepted.
        """
        reader = Reader(blob)
        kind = reader.text()
        if kind not in KINDS:
            raise WireError(f"a key of kind {kind[:40]!r} is not accepted, only Ed25519")
        point = reader.string()
        application = reader.text() if kind == SK_ED25519 else ""
        reader.end()
        if len(point) != 32:
            raise WireError("an Ed25519 key has 32 bytes")
        return cls(kind, point, application)

    @classmethod
    def from_text(cls, text: str) -> "PublicKey":
        """Read a line like that of a `.pub` file; what follows the key is ignored.

        Raises:
            BenchrunError: It is not a public key of a kind that is accepted.
        """
        fields = text.split(None, 2)
        if len(fields) < 2:
            raise BenchrunError("this is not a public key: it should begin with ssh-ed25519 AAAA")
        try:
            key = cls.from_blob(base64.b64decode(fields[1], validate=True))
        except binascii.Error:
            raise BenchrunError("this public key is cut off, or mistyped") from None
        except WireError as error:
            raise BenchrunError(f"this public key cannot be used: {error}") from None
        if key.kind != fields[0]:
            raise BenchrunError("this public key names one kind and holds another")
        return key

    @property
    def blob(self) -> bytes:
        """SSH's wire form."""
        if self.kind == SK_ED25519:
            return pack(self.kind, self.point, self.application)
        return pack(self.kind, self.point)

    @property
    def text(self) -> str:
        """Kind and key as in a `.pub` file, without a comment."""
        return f"{self.kind} {base64.b64encode(self.blob).decode('ascii')}"

    @property
    def fingerprint(self) -> str:
        """`SHA256:` and the digest, as stock tools print it."""
        digest = base64.b64encode(hashlib.sha256(self.blob).digest()).decode("ascii")
        return f"SHA256:{digest.rstrip('=')}"


class SigningKey(Protocol):
    """Anything that can sign: an unlocked key, or one held by an agent."""

    @property
    def public(self) -> PublicKey:
        """Its public half."""
        ...

    def sign(self, message: bytes) -> bytes:
        """Sign a message; the result is SSH's wire form of a signature."""
        ...
