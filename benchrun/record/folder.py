"""A run's folder: its name, what lies in it, and reading along from a second window.

log.jsonl         the log
log.jsonl.sig     the station's seal over the whole log, once it is closed
FORMAT.md         the page of the format, and
record_reader.py  a reader of it in plain Python, once it is closed
procedure.yaml    a byte copy of the procedure that the run follows, and
procedure.approval  of what its approver signed, where somebody did
signers           the public keys of those who signed
photos/           pictures that entries name, with their digests
"""

import hashlib
import os
import secrets
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.plain_file import read_plain
from benchrun.record.chain import ReadLog, read_log
from benchrun.record.durable import make_folder, write_file
from benchrun.record.glimpse import LOG_NAME, SEAL_NAME, run_paths
from benchrun.record.recovery import SetAside
from benchrun.record.signers import Signers, read_signers, write_signers
from benchrun.record.trouble import NotKept
from benchrun.record.writer import LogWriter
from benchrun.text import shown, slug

if TYPE_CHECKING:
    from benchrun.pictures.position import Position

# No letters that are taken for digits or for each other when read aloud or off a tag.
_TAG_LETTERS: Final = "23456789abcdefghjkmnpqrstuvwxyz"
APPROVAL: Final = "procedure.approval"
READING: Final = ("FORMAT.md", "record_reader.py")
"""The files laid into a run's folder at its close, so that it can be read without this program."""

_PATIENCE_MS: Final = 100  # who only looks whether a log is written has it for a moment


@lean_dataclass(frozen=True, slots=True)
class KeptPhoto:
    """A file that was taken into a run's folder.

    Attributes:
        file: Its path from the run's folder, with `/`.
        sha256: Its digest (hex).
        size: Its length in bytes.
        position: What was done about the position that a picture may tell (`position.Position`).
    """

    file: str
    sha256: str
    size: int
    position: "Position"

    def as_data(self) -> dict[str, str | int]:
        """The part of an entry's data that names it."""
        return {"file": self.file, "sha256": self.sha256, "bytes": self.size}


