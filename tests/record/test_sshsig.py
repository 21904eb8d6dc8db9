import base64
import hashlib
import os
import struct
import subprocess

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from benchrun.record.keys import make_key, read_key_file
from benchrun.record.sshsig import SEAL, SIGN, read_signature, sign_digest, verify_signature
from benchrun.record.trouble import BadSignature
from benchrun.record.wire import ED25519, SK_ED25519, PublicKey, pack

MESSAGE = "seat bore 25,43 µm Ø\n".encode() * 100

# RFC 8032 section 7.1, Ed25519: TEST 1, TEST 2, TEST 3, TEST SHA(abc).
RFC_8032 = [
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    (
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a"
        "2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b589"
        "09351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
]


@pytest.fixture
def key(tmp_path):
    return make_key(tmp_path / "key", None, "invented")


def digest_of(message):
    return lambda algorithm: hashlib.new(algorithm, message).digest()


def stock_sign(ssh_keygen, path, namespace, message, *options):
    done = subprocess.run(
        [ssh_keygen, "-q", "-Y", "sign", "-f", str(path), "-n", namespace, *options],
        input=message,
        capture_output=True,
        check=True,
    )
    return done.stdout.decode()


def stock_verify(ssh_keygen, tmp_path, line, namespace, armoured, message):
    (tmp_path / "allowed").write_text(f"someone@shop {line}\n")
    (tmp_path / "k.sig").write_text(armoured)
    options = ["-f", str(tmp_path / "allowed"), "-I", "someone@shop", "-n", namespace]
    return (
        subprocess.run(
            [ssh_keygen, "-Y", "verify", *options, "-s", str(tmp_path / "k.sig")],
            input=message,
            capture_output=True,
            check=False,
        ).returncode
        == 0
    )


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_our_signing_gives_the_signatures_of_rfc_8032(tmp_path, secret, public, message, signature):
    path = tmp_path / "key"
    private = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))
    path.touch(0o600)
    path.write_bytes(private.private_bytes(Encoding.PEM, PrivateFormat.OpenSSH, NoEncryption()))
    key = read_key_file(path).unlock()
    assert key.public.point.hex() == public
    assert key.sign(bytes.fromhex(message)) == pack(ED25519, bytes.fromhex(signature))


@pytest.mark.parametrize("algorithm", ["sha512", "sha256"])
@pytest.mark.parametrize("message", [b"", MESSAGE])
def test_our_signature_is_the_stock_tools_byte_for_byte(
    key, tmp_path, ssh_keygen, algorithm, message
):
    ours = sign_digest(key, SIGN, digest_of(message)(algorithm), algorithm)
    options = ("-O", f"hashalg={algorithm}")
    assert ours == stock_sign(ssh_keygen, tmp_path / "key", SIGN, message, *options)
    assert verify_signature(ours, SIGN, digest_of(message), key.public) == key.public


def test_the_stock_tool_accepts_our_signature_and_we_its(key, tmp_path, ssh_keygen):
    ours = sign_digest(key, SEAL, digest_of(MESSAGE)("sha512"))
    line = key.public.text
    assert stock_verify(ssh_keygen, tmp_path, line, SEAL, ours, MESSAGE)
    assert not stock_verify(ssh_keygen, tmp_path, line, SEAL, ours, MESSAGE + b".")
    theirs = stock_sign(ssh_keygen, tmp_path / "key", SEAL, MESSAGE)
    assert verify_signature(theirs, SEAL, digest_of(MESSAGE)) == key.public


def test_a_signature_does_not_hold_for_anything_else(key, tmp_path):
    armoured = sign_digest(key, SIGN, digest_of(MESSAGE)("sha512"))
    other = make_key(tmp_path / "other", None)
    with pytest.raises(BadSignature, match="does not fit"):
        verify_signature(armoured, SIGN, digest_of(MESSAGE + b"."))
    with pytest.raises(BadSignature, match="is for"):
        verify_signature(armoured, SEAL, digest_of(MESSAGE))
    with pytest.raises(BadSignature, match="another key"):
        verify_signature(armoured, SIGN, digest_of(MESSAGE), other.public)
    verify_signature(armoured, SIGN, digest_of(MESSAGE))  # the control


def test_no_byte_of_a_signature_can_be_changed(key):
    armoured = sign_digest(key, SIGN, digest_of(MESSAGE)("sha512"))
    told = 0
    for at in range(len(armoured)):
        for changed in (armoured[:at] + armoured[at + 1 :], _flipped(armoured, at)):
            with pytest.raises(BadSignature):
                verify_signature(changed, SIGN, digest_of(MESSAGE), key.public)
            told += 1
    assert told == 2 * len(armoured)


