"""Making the data of signature lines, and the seal over a closed log."""

from benchrun.record.folder import RunFolder
from benchrun.record.sshsig import SEAL, SIGN, sign_digest
from benchrun.record.wire import SigningKey
from benchrun.record.writer import LogWriter


def sign_data(writer: LogWriter, key: SigningKey, who: str) -> dict[str, str | int]:
    """Sign all bytes of a log so far for a person: the data of a line of kind `sign`.

    The line before it must say what the signature means, in whose full name.

    Args:
        writer: The log's writer; the line made of this must be the next one.
        key: The person's key.
        who: The person's principal.
    """
    signature = sign_digest(key, SIGN, writer.prefix_digest())
    return {"sshsig": signature, "who": who, "of": writer.n - 1}


def seal_data(writer: LogWriter, key: SigningKey, who: str, why: str) -> dict[str, str | int]:
    """Seal all bytes of a log so far by the station: the data of a line of kind `seal`.

    Args:
        writer: The log's writer; the line made of this must be the next one.
        key: The station's key.
        who: The station's principal.
        why: What it is sealed for, such as `close`.
    """
    return {"sshsig": sign_digest(key, SEAL, writer.prefix_digest()), "who": who, "why": why}


def seal_whole(folder: RunFolder, writer: LogWriter, key: SigningKey) -> str:
    """Seal a closed log as a whole: write `log.jsonl.sig` beside it and return what it holds."""
    armoured = sign_digest(key, SEAL, writer.prefix_digest())
    folder.write_seal(armoured)
    return armoured
