"""The commands of a shop on the command line; what they need is imported when they run."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from benchrun.moment import Moment
    from benchrun.shop.folder import Shop

    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

EntryWords = Callable[["Shop", "Moment", argparse.Namespace], str]
_BOOKED: Final = {
    "use": ("used", "enter that some was used"),
    "back": ("back", "enter that some was filtered or poured back"),
    "count": ("counted", "enter how much there is by a look into the tin"),
    "strength": ("strength", "enter the measured strength of a bath"),
}
_ROWS: Final = {
    "instruments": "what the shop measures with",
    "supplies": "what the shop uses up",
    "vessels": "tubs, ovens and rails",
    "parts": "parts, where they are and what they cost",
    "jobs": "vehicles or jobs, which group parts and runs",
}

_SUCH: Final = {
    "instruments": "range='0 to 25 mm'",
    "supplies": "amount='1 l' lot=P71",
    "vessels": "holds=4 'filled with=etch-bath'",
    "parts": "side=left job=trailer",
    "jobs": "owner='the museum'",
}
_FILES: Final = {name: f"{'parts' if name == 'jobs' else name}.yaml" for name in _ROWS}


def add_shop_commands(commands: "Commands") -> None:
    """Add the commands of a shop to the command line.

    Each sets `command` to a function that takes the parsed arguments, whose `shop` is the shop's
    folder or None, and answers an exit code.

    Args:
        commands: What `add_subparsers` of the top parser gave.
    """
    parser = commands.add_parser(
        "board", help="print what runs, is due, away, short or out of date"
    )
    parser.add_argument(
        "--watch", action="store_true", help="stay, show every clock large, and ring; needs no key"
    )
    parser.set_defaults(command=_board)
    parser = commands.add_parser(
        "plan", help="say what to do this evening, what not to begin, and when all is done"
    )
    parser.add_argument("--to", type=Path, metavar="FILE", help="write it: .html is a wall card")
    parser.set_defaults(command=_plan)
    parser = commands.add_parser("ready", help="say what a procedure needs and the shop lacks")
    parser.add_argument("procedure", help="its id, or a file")
    parser.add_argument("--parts", type=int, default=0, metavar="N", help="how many the batch has")
    parser.set_defaults(command=_ready)
    _add_shop(commands)
    _add_people(commands)
    for name, purpose in _ROWS.items():
        _add_rows(commands, name, purpose)


def _telling(tell: EntryWords) -> Callable[[argparse.Namespace], int]:
    """Make a command of a function that answers a text about an existing shop."""

    def command(args: argparse.Namespace) -> int:
        shop, now = _open(args)
        print(tell(shop, now, args))
        return 0

    return command


def _open(args: argparse.Namespace) -> "tuple[Shop, Moment]":
    from benchrun.record.clock import SystemClock
    from benchrun.shop.folder import open_shop

    return open_shop(_path(args)), SystemClock().now()


def _path(args: argparse.Namespace) -> Path:
    from benchrun.shop.folder import default_path

    path: Path = args.shop or default_path()
    return path.expanduser()


def _board(args: argparse.Namespace) -> int:
    """Print the board, or watch it until a signal ends the watch."""
    shop, now = _open(args)
    if args.watch:
        return _watch(args, shop)
    from benchrun.shopkeeping.overview import board_text

    print(board_text(shop, now))
    return 0


def _watch(args: argparse.Namespace, shop: "Shop") -> int:
    from benchrun.record.clock import SystemClock
    from benchrun.screen.theme import appearance_of
    from benchrun.screen.user_settings import read_user_settings
    from benchrun.screen.watch import watch
    from benchrun.shop.personal import personal_settings_path

    command = read_user_settings(shop.path, personal_settings_path()).command
    return watch(shop, SystemClock(), appearance_of(args.theme, ascii_only=args.ascii), command)


def _plan(args: argparse.Namespace) -> int:
    """Print the plan of the evening, or write it to a file."""
    from benchrun.board import look
    from benchrun.errors import BenchrunError
    from benchrun.plan.card import card_html
    from benchrun.plan.evening import plan_shop
    from benchrun.plan.words import evening_text
    from benchrun.record.durable import write_file

    shop, now = _open(args)
    evening = plan_shop(shop, look(shop, now).open_runs, now)
    if args.to is None:
        print(evening_text(evening, now))
        return 0
    path: Path = args.to
    html = path.suffix.lower() in (".html", ".htm")
    text = card_html(evening, now) if html else evening_text(evening, now) + "\n"
    try:
        write_file(path, text.encode())
    except OSError as error:
        raise BenchrunError(f"{path} cannot be written: {error.strerror or error}") from None
    print(f"written: {path}")
    return 0


def _ready(args: argparse.Namespace) -> int:
    """Say what is lacking; the exit code is 1 when something is."""
    from benchrun.shopkeeping.books import readiness_words

    shop, now = _open(args)
    text, fine = readiness_words(shop, args.procedure, now, max(0, args.parts))
    print(text)
    return 0 if fine else 1


def _add_shop(commands: "Commands") -> None:
    parser = commands.add_parser(
        "shop", help="say where the shop lies and what is wrong in its files"
    )
    parser.set_defaults(command=_shop)
    inner = parser.add_subparsers(title="commands", metavar="")
    new = inner.add_parser("new", help="make a shop that explains itself")
    new.add_argument("folder", type=Path, metavar="DIR")
    new.add_argument("--title", default="", help="what it is called")
    new.set_defaults(command=_new_shop)
    mend = inner.add_parser(
        "repair", help="go on after a damaged register or a lost key of the station; it stays told"
    )
    mend.add_argument("--why", required=True, help="what happened, in a few words")
    mend.add_argument("--by", default="", help="who decides it; else the only person")
    mend.add_argument("--new-key", action="store_true", help="give the station another key as well")
    mend.set_defaults(command=_telling(_repair))


def _shop(args: argparse.Namespace) -> int:
    """Say what the shop is; the exit code is 1 when a file of it is not sound."""
    from benchrun.shopkeeping.overview import shop_words

    shop, _ = _open(args)
    text, sound = shop_words(shop)
    print(text)
    return 0 if sound else 1


def _repair(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shop.people import decider
    from benchrun.shop_repair import repair

    done = repair(shop, decider(shop, args.by), now, args.why, new_key=args.new_key)
    return "\n".join(done)


def _new_shop(args: argparse.Namespace) -> int:
    from benchrun.record.clock import SystemClock
    from benchrun.shopkeeping.overview import new_words
    from benchrun.signing_keys import new_shop

    path = args.folder.expanduser()
    new_shop(path, args.title.strip() or path.resolve().name or "Shop", SystemClock().now())
    print(new_words(path))
    return 0


def _add_people(commands: "Commands") -> None:
    parser = commands.add_parser("people", help="who works here, and the keys they sign with")
    parser.set_defaults(command=_telling(_people))
    inner = parser.add_subparsers(title="commands", metavar="")
    inner.add_parser("list", help="list them").set_defaults(command=_telling(_people))
    add = inner.add_parser("add", help="add somebody, with a new key or one that is there")
    add.add_argument("name", help="the full name")
    add.add_argument("--role", action="append", dest="roles", help="may be given several times")
    _add_key(add)
    add.set_defaults(command=_telling(_take_on))
    key = inner.add_parser("key", help="give somebody another key; the old one ends")
    key.add_argument("name", metavar="ID")
    _add_key(key)
    key.set_defaults(command=_telling(_other_key))
    change = inner.add_parser("change", help="change somebody's name or roles")
    change.add_argument("name", metavar="ID")
    change.add_argument("pairs", nargs="+", metavar="key=value")
    change.set_defaults(command=_telling(_change_person))
    gone = inner.add_parser("retire", help="let somebody leave; earlier signatures still verify")
    gone.add_argument("name", metavar="ID")
    gone.set_defaults(command=_telling(_retire))
    lost = inner.add_parser("compromised", help="take all trust from a key, backwards as well")
    lost.add_argument("name", metavar="ID", help="whose, or station")
    lost.add_argument("--why", required=True, help="what happened, in a few words")
    lost.add_argument("--which", default="", metavar="SHA256:...", help="which key of several")
    lost.set_defaults(command=_telling(_compromised))


def _add_key(parser: argparse.ArgumentParser) -> None:
    group = parser.add_mutually_exclusive_group()
    group.add_argument("--key", type=Path, metavar="FILE", help="an OpenSSH Ed25519 private key")
    group.add_argument(
        "--agent",
        nargs="?",
        const="yes",
        default="",
        metavar="SHA256:...",
        help="a key that ssh-agent holds; without a fingerprint, the only one",
    )


def _people(shop: "Shop", _now: "Moment", _args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import people

    return people(shop)


def _ask(question: str) -> str:
    """Ask at the terminal without showing what is typed; a script gives a line of its input."""
    import getpass

    if sys.stdin.isatty():
        return getpass.getpass(question)
    return sys.stdin.readline().rstrip("\r\n")


def _take_on(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shop.people import ROLES
    from benchrun.shopkeeping.people import take_on

    roles = args.roles or ROLES
    return take_on(shop, args.name, now, _ask, roles=roles, key=args.key, agent=args.agent)


def _other_key(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import other_key

    return other_key(shop, args.name, now, _ask, key=args.key, agent=args.agent)


def _change_person(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import change_in_people

    return change_in_people(shop, args.name, args.pairs, now)


def _retire(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import let_leave

    return let_leave(shop, args.name, now)


def _compromised(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import compromised

    return compromised(shop, args.name, now, args.why, args.which)


def _add_rows(commands: "Commands", name: str, purpose: str) -> None:
    parser = commands.add_parser(name, help=purpose)
    parser.set_defaults(command=_telling(_list), rows=name, job="")
    inner = parser.add_subparsers(title="commands", metavar="")
    listing = inner.add_parser("list", help="list them")
    if name == "parts":
        listing.add_argument("--job", default="", metavar="ID", help="those of one job only")
    listing.set_defaults(command=_telling(_list), rows=name)
    show = inner.add_parser("show", help="everything about one")
    show.add_argument("name", metavar="ID")
    show.set_defaults(command=_telling(_show), rows=name)
    add = inner.add_parser("add", help="add one")
    add.add_argument("name", help="what it is")
    add.add_argument(
        "pairs",
        nargs="*",
        metavar="key=value",
        help=f"other keys of its row, such as {_SUCH[name]}",
    )
    add.epilog = f"Which keys a row has, and what stands there, the head of {_FILES[name]} tells."
    add.set_defaults(command=_telling(_add), rows=name)
    change = inner.add_parser("change", help="change keys of one")
    change.add_argument("name", metavar="ID")
    change.add_argument(
        "pairs", nargs="+", metavar="key=value", help=f"keys of its row, such as {_SUCH[name]}"
    )
    change.epilog = add.epilog
    change.set_defaults(command=_telling(_change), rows=name)
    if name == "supplies":
        _add_book(inner)
    if name == "parts":
        _add_trips(inner)


def _add_book(inner: "Commands") -> None:
    for name, (deed, purpose) in _BOOKED.items():
        parser = inner.add_parser(name, help=purpose)
        parser.add_argument("name", metavar="ID")
        parser.add_argument("amount", help="with its unit, such as 40ml")
        parser.add_argument(
            "--run", default="", metavar="RUN", dest="run_name", help="for which run"
        )
        parser.add_argument("--why", default="", help="anything else")
        parser.set_defaults(command=_telling(_enter), deed=deed)
    parser = inner.add_parser("enough", help="say whether a paint suffices for an area")
    parser.add_argument("name", metavar="ID")
    parser.add_argument("--area", required=True, help="such as 0.8m2")
    parser.add_argument("--film", required=True, help="dry film of one coat, such as 75um")
    parser.add_argument("--coats", type=int, default=1)
    parser.add_argument("--loss", default="0", help="share lost in brush and pot, such as 20%%")
    parser.add_argument(
        "--thinner", default="0", help="thinner to the paint's volume, such as 10%%"
    )
    parser.set_defaults(command=_telling(_enough))


def _add_trips(inner: "Commands") -> None:
    parser = inner.add_parser("away", help="write down that one is sent away")
    parser.add_argument("name", metavar="ID")
    parser.add_argument("--to", required=True, metavar="PLACE")
    parser.add_argument("--count", type=int, default=1, dest="pieces", help="how many pieces")
    parser.add_argument("--due", default="", metavar="DAY", help="due back, such as 2026-03-20")
    parser.add_argument("--photo", type=Path, metavar="FILE", help="a picture; it is copied")
    parser.add_argument(
        "--as-it-is", action="store_true", help="keep a photo that may tell where it was taken"
    )
    parser.set_defaults(command=_telling(_away))
    parser = inner.add_parser("back", help="write down that one is back")
    parser.add_argument("name", metavar="ID")
    parser.add_argument("--count", type=int, dest="came", metavar="PIECES", help="how many came")
    parser.add_argument("--photo", type=Path, metavar="FILE", help="a picture; it is copied")
    parser.add_argument(
        "--as-it-is", action="store_true", help="keep a photo that may tell where it was taken"
    )
    parser.set_defaults(command=_telling(_back))
    parser = inner.add_parser("cost", help="write down what was paid for one")
    parser.add_argument("name", metavar="ID")
    parser.add_argument("price", help="such as 12.50EUR")
    parser.add_argument("what", help="what for")
    parser.set_defaults(command=_telling(_cost))


def _list(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping import books, parts

    if args.rows == "parts":
        return parts.parts(shop, now, args.job)
    return books.book_listing(shop, args.rows, now)


def _show(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
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
