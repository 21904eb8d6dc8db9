"""Commands about the shop's books: instruments, supplies, vessels, parts, jobs."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun.cli.parser import Commands, add_command, add_force
from benchrun.cli.shop_command import shop_command

if TYPE_CHECKING:
    from benchrun.moment import Moment
    from benchrun.shop.folder import Shop

_BOOKED: Final = {
    "use": ("used", "enter that some was used"),
    "back": ("back", "enter that some was filtered or poured back"),
    "count": ("counted", "enter how much there is by a look into the container"),
    "strength": ("strength", "enter the measured strength of a bath"),
}
_ROWS: Final = {
    "instruments": "list, add and change what the shop measures with",
    "supplies": "list, add and change what the shop uses up, and enter what was used",
    "vessels": "list, add and change tubs, ovens and rails",
    "parts": "list, add and change parts, where they are and what they cost",
    "jobs": "list, add and change vehicles or jobs, which group parts and runs",
}
_SUCH: Final = {
    "instruments": ("'bore gauge'", "bore-gauge", "range='0 to 25 mm'"),
    "supplies": ("'etch primer'", "etch-primer", "amount='1 l' lot=P71"),
    "vessels": ("'etch tub'", "etch-tub", "holds=4 'filled with=etch-bath'"),
    "parts": ("'hub left'", "hub-left", "side=left job=hose-trailer"),
    "jobs": ("'hose trailer'", "hose-trailer", "owner='the museum'"),
}
"""Of each book a name, an id and keys, as examples."""
PAGED: Final = ("parts", "jobs")
"""The books whose things have a page over all their runs."""
_PAPERS: Final = "a4 (24 on it), letter (10 on it), or a label as WIDTHxHEIGHT in mm: 62x29"
_FILES: Final = {name: f"{'parts' if name == 'jobs' else name}.yaml" for name in _ROWS}


def add_book_commands(commands: Commands) -> None:
    """Add the commands to the command line."""
    for name, purpose in _ROWS.items():
        _add_rows(commands, name, purpose)


def _add_rows(commands: Commands, name: str, purpose: str) -> None:
    typed, _, pairs = _SUCH[name]
    parser = add_command(
        commands, name, purpose, example=f"benchrun {name}\nbenchrun {name} add {typed} {pairs}"
    )
    _take_json(parser, name)
    parser.add_commands_later(lambda inner: _add_row_commands(inner, name))


def _add_row_commands(inner: Commands, name: str) -> None:
    typed, known, pairs = _SUCH[name]
    keys = (
        f"The keys of a row are told at the head of {_FILES[name]}\n"
        "in the shop's folder. Several texts are parted by semicolons."
    )
    listing = add_command(inner, "list", f"list the {name}", example=f"benchrun {name} list --json")
    _take_json(listing, name)
    if name == "parts":
        listing.add_argument("--job", default="", metavar="ID", help="those of one job only")
    show = add_command(
        inner, "show", "tell everything about a row", example=f"benchrun {name} show {known}"
    )
    show.add_argument("name", metavar="ID", help="its id, as listed")
    if name in PAGED:
        _take_paper(show)
    show.set_defaults(command=shop_command(_show), rows=name)
    add = add_command(
        inner, "add", "add a row", example=f"benchrun {name} add {typed} {pairs}", more=keys
    )
    add.add_argument("name", metavar="NAME", help="what it is; its id is made from it")
    add.add_argument(
        "pairs", nargs="*", metavar="key=value", help=f"other keys of its row, such as {pairs}"
    )
    add.set_defaults(command=shop_command(_add), rows=name)
    change = add_command(
        inner,
        "change",
        "change keys of a row",
        example=f"benchrun {name} change {known} {pairs}",
        more=keys,
    )
    change.add_argument("name", metavar="ID", help="its id, as listed")
    change.add_argument(
        "pairs", nargs="+", metavar="key=value", help=f"keys of its row, such as {pairs}"
    )
    change.set_defaults(command=shop_command(_change), rows=name)
    if name == "supplies":
        _add_book(inner)
    if name == "parts":
        _add_trips(inner)
        progress = add_command(
            inner,
            "progress",
            "say how far each part has come on its route",
            example="benchrun parts progress",
        )
        progress.set_defaults(command=shop_command(_progress))
        _add_tags(inner)


def _take_json(parser: argparse.ArgumentParser, name: str) -> None:
    parser.add_argument("--json", action="store_true", help="as data: benchrun schema book-list")
    parser.set_defaults(command=shop_command(_list), rows=name, job="")


def _add_book(inner: Commands) -> None:
    for name, (deed, purpose) in _BOOKED.items():
        amount = "18%" if name == "strength" else "40ml"
        such = amount.replace("%", "%%")
        parser = add_command(
            inner, name, purpose, example=f"benchrun supplies {name} etch-bath {amount}"
        )
        parser.add_argument("name", metavar="ID", help="its id, as listed")
        parser.add_argument("amount", metavar="AMOUNT", help=f"with its unit, such as {such}")
        parser.add_argument(
            "--run", default="", metavar="RUN", dest="run_name", help="for which run"
        )
        parser.add_argument("--why", default="", help="anything else")
        parser.set_defaults(command=shop_command(_enter), deed=deed)
    parser = add_command(
        inner,
        "enough",
        "say whether a paint suffices for an area",
        example="benchrun supplies enough etch-primer --area 0.8m2 --film 75um --coats 2",
    )
    parser.add_argument("name", metavar="ID", help="its id, as listed")
    parser.add_argument("--area", required=True, help="such as 0.8m2")
    parser.add_argument("--film", required=True, help="dry film of one coat, such as 75um")
    parser.add_argument("--coats", type=int, default=1, help="how many; 1 unless said")
    parser.add_argument("--loss", default="0", help="share lost in brush and pot, such as 20%%")
    parser.add_argument(
        "--thinner", default="0", help="thinner to the paint's volume, such as 10%%"
    )
    parser.set_defaults(command=shop_command(_enough))


def _progress(shop: "Shop", _now: "Moment", _args: argparse.Namespace) -> str:
    from benchrun.board import parts_in_work
    from benchrun.plan.progress import parts_progress, progress_text

    return progress_text(parts_progress(shop, parts_in_work(shop)))


def _add_tags(inner: Commands) -> None:
    parser = add_command(
        inner,
        "tags",
        "write a page of tags to print, each with a code that a hand scanner reads",
        example="benchrun parts tags --to tags.html\n"
        "benchrun parts tags hub-left --paper 62x29 --to tag.html",
        more="The codes are QR codes with the tag as text, for scanners with a camera.",
    )
    parser.add_argument("names", nargs="*", metavar="ID", help="parts; else all of open jobs")
    parser.add_argument("--job", default="", metavar="ID", help="those of one job only")
    parser.add_argument("--paper", default="a4", metavar="PAPER", help=_PAPERS)
    parser.add_argument("--to", required=True, metavar="FILE", help="the .html file to write")
    add_force(parser)
    parser.set_defaults(command=shop_command(_tags))


def _tags(shop: "Shop", _now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.parts import write_tags

    return write_tags(
        shop, args.names, Path(args.to), job=args.job, paper=args.paper, force=args.force
    )


def _add_trips(inner: Commands) -> None:
    parser = add_command(
        inner,
        "away",
        "write down that one is sent away",
        example="benchrun parts away hub-left --to 'the plater' --due 2026-03-20",
    )
    parser.add_argument("name", metavar="ID", help="its id, as listed")
    parser.add_argument("--to", required=True, metavar="PLACE", help="where it goes")
    parser.add_argument(
        "--count", type=int, default=1, dest="pieces", metavar="N", help="how many pieces"
    )
    parser.add_argument("--due", default="", metavar="DAY", help="due back, such as 2026-03-20")
    _add_photo(parser)
    parser.set_defaults(command=shop_command(_away))
    parser = add_command(
        inner, "back", "write down that one is back", example="benchrun parts back hub-left"
    )
    parser.add_argument("name", metavar="ID", help="its id, as listed")
    parser.add_argument("--count", type=int, dest="came", metavar="N", help="how many came")
    _add_photo(parser)
    parser.set_defaults(command=shop_command(_back))
    parser = add_command(
        inner,
        "cost",
        "write down what was paid for one",
        example="benchrun parts cost hub-left 12.50EUR 'zinc plating'",
    )
    parser.add_argument("name", metavar="ID", help="its id, as listed")
    parser.add_argument("price", metavar="PRICE", help="such as 12.50EUR")
    parser.add_argument("what", metavar="WHAT", help="what for")
    parser.set_defaults(command=shop_command(_cost))


def _add_photo(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--photo", type=Path, metavar="FILE", help="a picture; it is copied")
    parser.add_argument(
        "--as-it-is", action="store_true", help="keep a photo that may tell where it was taken"
    )


def _list(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    if args.json:
        from benchrun.shopkeeping.data import book_data, json_text

        return json_text(book_data(shop, args.rows, now, args.job))
    from benchrun.shopkeeping import books, parts

    if args.rows == "parts":
        return parts.parts(shop, now, args.job)
    return books.book_listing(shop, args.rows, now)


def _take_paper(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--to", metavar="FILE", help="write it to a file, .html or .txt")
    add_force(parser)


def _show(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    if args.rows in PAGED:
        from benchrun.shopkeeping.pages import page_text, write_page

        if args.to in (None, "-"):
            return page_text(shop, args.rows, args.name, now)
        return write_page(shop, args.rows, args.name, now, Path(args.to), force=args.force)
    from benchrun.shopkeeping.books import thing_words

    return thing_words(shop, args.rows, args.name, now)


def _add(shop: "Shop", _now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.books import add_to_book

    return add_to_book(shop, args.rows, args.name, args.pairs)


def _change(shop: "Shop", _now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.books import change_in_book

    return change_in_book(shop, args.rows, args.name, args.pairs)


def _enter(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.supplies import enter

    return enter(shop, args.name, args.deed, args.amount, now, args.run_name, args.why)


def _enough(shop: "Shop", _now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.supplies import enough

    return enough(shop, args.name, args.area, args.film, args.coats, args.loss, args.thinner)


def _away(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.parts import away

    return away(
        shop,
        args.name,
        args.to,
        now,
        pieces=args.pieces,
        due=args.due,
        photo=args.photo,
        unsure=args.as_it_is,
    )


def _back(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.parts import back

    return back(shop, args.name, now, came=args.came, photo=args.photo, unsure=args.as_it_is)


def _cost(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.parts import cost

    return cost(shop, args.name, args.price, args.what, now)