@lean_dataclass(frozen=True, slots=True)
class RunFolder:
    """A run's folder. Its name is the run's id."""

    path: Path

    @property
    def run(self) -> str:
        """The run's id."""
        return self.path.name

    @property
    def log(self) -> Path:
        """The log."""
        return self.path / LOG_NAME

    @property
    def seal(self) -> Path:
        """The seal over the whole log."""
        return self.path / SEAL_NAME

    @property
    def procedure(self) -> Path:
        """The copy of the procedure."""
        return self.path / "procedure.yaml"

    @property
    def approval(self) -> Path:
        """The copy of the approval of the procedure."""
        return self.path / APPROVAL

    @property
    def signers(self) -> Path:
        """The public keys of those who signed."""
        return self.path / "signers"

    @property
    def photos(self) -> Path:
        """The pictures."""
        return self.path / "photos"

    @classmethod
    def create(
        cls, runs: Path, title: str, at: Moment, procedure: bytes, *, tag: str | None = None
    ) -> "RunFolder":
        """Make the folder of a new run, with everything but its log.

        Args:
            runs: The folder that holds the shop's runs; made where it is missing.
            title: What the run is called, such as the procedure's id.
            at: When; gives the date in the name, in UTC.
            procedure: The bytes of the procedure.
            tag: The four letters at the end of the name; None for random ones.

        Raises:
            NotKept: The disk refused, or a run of that name is there.
        """
        try:
            runs.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise NotKept(
                f"the folder {shown(str(runs), 200)} could not be made: {disk_said(error)}",
                retry=True,
            ) from None
        folder = cls(runs / free_run_name(runs, title, at, tag))
        try:
            make_folder(folder.path)
        except FileExistsError:
            raise NotKept(f"there is a run {folder.run} already", retry=tag is None) from None
        lay_folder(folder, procedure, Signers())
        return folder

    def start_log(self) -> LogWriter:
        """Start the run's log."""
        return LogWriter.create(self.path)

    def open_log(self, check: Callable[[ReadLog], None] | None = None) -> LogWriter:
        """Go on with the run's log; what it holds is in the writer's `found`.

        Args:
            check: Called with what was read before anything is written, see `LogWriter.open`.
        """
        return LogWriter.open(self.path, wait_ms=_PATIENCE_MS, check=check)

    def read(self) -> ReadLog:
        """Read the log as it is now, while another window may be writing it.

        A line that is just being written shows as a torn tail, which is no fault here.
        """
        return read_log(self.log)

    def read_signers(self) -> Signers:
        """The signers that the folder keeps."""
        return read_signers(self.signers)

    def write_signers(self, signers: Signers) -> None:
        """Keep the signers."""
        write_signers(self.signers, signers)

    def write_seal(self, armoured: str) -> None:
        """Keep the seal over the whole log."""
        write_file(self.seal, armoured.encode("ascii"))

    def keep_reader(self) -> tuple[SetAside, ...]:
        """Lay the page of the format and a reader of it into the folder, so that it stands alone.

        Raises:
            NotKept: The disk refused.
        """
        kept = []
        for name in READING:
            content = _own(name)
            write_file(self.path / name, content)
            kept.append(SetAside(name, hashlib.sha256(content).hexdigest(), len(content)))
        return tuple(kept)

    def procedure_sha256(self) -> str:
        """The digest (hex) of the copy of the procedure.

        Raises:
            BenchrunError: It cannot be read.
        """
        return hashlib.sha256(_read(self.procedure)).hexdigest()

    def keep_photo(
        self, source: Path, *, keep_position: bool = False, unsure: bool = False
    ) -> KeptPhoto:
        """Copy a picture into the folder, without the position that it may tell.

        Args:
            source: The picture; any file will do.
            keep_position: Whether the copy may tell where the picture was taken.
            unsure: Whether it is kept although it could not be looked into, or not in full.

        Raises:
            MayTell: It could not be looked into, and `unsure` is not said.
            BenchrunError: It cannot be read, is no regular file or is larger than 256 MiB.
            NotKept: The disk refused.
        """
        from benchrun.pictures.files import take_picture

        looked = take_picture(source, keep_position=keep_position, unsure=unsure)
        digest = hashlib.sha256(looked.data).hexdigest()
        ending = slug(source.suffix, "bin", 8)
        # The digest in the name keeps two pictures of one name apart and one picture single.
        target = self.photos / f"{slug(source.stem, 'photo')}-{digest[:8]}.{ending}"
        write_file(target, looked.data)
        return KeptPhoto(f"photos/{target.name}", digest, len(looked.data), looked.position)


def _own(name: str) -> bytes:
    """The bytes of a file of this package.

    Raises:
        NotKept: The disk does not give it back.
    """
    path = Path(__file__).with_name(name)
    try:
        return path.read_bytes()
    except OSError as error:
        said = disk_said(error)
        raise NotKept(f"{shown(str(path), 200)} cannot be read: {said}", retry=True) from None


def lay_folder(
    folder: RunFolder, procedure: bytes, signers: Signers, approval: bytes | None = None
) -> None:
    """Put into a new folder what a run needs before its log.

    Raises:
        NotKept: The disk refused.
    """
    try:
        make_folder(folder.photos)
    except FileExistsError:
        raise NotKept(f"{shown(str(folder.photos), 200)} is there already", retry=False) from None
    write_file(folder.procedure, procedure)
    if approval is not None:
        write_file(folder.approval, approval)
    write_signers(folder.signers, signers)


def _read(path: Path) -> bytes:
    try:
        return read_plain(path)
    except OSError as error:
        raise BenchrunError(f"{shown(str(path), 200)} cannot be read: {disk_said(error)}") from None


def run_name(title: str, at: Moment, tag: str | None = None) -> str:
    """Name a run: the date in UTC, its title, four letters that tell namesakes apart."""
    letters = tag or "".join(secrets.choice(_TAG_LETTERS) for _ in range(4))
    return f"{at.utc[:10]}-{slug(title, 'run')}-{letters}"


def free_run_name(runs: Path, title: str, at: Moment, tag: str | None = None) -> str:
    """Name a run as no other is named: letters that another one has are drawn again."""
    name = run_name(title, at, tag)
    while tag is None and os.path.lexists(runs / name):
        name = run_name(title, at)
    return name


def run_folders(runs: Path) -> Iterator[RunFolder]:
    """The runs in a folder that have a log, oldest first by name."""
    yield from map(RunFolder, run_paths(runs))
