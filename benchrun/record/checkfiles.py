"""Checking the files beside a log against the digests that its lines hold."""

import hashlib
import os
import re
from pathlib import Path, PurePosixPath
from typing import Any, Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.plain_file import open_regular, read_plain
from benchrun.record.drawings import named_drawings
from benchrun.record.findings import KeepingReport
from benchrun.record.glimpse import LOG_NAME, SEAL_NAME
from benchrun.record.line import Line
from benchrun.record.writer import RECOVERED
from benchrun.text import shown

_DIGEST: Final = re.compile(r"[0-9a-f]{64}", re.ASCII)


class FileCheck:
    """Judges the files of a run's folder and enters what it finds in a report.

    Args:
        report: Where findings go.
        folder: The run's folder.
    """

    def __init__(self, report: KeepingReport, folder: Path) -> None:
        self._report = report
        self._folder = folder
        self._named = {LOG_NAME, SEAL_NAME, "procedure.yaml", "signers"}

    def procedure(self, line: Line) -> None:
        """Judge the copy of the procedure by what line 0 says of it."""
        found = self._digest("procedure.yaml", line.data.get("procedure_sha256"), 0)
        if found is None:
            self._report.fault("procedure.yaml is missing")
        elif not found:
            self._report.fault("procedure.yaml is not the one that the run was opened with")

    def approval(self, line: Line) -> bytes | None:
        """Judge the copy of the approval by what line 0 says of it; its bytes where they agree."""
        kept = line.data.get("approval")
        if not isinstance(kept, dict):
            return None
        found = self._digest(kept.get("file"), kept.get("sha256"), 0)
        path = self._inside(kept.get("file"))
        if found is None:
            self._report.fault(f"{_named(kept)}, the approval of the procedure, is missing")
        elif not found:
            self._report.fault(f"{_named(kept)} is not the approval that lay there at the begin")
        return read_plain(path) if found and path is not None else None

    def drawings(self, line: Line) -> None:
        """Judge the copies of the drawings by what line 0 says of them."""
        for kept in named_drawings(line.data).values():
            found = self._digest(kept.file, kept.sha256, 0)
            if found is None:
                self._report.fault(f"the drawing {shown(kept.file, 120)} is missing", 0)
            elif not found:
                self._report.fault(f"{shown(kept.file, 120)} is not the drawing that was kept", 0)

    def photo(self, line: Line) -> None:
        """Judge the picture that a line names."""
        place, name = line.n, _named(line.data)
        found = self._digest(line.data.get("file"), line.data.get("sha256"), place)
        if found is None:
            self._report.fault(f"the picture {name} is missing", place)
        elif not found:
            self._report.fault(f"the picture {name} is not the one that was taken", place)
        else:
            self._report.photos += 1

    def recovered(self, line: Line) -> None:
        """Judge what a line says was set aside."""
        place = line.n
        files = line.data.get("files")
        for item in files if isinstance(files, list) else []:
            if not isinstance(item, dict):
                continue
            name = _named(item)
            self._named.add(str(item.get("file")))
            self._report.doubt(f"{name} was set aside after a kill or a disk fault", place)
            if item.get("sha256") is None:
                continue
            found = self._digest(item.get("file"), item.get("sha256"), place)
            if found is None:
                self._report.doubt(f"{name} is no longer there", place)
            elif not found:
                self._report.fault(f"{name} is not what was set aside", place)

    def sealed(self, line: Line) -> None:
        """Judge what was laid beside the log for whoever reads it without this program."""
        files = line.data.get("files")
        for item in files if isinstance(files, list) else []:
            if not isinstance(item, dict):
                continue
            found = self._digest(item.get("file"), item.get("sha256"), line.n)
            if found is None:
                self._report.doubt(f"{_named(item)} is no longer there", line.n)
            elif not found:
                text = f"{_named(item)} is not what was laid there at the close: do not run it"
                self._report.fault(text, line.n)

    def line(self, line: Line) -> None:
        """Judge whatever files a line names."""
        if line.kind == "photo":
            self.photo(line)
        elif line.kind == "seal":
            self.sealed(line)
        elif line.kind == RECOVERED:
            self.recovered(line)

    def strays(self) -> list[str]:
        """Files in the folder that no entry names, by their path; links are never followed."""
        found = []
        for place, folders, files in os.walk(self._folder):
            inside = Path(place).relative_to(self._folder)
            links = [name for name in folders if (Path(place) / name).is_symlink()]
            found += [(inside / name).as_posix() for name in (*files, *links)]
        return sorted(set(found) - self._named)

    def _digest(self, file: object, sha256: object, place: int) -> bool | None:
        """Whether a file has the digest given, None when it is not there."""
        if not isinstance(sha256, str) or _DIGEST.fullmatch(sha256) is None:
            self._report.fault("it should hold the file's SHA-256", place)
            return False
        self._named.add(str(file))
        path = self._inside(file)
        if path is None:
            self._report.fault("it names a file outside the run's folder", place)
            return False
        try:
            with open_regular(path) as opened:
                return hashlib.file_digest(opened, "sha256").hexdigest() == sha256
        except FileNotFoundError:
            return None
        except OSError as error:
            raise BenchrunError(
                f"{shown(str(path), 200)} cannot be read: {disk_said(error)}"
            ) from None

    def _inside(self, file: object) -> Path | None:
        if not isinstance(file, str) or not file or "\0" in file or "\\" in file:
            return None
        pure = PurePosixPath(file)
        if pure.is_absolute() or ".." in pure.parts:
            return None
        path = self._folder / pure
        root = self._folder.resolve()
        return path if path.resolve().is_relative_to(root) else None


def _named(data: dict[str, Any]) -> str:
    return shown(str(data.get("file")), 120)
