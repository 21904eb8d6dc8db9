"""The guide to writing procedures: its index, and each chapter to be read."""

from collections.abc import Iterator
from functools import partial
from itertools import groupby

from benchrun.screen.page_api import Pane, PaneHost
from benchrun.screen.prompts import MenuChoice, MenuPane
from benchrun.screen.reader_page import ReadPane
from benchrun.screen.text_line import Paper, Role, TextLine
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


def guide_menu(host: PaneHost) -> Pane:
    """The index of the guide; a number opens a chapter."""

    def choice(title: str, lines: list[str]) -> MenuChoice:
        async def read() -> None:
            host.push(ReadPane(host, title, partial(_rows, lines)))

        return MenuChoice(title, read)

    found = chapters()
    where = shipped("procedures") / "README.md"
    return MenuPane(host, f"Guide: {where}", [choice(*one) for one in found.items()])


def _rows(lines: list[str], paper: Paper) -> list[TextLine]:
    rows: list[TextLine] = []
    for text in _paragraphs(lines):
        if text.startswith("    "):
            rows.append(paper.line(" ", paper.fitted(text, paper.width - 2)))
        elif text.startswith("#"):
            rows += paper.paragraph(text.lstrip("# "), role=Role.STRONG)
        else:
            rows += paper.paragraph(text.replace("**", "").replace("`", ""))
    return rows


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
