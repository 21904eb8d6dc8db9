"""Tags of parts as a page to print: the tag in large letters, job, identity, a code for a scanner.

The code is a QR code and not a line code: a hand scanner with a camera reads it in any direction,
from a small tag on a round part, and with a quarter of it dirty; a phone reads it too. A line code
of the same text is several times as wide, and a scratch along a bar is its end. Scanners that have
a laser line alone read no QR code; that is said on the page of this command.
"""

import re
from collections.abc import Iterable, Sequence
from html import escape
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.books import ShopBooks
from benchrun.shop.parts import Part
from benchrun.text import meant, shown

QUIET: Final = 4
"""The blank modules round a code (ISO/IEC 18004: four on every side)."""
_LEVEL: Final = "q"  # a quarter of it may be dirty (ISO/IEC 18004: level Q, about 25 %)
_ROLL: Final = re.compile(r"([1-9][0-9]{1,2})[xX×]([1-9][0-9]{1,2})(?: ?mm)?")
_LEAST_MM: Final = (30, 15)
_MOST_MM: Final = 300
_LETTER: Final = 0.72
"""How wide a bold letter is at most in the mean, as a share of the type's size; tried out."""


@lean_dataclass(frozen=True, slots=True)
class TagPaper:
    """A paper that tags are printed on; all lengths in millimetres.

    Attributes:
        name: What it is called on the command line.
        page: The width and height of the page.
        tag: The width and height of a tag.
        margins: What is left free at the left and above.
        gaps: The space between two tags, across and down.
    """

    name: str
    page: tuple[float, float]
    tag: tuple[float, float]
    margins: tuple[float, float] = (0.0, 0.0)
    gaps: tuple[float, float] = (0.0, 0.0)

    @property
    def across(self) -> int:
        """How many tags stand side by side."""
        return self._count(0)

    @property
    def down(self) -> int:
        """How many rows of tags a page has."""
        return self._count(1)

    def _count(self, way: int) -> int:
        room = self.page[way] - 2 * self.margins[way] + self.gaps[way]
        return int((room + 0.001) // (self.tag[way] + self.gaps[way]))


SHEETS: Final = {
    # ISO 216 A4; three by eight fill it without a rest.
    "a4": TagPaper("a4", (210.0, 297.0), (70.0, 37.0), (0.0, 0.5)),
    # ANSI/ASME Y14.1 size A (Letter), 8.5 in by 11 in; two by five tags of 4 in by 2 in.
    "letter": TagPaper("letter", (215.9, 279.4), (101.6, 50.8), (4.7, 12.7), (3.3, 0.0)),
}
"""The sheets that are cut or peeled, by their names."""


def paper_named(name: str) -> TagPaper:
    """A paper by its name, or a roll of labels by the width and height of one.

    Raises:
        BenchrunError: There is none of that name, or the label is too small or too large.
    """
    plain = name.strip().lower()
    if plain in SHEETS:
        return SHEETS[plain]
    found = _ROLL.fullmatch(plain)
    if found is None:
        would = meant(plain, list(SHEETS))
        raise BenchrunError(
            f"no paper {shown(name, 40)!r}: {would}, or a label's width and height in mm, as 62x29"
        )
    wide, high = int(found[1]), int(found[2])
    if wide < _LEAST_MM[0] or high < _LEAST_MM[1] or max(wide, high) > _MOST_MM:
        raise BenchrunError(
            f"a label of {wide} by {high} mm will not do: from {_LEAST_MM[0]} by {_LEAST_MM[1]} to "
            f"{_MOST_MM} by {_MOST_MM} mm"
        )
    return TagPaper(plain, (float(wide), float(high)), (float(wide), float(high)))


def tagged_parts(books: ShopBooks, names: Sequence[str], job: str = "") -> tuple[Part, ...]:
    """The parts whose tags are to be printed, in the order of the book or as named.

    Without names they are those of the jobs that are open, or of one job, that are not scrapped.

    Args:
        books: The shop's books.
        names: The ids of parts; none for all.
        job: The id of a job; empty for all that are open.

    Raises:
        BenchrunError: There is no such part or job, or nothing is left to print.
    """
    if job:
        books.jobs.named(job)
    if names:
        return tuple(books.parts.named(name) for name in names)
    shut = {one.id for one in books.jobs.rows if one.done}
    rows = [
        part
        for part in books.parts.rows
        if part.decision != "scrap" and (part.job == job if job else part.job not in shut)
    ]
    if not rows:
        raise BenchrunError("no part to print a tag of: add parts, or name some by their ids")
    return tuple(rows)


def tags_html(books: ShopBooks, parts: Iterable[Part], paper: TagPaper) -> str:
    """The tags as an HTML page that prints on that paper; it loads nothing and runs nothing.

    Args:
        books: The shop's books, for the names of jobs.
        parts: The parts.
        paper: What it is printed on.
    """
    jobs = {job.id: job.name for job in books.jobs.rows}
    tags = [_tag(part, jobs.get(part.job, part.job), paper) for part in parts]
    whole = paper.across * paper.down
    pages = [tags[at : at + whole] for at in range(0, len(tags), whole)]
    body = "".join(f'<section class="page">{"".join(page)}</section>\n' for page in pages)
    return f"""\
<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="generator" content="benchrun">
<title>Tags of {len(tags)} parts</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<style>{_style(paper)}</style></head>
<body>
<p class="screen">Print at 100 %, without margins of the browser's own: {escape(_size(paper))}.
Codes are QR codes with the tag as text: a scanner with a camera reads them, one with a laser line
alone does not. Set the scanner to your keyboard's layout, and to Enter after each code.</p>
{body}</body></html>
"""


def _size(paper: TagPaper) -> str:
    wide, high = paper.page
    return f"{paper.name}, {wide:g} by {high:g} mm, tags of {paper.tag[0]:g} by {paper.tag[1]:g} mm"


def _style(paper: TagPaper) -> str:
    (page_w, page_h), (tag_w, tag_h) = paper.page, paper.tag
    side, high = _code_mm(paper), max(2.2, min(tag_h / 11, 4.2))
    (left, above), (across, down) = paper.margins, paper.gaps
    return f"""
@page {{ size: {page_w:g}mm {page_h:g}mm; margin: 0 }}
* {{ box-sizing: border-box }}
body {{
  margin: 0; color: #000; background: #fff;
  font-family: "DejaVu Sans", "Liberation Sans", sans-serif }}
.page {{
  width: {page_w:g}mm; height: {page_h - 0.1:g}mm; padding: {above:g}mm {left:g}mm;
  display: grid; align-content: start; overflow: hidden;
  grid-template-columns: repeat({paper.across}, {tag_w:g}mm); grid-auto-rows: {tag_h:g}mm;
  column-gap: {across:g}mm; row-gap: {down:g}mm }}
.page + .page {{ break-before: page }}
.tag {{
  display: flex; align-items: center; gap: 1mm; padding: 1.5mm; overflow: hidden;
  border: 0.1mm dotted #999 }}
.tag svg {{ flex: none; width: {side:g}mm; height: {side:g}mm }}
.words {{ flex: 1; min-width: 0 }}
.words p {{ margin: 0; font-size: {high:.2f}mm; line-height: 1.2; overflow-wrap: anywhere }}
.words .name {{
  font-weight: bold; line-height: 1; margin-bottom: {high / 3:.2f}mm; white-space: nowrap }}
.screen {{ margin: 4mm; font-size: 4mm; max-width: 180mm }}
@media print {{ .screen {{ display: none }} }}
@media screen {{ .page {{ outline: 0.2mm solid #999; margin: 4mm }} }}
"""


def _code_mm(paper: TagPaper) -> float:
    """The side of a code with its quiet zone: the height of the tag, or two fifths of its width."""
    return round(min(paper.tag[1] - 3, paper.tag[0] * 0.42, 40), 1)


def _tag(part: Part, job: str, paper: TagPaper) -> str:
    room = paper.tag[0] - _code_mm(paper) - 4.5
    high = min(paper.tag[1] * 0.34, room / (_LETTER * max(3, len(part.id))))
    what = part.name if not part.side else f"{part.name}, {part.side}"
    rows = [what, ", ".join(part.numbers), job]
    small = "".join(f"<p>{escape(shown(row, 60))}</p>" for row in rows if row)
    name = f'<p class="name" style="font-size: {high:.2f}mm">{escape(part.id)}</p>'
    return f'<div class="tag">{code_svg(part.id)}<div class="words">{name}{small}</div></div>\n'


def code_svg(text: str) -> str:
    """A QR code of a text as an SVG drawing with its quiet zone, in black on white.

    segno 1.6, `make` with error correction Q, `svg_inline`.
    """
    import segno

    code = segno.make(text, error=_LEVEL, micro=False, boost_error=True)
    return str(code.svg_inline(border=QUIET, omitsize=True, light="#fff", svgclass="code"))
