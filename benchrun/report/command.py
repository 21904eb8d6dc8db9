"""Reports as the command line asks for them: the ending of the file says which form is wanted."""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from benchrun.account.facts import RunFacts
from benchrun.account.gather import gather, photo_path
from benchrun.errors import BenchrunError
from benchrun.plain_file import read_plain
from benchrun.record.drawings import drawing_path
from benchrun.record.folder import RunFolder
from benchrun.report.front import Issue
from benchrun.report.target import put_report
from benchrun.text import count, shown

MOST_ONE: Final = 64 * 1024 * 1024
"""No picture's file is read that is larger."""

Verdict = Mapping[str, Any]


def run_report(
    folders: Sequence[Path],
    to: Path,
    verdicts: Sequence[Verdict | None] = (),
    *,
    issue: Issue | None = None,
    force: bool = False,
) -> str:
    """Write a report of one run, or a job report of several, in the form that the ending says.

    Args:
        folders: The folders of the runs, in the order wanted.
        to: The file to write: .html, .csv, .json, .txt or .md. One that benchrun wrote is replaced.
        verdicts: What verifying each run came to, in the form that `benchrun verify --json`
            prints, in the same order; None or nothing where it was not verified.
        issue: What the record says of its own issue: title, time, for whom.
        force: Whether a file that benchrun did not write is replaced as well.

    Returns:
        A line that says what was written.

    Raises:
        BenchrunError: A run is damaged, the ending is none of these, or the disk refused.
    """
    if to.suffix.lower() not in FORMS:
        endings = ", ".join(FORMS)
        raise BenchrunError(
            f"{shown(to.name, 100)}: the ending says which form is wanted, one of {endings}"
        )
    put_report(to, report_content(folders, to.suffix, verdicts, issue=issue), force=force)
    what = "a job record of " + count(len(folders), "run") if len(folders) > 1 else folders[0].name
    return f"{shown(what, 120)}: written to {shown(str(to), 200)}"


def report_content(
    folders: Sequence[Path],
    ending: str,
    verdicts: Sequence[Verdict | None] = (),
    *,
    issue: Issue | None = None,
) -> bytes:
    """The bytes of a report in one of `FORMS`; its arguments are those of `run_report`.

    Raises:
        BenchrunError: A run is damaged, or none is named.
    """
    issue = issue or Issue()
    if issue.table != Issue().table and ending.lower() != ".csv":
        raise BenchrunError(f"{shown(ending, 20)}: --table is one of a file that ends in .csv")
    if not folders:
        raise BenchrunError("a report needs a run: give its id or its folder")
    known = [*verdicts, *([None] * (len(folders) - len(verdicts)))]
    runs = [gather(folder, verdict) for folder, verdict in zip(folders, known, strict=True)]
    return FORMS[ending.lower()](runs, folders, issue).encode("utf-8", "replace")


def _html(runs: Sequence[RunFacts], folders: Sequence[Path], issue: Issue) -> str:
    from benchrun.report.html import as_html
    from benchrun.report.pages import lay_out

    pictures = [pictures_of(run, folder) for run, folder in zip(runs, folders, strict=True)]
    return as_html(lay_out(runs, issue, pictures))


def _text(runs: Sequence[RunFacts], folders: Sequence[Path], issue: Issue) -> str:
    from benchrun.report.pages import lay_out
    from benchrun.report.plain import as_text

    del folders
    return as_text(lay_out(runs, issue))


def _markdown(runs: Sequence[RunFacts], folders: Sequence[Path], issue: Issue) -> str:
    from benchrun.report.markdown import as_markdown
    from benchrun.report.pages import lay_out

    del folders
    return as_markdown(lay_out(runs, issue))


def _csv(runs: Sequence[RunFacts], folders: Sequence[Path], issue: Issue) -> str:
    from benchrun.report.rows import as_csv

    del folders
    return as_csv(runs, issue.table)


def _json(runs: Sequence[RunFacts], folders: Sequence[Path], issue: Issue) -> str:
    from benchrun.report.rows import as_json

    del issue
    logs = []
    for folder, run in zip(folders, runs, strict=True):
        lines = read_plain(RunFolder(folder).log).split(b"\n")[: run.entries]
        logs.append([json.loads(line) for line in lines])
    return as_json(runs, logs)


FORMS: Final[Mapping[str, Callable[[Sequence[RunFacts], Sequence[Path], Issue], str]]] = {
    ".html": _html,
    ".csv": _csv,
    ".json": _json,
    ".txt": _text,
    ".md": _markdown,
}
"""The makers of reports, by the ending of the file."""


def media_type(content: bytes) -> str:
    """The kind of a picture by its first bytes; empty for anything that no page should show."""
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content[:6] in (b"GIF87a", b"GIF89a"):
        return "image/gif"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    return ""


def pictures_of(facts: RunFacts, folder: Path) -> list[tuple[str, bytes | None]]:
    """For each picture of a run its media type and bytes, or None where it cannot be shown."""
    from benchrun.pictures.scaled import scaled

    pictures: list[tuple[str, bytes | None]] = []
    for photo in facts.photos:
        path = photo_path(folder.absolute(), photo.file)
        content = _content(path, photo.sha256) if photo.state == "agrees" else None
        kind = media_type(content) if content else ""
        shown = scaled(content, kind) if content and kind else None
        pictures.append(shown or ("", None))
    for drawing in facts.drawings:
        path = drawing_path(folder.absolute(), drawing.file)
        content = _content(path, drawing.sha256) if drawing.state == "agrees" else None
        pictures.append(_drawn(content) if content else ("", None))
    return pictures


def _drawn(content: bytes) -> tuple[str, bytes | None]:
    """A drawing as a page shows it: a picture scaled down, or lines, which run nothing there."""
    from benchrun.pictures.scaled import MOST_BYTES, scaled

    kind = media_type(content)
    if kind:
        return scaled(content, kind) or ("", None)
    lines = b"<svg" in content[:4096] and len(content) <= MOST_BYTES
    return ("image/svg+xml", content) if lines else ("", None)


def _content(path: Path | None, sha256: str) -> bytes | None:
    try:
        if path is None or path.stat().st_size > MOST_ONE:
            return None
        content = read_plain(path)
    except OSError:
        return None
    # Read again after the digest was taken: what is shown is what was checked.
    return content if hashlib.sha256(content).hexdigest() == sha256 else None
