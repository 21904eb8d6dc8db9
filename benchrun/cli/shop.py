"""Commands about a shop as a whole: board, ready, shop."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from benchrun.cli.parser import DONE, Commands, add_command, add_force
from benchrun.cli.paths import shop_now
from benchrun.cli.shop_command import shop_command
from benchrun.errors import BenchrunError

if TYPE_CHECKING:
    from benchrun.moment import Moment
    from benchrun.shop.folder import Shop


def add_shop_commands(commands: Commands) -> None:
    """Add the commands to the command line."""
    parser = add_command(
        commands,
        "board",
        "print what runs, is due, away, short or out of date",
        example="benchrun board\nbenchrun board --watch",
        exits={**DONE, 130: "the watch was ended with Ctrl+C"},
    )
    parser.add_argument(
        "--watch", action="store_true", help="stay, show every clock large, and ring; needs no key"
    )
    parser.add_argument("--json", action="store_true", help="as data: benchrun schema board")
    parser.set_defaults(command=_board)
    parser = add_command(
        commands,
        "plan",
        "say what to do this evening, what not to begin, and when all is done",
        example="benchrun plan\nbenchrun plan --to evening.html\nbenchrun plan --why B16",
    )
    parser.add_argument(
        "--to",
        metavar="FILE",
        help="write it: .html for the wall, .txt, or .ics for a calendar; - prints it",
    )
    parser.add_argument(
        "--why",
        metavar="ROW",
        help="why a row of the plan is not begun now, and what would be different: B16",
    )
    parser.add_argument(
        "--choose",
        choices=("fewest", "soonest"),
        help="where two plans differ: fewest windows missed, or done soonest; the choice is kept",
    )
    add_force(parser)
    parser.add_argument("--json", action="store_true", help="as data: benchrun schema plan")
    parser.set_defaults(command=_plan)
    parser = add_command(
        commands,
        "ready",
        "say what a procedure needs and the shop lacks",
        example="benchrun ready acid-etch-in-loads --parts 6\n"
        "benchrun ready --evening --to evening.txt",
        more="With --evening: what all open runs and the parts that are ready will want.",
        exits={0: "nothing is lacking", 1: "something is", 2: "could not be checked"},
    )
    parser.add_argument("procedure", nargs="?", metavar="PROCEDURE", help="its id, or a file")
    parser.add_argument(
        "--evening", action="store_true", help="for all that is open or ready: a list to shop by"
    )
    parser.add_argument("--to", metavar="FILE", help="with --evening: a file, .html or .txt")
    add_force(parser)
    parser.add_argument(
        "--parts",
        type=_batch,
        default=0,
        metavar="N",
        help="how many the batch has; else the fewest that the procedure takes",
    )
    parser.add_argument("--json", action="store_true", help="as data: benchrun schema ready")
    parser.set_defaults(command=_ready)
    _add_shop(commands)


def _batch(text: str) -> int:
    if text.isascii() and text.isdigit() and 0 < int(text) < 10_000:
        return int(text)
    raise argparse.ArgumentTypeError("a batch has at least 1 part, such as 6")


def _board(args: argparse.Namespace) -> int:
    """Print the board, or watch it until a signal ends the watch."""
    shop, now = shop_now(args)
    if args.watch:
        return _watch(args, shop)
    if args.json:
        from benchrun.shopkeeping.data import board_data, json_text

        print(json_text(board_data(shop, now)))
        return 0
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
    from benchrun.plan.counterfactual import why_not_now
    from benchrun.plan.evening import plan_shop, prove_evening, soonest_chosen
    from benchrun.plan.plan_files import put_plan
    from benchrun.plan.solver import has_solver
    from benchrun.plan.told_plans import ToldPlan, keep_told, told_plan
    from benchrun.plan.words import evening_text, train_called

    shop, now = shop_now(args)
    if args.json:
        from benchrun.shopkeeping.data import json_text, plan_data

        chosen = None if args.choose is None else args.choose == "soonest"
        print(json_text(plan_data(shop, now, soonest=chosen)))
        return 0
    told = told_plan(shop.path, now)
    evening = plan_shop(shop, look(shop, now).open_runs, now, rounds=20, last=told.begins)
    if has_solver() and evening.plan.starts:
        evening = prove_evening(evening)
    soonest = told.soonest if args.choose is None else args.choose == "soonest"
    evening = soonest_chosen(evening) if soonest else evening
    if args.why is not None:
        print("\n".join(why_not_now(evening, train_called(evening, args.why), now)))
        return 0
    if args.to in {None, "-"}:
        print(evening_text(evening, now, told_ms=told.utc_ms))
    else:
        path = Path(args.to)
        put_plan(path, evening, now, force=args.force)
        print(f"written: {path}")
    keep_told(shop.path, ToldPlan(now.utc_ms, evening.begins(), soonest))
    return 0


def _ready(args: argparse.Namespace) -> int:
    """Say what is lacking; the exit code is 1 when something is."""
    shop, now = shop_now(args)
    if args.evening:
        return _before_evening(shop, now, args)
    if args.procedure is None:
        raise BenchrunError("say which procedure, by its id; or --evening for all that is ahead")
    if args.to:
        raise BenchrunError("--to writes the list of an evening: add --evening")
    if args.json:
        from benchrun.shopkeeping.data import json_text, ready_data

        data = ready_data(shop, args.procedure, now, args.parts)
        print(json_text(data))
        return 0 if data.ready else 1
    from benchrun.shopkeeping.books import readiness_words

    text, fine = readiness_words(shop, args.procedure, now, args.parts)
    print(text)
    return 0 if fine else 1


def _before_evening(shop: "Shop", now: "Moment", args: argparse.Namespace) -> int:
    """Say what an evening wants, or write it to a file; 1 when something is lacking."""
    from benchrun.jobs.evening_needs import evening_needs, lacks_something
    from benchrun.shopkeeping.pages import sheet_text, write_sheet

    if args.procedure is not None or args.json or args.parts:
        raise BenchrunError("--evening is all that is ahead: give it without the others")
    sheet = evening_needs(shop, now)
    if args.to in {None, "-"}:
        print(sheet_text(sheet).rstrip("\n"))
    else:
        print(write_sheet(sheet, now, Path(args.to), force=args.force))
    return 1 if lacks_something(sheet) else 0


def _add_shop(commands: Commands) -> None:
    parser = add_command(
        commands,
        "shop",
        "say where the shop lies, what is wrong in its files and what to back up",
        example="benchrun shop\nbenchrun shop copy /media/stick/shop",
        exits={0: "its files are sound", 1: "one is not", 2: "could not be checked"},
    )
    parser.set_defaults(command=_shop)
    inner = parser.add_commands()
    new = add_command(
        inner,
        "new",
        "make a shop that explains itself",
        example="benchrun shop new ~/shed --title 'The shed'\nbenchrun people add 'Ada Brook'",
        more="It is a folder of plain files; shop.yaml in it says what lies where. From then on "
        "benchrun opens it where no other is named.",
    )
    new.add_argument("folder", type=Path, metavar="DIR", help="a folder that holds no shop yet")
    new.add_argument("--title", default="", help="what it is called; else the folder's name")
    new.set_defaults(command=_new_shop)
    for name, purpose, how in (
        ("copy", "copy the whole shop, as a back-up or to restore one", "compared file by file"),
        ("move", "move the whole shop to another place", "compared before the old one goes"),
    ):
        taking = add_command(
            inner,
            name,
            purpose,
            example=f"benchrun shop {name} /media/stick/shop"
            + ("\nbenchrun --shop /media/stick/shop shop copy ~/shed" if name == "copy" else ""),
            exits={0: "done", 1: "done, but its register does not hold", 2: "could not do it"},
            more=f"Keys keep their modes; what was copied is {how}, the register is checked.",
        )
        taking.add_argument(
            "folder", type=Path, metavar="DIR", help="a folder that is not there yet, or is empty"
        )
        taking.set_defaults(command=_take_shop, taking=name)
    mend = add_command(
        inner,
        "repair",
        "go on after a damaged register or a lost key of the station; it stays told",
        example="benchrun shop repair --why 'the disk had bad blocks'",
    )
    mend.add_argument("--why", required=True, help="what happened, in a few words")
    mend.add_argument("--by", default="", metavar="ID", help="who decides it; else the only person")
    mend.add_argument("--new-key", action="store_true", help="give the station another key as well")
    mend.set_defaults(command=shop_command(_repair))


def _shop(args: argparse.Namespace) -> int:
    """Say what the shop is; the exit code is 1 when a file of it is not sound."""
    from benchrun.shopkeeping.overview import shop_words

    shop, _ = shop_now(args)
    text, sound = shop_words(shop)
    print(text)
    return 0 if sound else 1


def _take_shop(args: argparse.Namespace) -> int:
    """Copy or move the shop."""
    from benchrun.shop.folder import remember, remembered_path
    from benchrun.shop_place import copy_shop, move_shop

    shop, _ = shop_now(args)
    to: Path = args.folder.expanduser()
    text, sound = (copy_shop if args.taking == "copy" else move_shop)(shop, to)
    if args.taking == "move" and remembered_path() == shop.path.absolute():
        remember(to)
    print(text)
    return 0 if sound else 1


def _repair(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shop.people import decider
    from benchrun.shop_repair import repair

    done = repair(shop, decider(shop, args.by), now, args.why, new_key=args.new_key)
    return "\n".join(done)


def _new_shop(args: argparse.Namespace) -> int:
    from benchrun.record.clock import SystemClock
    from benchrun.shop.folder import remember
    from benchrun.shopkeeping.overview import new_words
    from benchrun.signing_keys import new_shop

    path = args.folder.expanduser()
    new_shop(path, args.title.strip() or path.resolve().name or "Shop", SystemClock().now())
    remember(path)
    print(new_words(path))
    return 0
