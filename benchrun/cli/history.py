"""Commands about past runs: history, lessons."""

import argparse
import datetime as dt
import sys
from typing import TYPE_CHECKING

from benchrun.cli.output import progress_on_terminal
from benchrun.cli.parser import Commands, add_command
from benchrun.cli.paths import known_shop, shop_now
from benchrun.text import shown

if TYPE_CHECKING:
    from benchrun.shop.folder import Shop


def add_history_commands(commands: Commands) -> None:
    """Add the commands to the command line."""
    parser = add_command(
        commands,
        "history",
        "answer one question over all runs; without one, say how far the index is",
        example="benchrun history --procedure hub-bearing-removal --times\n"
        "benchrun history --part hub-l",
        more="Ask with --part, with --instrument, or with --procedure and one of --reading,\n"
        "--times and --deviations.",
    )
    parser.add_argument("--procedure", default="", metavar="ID", help="of this procedure")
    parser.add_argument(
        "--reading", default="", metavar="STEP", help="this reading of it, with --part of one part"
    )
    parser.add_argument("--part", default="", metavar="TAG", help="the life of this part")
    parser.add_argument(
        "--instrument", default="", metavar="ID", help="its recall list: readings, parts, runs"
    )
    parser.add_argument(
        "--since",
        type=_day,
        metavar="YYYY-MM-DD",
        help="its readings from this day; else from its calibration",
    )
    parser.add_argument("--times", action="store_true", help="how long each step of it takes")
    parser.add_argument("--deviations", action="store_true", help="deviations, by step")
    parser.add_argument(
        "--rebuild", action="store_true", help="rebuild the index, as when logs were replaced"
    )
    parser.add_argument("--json", action="store_true", help="the answer as data")
    parser.add_argument("--csv", action="store_true", help="a recall list as CSV")
    parser.set_defaults(command=history)
    parser = add_command(
        commands,
        "lessons",
        "list what past runs taught, fold it into the procedure, or retire it",
        example="benchrun lessons list hub-bearing-removal\nbenchrun lessons fold 3f9a2c",
    )
    parser.set_defaults(command=lessons, procedure="", every=False)
    inner = parser.add_commands()
    listing = add_command(
        inner, "list", "list the lessons", example="benchrun lessons list hub-bearing-removal"
    )
    listing.add_argument("procedure", nargs="?", default="", metavar="PROCEDURE", help="its id")
    listing.add_argument("--every", action="store_true", help="those folded in or retired as well")
    listing.set_defaults(command=lessons)
    fold = add_command(
        inner,
        "fold",
        "fold lessons into the procedure's next revision",
        example="benchrun lessons fold 3f9a2c 77b01d --by ada-brook",
    )
    fold.add_argument("lessons", nargs="+", metavar="LESSON", help="its six letters, as listed")
    fold.set_defaults(command=fold_in)
    retire = add_command(
        inner,
        "retire",
        "show a lesson no longer",
        example="benchrun lessons retire 3f9a2c --reason 'the clamp is gone'",
    )
    retire.add_argument("lesson", metavar="LESSON", help="its six letters, as listed")
    retire.add_argument("--reason", required=True, help="why, in a few words")
    retire.set_defaults(command=retire_one)
    for settling in (fold, retire):
        settling.add_argument(
            "--by", default="", metavar="ID", help="who decides it; else the only person"
        )


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{shown(text, 40)!r} is no day, write 2026-03-01"
        ) from None


def history(args: argparse.Namespace) -> int:
    """Answer a question over all runs of the shop."""
    from benchrun.history.command import IndexQuestion, run_history

    question = IndexQuestion(
        procedure=args.procedure,
        reading=args.reading,
        part=args.part,
        tool=args.instrument,
        since=args.since,
        times=args.times,
        deviating=args.deviations,
    )
    shop, progress = known_shop(args), progress_on_terminal(args, "the runs")
    answer, skipped = run_history(
        shop,
        question,
        rebuild=args.rebuild,
        as_json=args.json,
        as_csv=args.csv,
        progress=progress,
    )
    print(answer)
    if skipped:
        print(skipped, file=sys.stderr)
    return 0


def lessons(args: argparse.Namespace) -> int:
    """List lessons."""
    from benchrun.history.lesson_commands import list_lessons

    shop, _ = shop_now(args)
    print(list_lessons(shop, args.procedure, every=args.every))
    return 0


def fold_in(args: argparse.Namespace) -> int:
    """Fold lessons into a procedure."""
    from benchrun.history.lesson_commands import fold_lessons

    shop, now = shop_now(args)
    print(fold_lessons(shop, args.lessons, _decider(shop, args.by), now))
    return 0


def retire_one(args: argparse.Namespace) -> int:
    """Retire a lesson."""
    from benchrun.history.lesson_commands import retire_lesson

    shop, now = shop_now(args)
    print(retire_lesson(shop, args.lesson, args.reason, _decider(shop, args.by), now))
    return 0


def _decider(shop: "Shop", name: str) -> str:
    from benchrun.shop.people import decider

    return decider(shop, name)