def _flipped(text, at):
    other = "A" if text[at] != "A" else "B"
    return text[:at] + other + text[at + 1 :]


def _armour(blob):
    text = base64.b64encode(blob).decode()
    rows = "".join(text[at : at + 70] + "\n" for at in range(0, len(text), 70))
    return f"-----BEGIN SSH SIGNATURE-----\n{rows}-----END SSH SIGNATURE-----\n"


def _blob(public, **change):
    parts = {
        "magic": b"SSHSIG",
        "version": 1,
        "key": public.blob,
        "namespace": SIGN,
        "reserved": b"",
        "algorithm": "sha512",
        "signature": pack(ED25519, b"s" * 64),
        "tail": b"",
        **change,
    }
    return (
        parts["magic"]
        + struct.pack(">I", parts["version"])
        + pack(*(parts[n] for n in ("key", "namespace", "reserved", "algorithm", "signature")))
        + parts["tail"]
    )


@pytest.mark.parametrize(
    "change",
    [
        {"magic": b"SSHSIX"},
        {"version": 2},
        {"key": pack("ssh-rsa", b"\x03", b"\x01" * 256)},
        {"key": pack(ED25519, b"short")},
        {"key": pack(ED25519, b"k" * 32, b"more")},
        {"key": b""},
        {"reserved": b"x"},
        {"algorithm": "sha1"},
        {"algorithm": "md5"},
        {"signature": b""},
        {"signature": pack("ssh-rsa", b"s" * 64)},
        {"signature": pack(ED25519, b"s" * 63)},
        {"signature": pack(ED25519, b"s" * 64, b"more")},
        {"tail": b"x"},
    ],
)
def test_a_malformed_signature_is_refused_in_words(key, change):
    with pytest.raises(BadSignature):
        verify_signature(_armour(_blob(key.public, **change)), SIGN, digest_of(MESSAGE))
    assert read_signature(_armour(_blob(key.public))).key == key.public  # the control


def test_every_shortened_signature_is_refused(key):
    blob = _blob(key.public)
    for length in range(len(blob)):
        with pytest.raises(BadSignature):
            verify_signature(_armour(blob[:length]), SIGN, digest_of(MESSAGE))


@pytest.mark.parametrize("text", ["", "x", "-----BEGIN SSH SIGNATURE-----\n", "ä" * 300])
def test_what_is_no_signature_is_refused(text):
    with pytest.raises(BadSignature, match="not an SSH signature"):
        verify_signature(text, SIGN, digest_of(MESSAGE))


def test_a_digest_of_the_wrong_size_is_not_signed(key):
    with pytest.raises(ValueError, match="no sha512 digest"):
        sign_digest(key, SIGN, b"x" * 32)


class Token:
    """A hardware key in software: OpenSSH's PROTOCOL.u2f, with flags as told."""

    def __init__(self, flags):
        self._private = Ed25519PrivateKey.generate()
        self._flags = flags
        self.public = PublicKey(SK_ED25519, self._private.public_key().public_bytes_raw(), "ssh:")

    def sign(self, message):
        state = bytes([self._flags]) + struct.pack(">I", 7)
        application = hashlib.sha256(b"ssh:").digest()
        raw = self._private.sign(application + state + hashlib.sha256(message).digest())
        return pack(SK_ED25519, raw) + state


@pytest.mark.parametrize("flags", [0x01, 0x05])
def test_a_touched_hardware_key_is_accepted_as_by_the_stock_tool(tmp_path, ssh_keygen, flags):
    token = Token(flags)
    armoured = sign_digest(token, SIGN, digest_of(MESSAGE)("sha512"))
    assert verify_signature(armoured, SIGN, digest_of(MESSAGE)) == token.public
    assert stock_verify(ssh_keygen, tmp_path, token.public.text, SIGN, armoured, MESSAGE)


@pytest.mark.parametrize("flags", [0x00, 0x04])
def test_an_untouched_hardware_key_is_refused_where_the_stock_tool_is_not_so_strict(
    tmp_path, ssh_keygen, flags
):
    token = Token(flags)
    armoured = sign_digest(token, SIGN, digest_of(MESSAGE)("sha512"))
    with pytest.raises(BadSignature, match="nobody touched"):
        verify_signature(armoured, SIGN, digest_of(MESSAGE))
    # The control: the signature itself is sound.
    assert stock_verify(ssh_keygen, tmp_path, token.public.text, SIGN, armoured, MESSAGE)


def test_random_bytes_are_never_a_signature():
    for size in range(0, 400, 7):
        with pytest.raises(BadSignature):
            verify_signature(_armour(os.urandom(size)), SIGN, digest_of(MESSAGE))
