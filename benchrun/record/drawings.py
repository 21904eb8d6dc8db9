"""The drawings of a procedure in the folder of a run: copies, each named by its digest."""

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import read_plain
from benchrun.record.durable import make_folder, write_file
from benchrun.text import shown, slug

FOLDER: Final = "drawings"
MOST_BYTES: Final = 32 * 1024 * 1024


@lean_dataclass(frozen=True, slots=True)
class KeptDrawing:
    """A drawing in a run's folder.

    Attributes:
        name: Its file as the procedure names it.
        file: Its path from the run's folder, with `/`.
        sha256: Its digest (hex).
        size: Its length in bytes.
    """

    name: str
    file: str
    sha256: str
    size: int

    def as_data(self) -> dict[str, object]:
        """The part of the first entry that names it."""
        return {"file": self.file, "sha256": self.sha256, "bytes": self.size}


def keep_drawings(run: Path, home: Path, names: tuple[str, ...]) -> tuple[KeptDrawing, ...]:
    """Copy the drawings of a procedure into the folder of a new run.

    Args:
        run: The run's folder.
        home: The folder of the procedure's file.
        names: The drawings, as the procedure names them.

    Raises:
        BenchrunError: One cannot be read, or is larger than a drawing should be.
        NotKept: The disk refused.
    """
    if names:
        make_folder(run / FOLDER)
    return tuple(_keep(run, home / name, name) for name in dict.fromkeys(names))


def _keep(run: Path, source: Path, name: str) -> KeptDrawing:
    place = shown(str(source), 200)
    try:
        if source.stat().st_size > MOST_BYTES:
            raise BenchrunError(f"the drawing {place} is larger than 32 MiB: make a smaller one")
        content = read_plain(source)
    except OSError as error:
        raise BenchrunError(f"the drawing {place} cannot be read: {disk_said(error)}") from None
    digest = hashlib.sha256(content).hexdigest()
    file = f"{slug(source.stem, 'drawing')}-{digest[:8]}.{slug(source.suffix, 'bin', 8)}"
    write_file(run / FOLDER / file, content)
    return KeptDrawing(name, f"{FOLDER}/{file}", digest, len(content))


def named_drawings(opened: Mapping[str, object]) -> dict[str, KeptDrawing]:
    """The drawings that the first entry of a run names, by their names in the procedure."""
    rows = opened.get("drawings")
    found: dict[str, KeptDrawing] = {}
    for name, row in rows.items() if isinstance(rows, Mapping) else ():
        if not isinstance(row, Mapping):
            continue
        file, sha256, size = row.get("file"), row.get("sha256"), row.get("bytes")
        if isinstance(file, str) and isinstance(sha256, str):
            found[str(name)] = KeptDrawing(
                str(name), file, sha256, size if isinstance(size, int) else 0
            )
    return found


def drawing_path(run: Path, file: str) -> Path | None:
    """Where a drawing of a run lies; None for a name that does not lead into its drawings/."""
    parts = file.split("/")
    if len(parts) != 2 or parts[0] != FOLDER or parts[1] in ("", ".", "..") or "\0" in file:
        return None
    path = run / FOLDER / parts[1]
    return None if path.is_symlink() else path
