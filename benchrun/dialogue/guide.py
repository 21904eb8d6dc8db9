"""The guide to writing procedures: its index, and each chapter to be read."""

import re
from collections.abc import Iterator
from functools import partial
from itertools import groupby

from benchrun.dialogue.page_prompt import PagePrompt, PageRow, Tone
from benchrun.dialogue.prompts import Choose, Option
from benchrun.dialogue.turns import Flow, choose, show_page
from benchrun.shop.folder import shipped


def chapters() -> dict[str, list[str]]:
    """The chapters of the guide, each title with its lines; none where the guide is not there."""
    path = shipped("procedures") / "README.md"
    found: dict[str, list[str]] = {}
    title = ""
    for line in path.read_text("utf-8").splitlines() if path.is_file() else ():
        if line.startswith("## "):
            title = line.removeprefix("## ").lstrip("0123456789. ")
            found[title] = []
        elif title:
            found[title].append(line)
    return found


def guide() -> Flow:
    """Show the index of the guide, and the chapter that is chosen."""
    found = chapters()
    place = yield from choose(Choose("Guide", tuple(map(Option, found))))
    if place is not None:
        title, lines = list(found.items())[place]
        yield from show_page(PagePrompt(title, partial(_rows, lines)))
    return False


def _rows(lines: list[str]) -> list[PageRow]:
    where = shipped("procedures") / "README.md"
    rows = [PageRow(f"All chapters: {where}", tone=Tone.QUIET), PageRow()]
    for text in _paragraphs(lines):
        if text.startswith("    "):
            words = text.lstrip()
            rows.append(PageRow(words, indent=len(text) - len(words)))
        elif text.startswith("#"):
            rows.append(PageRow(text.lstrip("# "), tone=Tone.STRONG, heads=True))
        else:
            rows.append(PageRow(_prose(text)))
    return rows


def _prose(text: str) -> str:
    """A paragraph without marks: what is typed stands in quotes, a link is its words."""
    linked = re.sub(r"\[([^\]]+)\]\([^)]*\)", r"\1", text.replace("**", ""))
    return re.sub(r"`([^`]+)`", r"'\1'", linked)


def _paragraphs(lines: list[str]) -> Iterator[str]:
    """Lines of prose joined to paragraphs, lines of examples as they are, indented."""
    example = False
    for blank, some in groupby(lines, key=lambda line: not line.strip()):
        if blank:
            yield ""
            continue
        prose: list[str] = []
        for line in some:
            if line.startswith("```"):
                example = not example
            elif example or line.startswith("|"):
                yield f"    {line}"
            elif line.startswith(("#", "- ")):
                yield from [" ".join(prose)] if prose else []
                prose = [line]
            else:
                prose.append(line.strip())
        yield from [" ".join(prose)] if prose else []
