"""Listing parts, sending away and taking back, and costs."""

from collections.abc import Sequence
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.jobs.tags import paper_named, tagged_parts, tags_html
from benchrun.moment import Moment
from benchrun.pictures.files import MayTell
from benchrun.report.target import put_report
from benchrun.shop.amounts import day_of, money_totals, read_day
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop
from benchrun.shop.movements import back_words, enter_cost, send_away, take_back
from benchrun.shop_use.book_words import book_of, faults_of, things_of, total
from benchrun.shopkeeping.words import column_text, with_faults
from benchrun.text import count, shown


def parts(shop: Shop, now: Moment, job: str = "") -> str:
    """The parts, of one job or all, with what was decided and where each is.

    Raises:
        BenchrunError: There is no such job.
    """
    books = read_books(shop)
    if job:
        books.jobs.named(job)
    book = book_of("parts")
    rows = [
        (row.id, row.name, part.job, row.beside, row.state)
        for row, part in zip(things_of(book, books, day_of(now)), books.parts.rows, strict=True)
        if job in {"", part.job}
    ]
    text = column_text(rows) or "no part yet: add one with benchrun, or write it in the file"
    loose = [f"put right  {one}" for one in books.loose_ends]
    return "\n".join([with_faults(text, faults_of(book, books)), *loose])


def write_tags(
    shop: Shop,
    names: Sequence[str],
    to: Path,
    *,
    job: str = "",
    paper: str = "a4",
    force: bool = False,
) -> str:
    """Write tags of parts as an HTML page to print.

    Args:
        shop: The shop.
        names: The ids of the parts; none for all of open jobs that are not scrapped.
        to: The file, .html.
        job: Those of one job only.
        paper: What it is printed on; see `tags.paper_named`.
        force: Whether a file that benchrun did not write is replaced as well.

    Returns:
        A line that says what was written.

    Raises:
        BenchrunError: There is no such part, job or paper, the ending is another, or the disk
            refused.
    """
    if to.suffix.lower() not in {".html", ".htm"}:
        raise BenchrunError(f"{shown(to.name, 100)}: tags are written as a page, .html")
    books, sheet = read_books(shop), paper_named(paper)
    parts = tagged_parts(books, names, job)
    put_report(to, tags_html(books, parts, sheet).encode(), force=force)
    sheets = -(-len(parts) // (sheet.across * sheet.down))
    return (
        f"{count(len(parts), 'tag')} on {count(sheets, 'page')}: written to {shown(str(to), 200)}"
    )


def away(
    shop: Shop,
    name: str,
    to: str,
    now: Moment,
    *,
    pieces: int = 1,
    due: str = "",
    photo: Path | None = None,
    unsure: bool = False,
) -> str:
    """Send a part away; `unsure` keeps a photo that may tell where it was taken.

    Returns:
        One line that says where it is now.

    Raises:
        BenchrunError: It is away already, there is no such part, or a value will not do.
    """
    back = read_day(due) if due else None
    try:
        one = send_away(
            shop, name, to, day_of(now), count=pieces, due=back, photo=photo, unsure=unsure
        )
    except MayTell as error:
        raise BenchrunError(f"{error.message}. With --as-it-is it is kept anyway") from None
    return f"{one.id} is {one.whereabouts}"


def back(
    shop: Shop,
    name: str,
    now: Moment,
    *,
    came: int | None = None,
    photo: Path | None = None,
    unsure: bool = False,
) -> str:
    """Take a part back in; `unsure` keeps a photo that may tell where it was taken.

    Raises:
        BenchrunError: It is not away, more came than went, or there is no such part.
    """
    try:
        one = take_back(shop, name, day_of(now), came=came, photo=photo, unsure=unsure)
    except MayTell as error:
        raise BenchrunError(f"{error.message}. With --as-it-is it is kept anyway") from None
    return back_words(one)


def cost(shop: Shop, name: str, price: str, what: str, now: Moment) -> str:
    """Enter what was paid for a part.

    Raises:
        BenchrunError: There is no such part, or the price is none.
    """
    one = enter_cost(shop, name, what, price, day_of(now))
    whole = total(money_totals(cost.price for cost in one.costs))
    return f"{one.id}: {one.costs[-1].what} {one.costs[-1].price.words}, in all {whole}"
