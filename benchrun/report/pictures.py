"""Reads the pictures of a run for showing: only what agrees with its digest, and is a picture."""

import hashlib
from pathlib import Path
from typing import Final

from benchrun.account.facts import RunFacts
from benchrun.account.gather import photo_path
from benchrun.plain_file import read_plain

MOST_ONE: Final = 12 * 1024 * 1024
MOST_ALL: Final = 48 * 1024 * 1024


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


class Album:
    """Gives out the pictures of runs until a report is as heavy as it may get."""

    def __init__(self) -> None:
        self._left = MOST_ALL

    def pictures(self, facts: RunFacts, folder: Path) -> list[tuple[str, bytes | None]]:
        """For each picture of a run its media type and bytes, or None where it is not shown."""
        pictures: list[tuple[str, bytes | None]] = []
        for photo in facts.photos:
            content = (
                self._content(folder, photo.file, photo.sha256) if photo.state == "agrees" else None
            )
            kind = media_type(content) if content else ""
            if content is None or not kind:
                pictures.append(("", None))
                continue
            self._left -= len(content)
            pictures.append((kind, content))
        return pictures

    def _content(self, folder: Path, file: str, sha256: str) -> bytes | None:
        path = photo_path(folder.absolute(), file)
        try:
            if path is None or path.stat().st_size > min(MOST_ONE, self._left):
                return None
            content = read_plain(path)
        except OSError:
            return None
        # Read again after the digest was taken: what is shown is what was checked.
        return content if hashlib.sha256(content).hexdigest() == sha256 else None
