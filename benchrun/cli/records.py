"""Commands about records: rehearse, verify, show, report, due, lessons."""

import argparse
import datetime as dt
import json
import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchrun.cli.paths import procedure_file, run_folder, shop_path
from benchrun.errors import BenchrunError
from benchrun.text import shown, span

if TYPE_CHECKING:
    from argparse import ArgumentParser, _SubParsersAction

    from benchrun.moment import Moment
    from benchrun.shop.folder import Shop
    from benchrun.verify import Outcome

    Commands = _SubParsersAction[ArgumentParser]


def add_record_commands(commands: "Commands") -> None:
    """Add the commands to the command line."""
    parser = commands.add_parser("rehearse", help="play a procedure by scripted answers")
    parser.add_argument("procedure", help="its id, or a file")
    parser.add_argument(
        "--answers", type=Path, nargs="+", metavar="FILE", help="scripts of answers"
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="becomes the run's folder")
    parser.add_argument(
        "--paths", action="store_true", help="say which paths no script reaches; keep no run"
    )
    parser.add_argument(
        "--sketch", action="store_true", help="print a script for the straight path instead"
    )
    parser.set_defaults(command=rehearse)
    parser = commands.add_parser(
        "verify",
        help="check the record of a run",
        description="Check the record of runs: chain, signatures, seals, each entry by the rules.",
        epilog="Exit code: 0 all whole, 1 one is not whole, else 2: of one it could not be told.",
    )
    parser.add_argument("runs", nargs="*", metavar="RUN", help="a run's id, or its folder")
    parser.add_argument(
        "--all", action="store_true", help="every run of the shop, and its register against them"
    )
    parser.add_argument(
        "--head", default="", metavar="TEXT", help="a head of the shop that was noted earlier"
    )
    parser.add_argument("--json", action="store_true", help="for other programs")
    parser.set_defaults(command=verify)
    parser = commands.add_parser("show", help="print the record of a run")
    parser.add_argument("run_name", metavar="RUN", help="a run's id, or its folder")
    parser.set_defaults(command=show)
    _add_telling(commands)


def _add_telling(commands: "Commands") -> None:
    parser = commands.add_parser("report", help="write the record that is handed over")
    parser.add_argument("runs", nargs="+", metavar="RUN", help="a run's id, or its folder")
    parser.add_argument(
        "--to", type=Path, required=True, metavar="FILE", help="ends in .html .csv .json .txt .md"
    )
    parser.add_argument("--title", default="", help="what a job of several runs is called")
    parser.add_argument(
        "--for", default="", dest="owner", metavar="NAME", help="whose parts they are"
    )
    parser.add_argument(
        "--table",
        default="readings",
        choices=("readings", "clocks", "supplies", "deviations", "parts"),
        help="which table of a .csv",
    )
    parser.set_defaults(command=report)
    parser = commands.add_parser("due", help="write what falls due as a calendar file")
    parser.add_argument("--to", type=Path, required=True, metavar="FILE.ics")
    parser.set_defaults(command=due)
    _add_history(commands)
    parser = commands.add_parser("lessons", help="what past runs taught, step by step")
    parser.set_defaults(command=lessons, procedure="", every=False)
    inner = parser.add_subparsers(title="commands", metavar="")
    found = inner.add_parser("list", help="list them")
    found.add_argument("procedure", nargs="?", default="", help="its id")
    found.add_argument("--every", action="store_true", help="those settled as well")
    found.set_defaults(command=lessons)
    fold = inner.add_parser("fold", help="fold lessons into the procedure's next revision")
    fold.add_argument("lessons", nargs="+", metavar="LESSON")
    fold.set_defaults(command=fold_in)
    retire = inner.add_parser("retire", help="show a lesson no longer")
    retire.add_argument("lesson", metavar="LESSON")
    retire.add_argument("--reason", required=True)
    retire.set_defaults(command=retire_one)
    for settling in (fold, retire):
        settling.add_argument("--by", default="", help="who decides it; else the only person")


def _add_history(commands: "Commands") -> None:
    parser = commands.add_parser(
        "history",
        help="questions over all runs",
        description="Answers one question over all runs; without one it says how the index stands.",
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
    parser.add_argument(
        "--deviations", action="store_true", help="what was done otherwise, by step"
    )
    parser.add_argument(
        "--rebuild", action="store_true", help="make the index anew, as when logs were replaced"
    )
    parser.add_argument("--json", action="store_true", help="the answer as data")
    parser.add_argument("--csv", action="store_true", help="a recall list as CSV")
    parser.set_defaults(command=history)


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{shown(text, 40)!r} is no day, write 2026-03-01"
        ) from None


def rehearse(args: argparse.Namespace) -> int:
    """Rehearse a procedure; exit code 1 where scripts leave paths unreached."""
    procedure = procedure_file(args, args.procedure)
    if args.sketch:
        from benchrun.rehearse.sketch import sketch

        print(sketch(procedure), end="")
        return 0
    if not args.answers:
        raise BenchrunError(
            "answers are missing: add --answers FILE, or --sketch to get a first one"
        )
    if args.paths:
        from benchrun.rehearse.coverage import coverage

        found = coverage(procedure, args.answers)
        print(found.text())
        return 1 if found.missing else 0
    if args.out is None or len(args.answers) != 1:
        raise BenchrunError("one script and a folder are needed: --answers FILE --out DIR")
    from benchrun.rehearse.play import rehearse as play

    print(play(procedure, args.answers[0], args.out))
    return 0


def verify(args: argparse.Namespace) -> int:
    """Check the record of runs; one that cannot be read keeps no other from being checked."""
    from benchrun.record.glimpse import run_paths
    from benchrun.verify import COULD_NOT_TELL, NOT_WHOLE, WHOLE, trust_of, verify_shop

    if not args.runs and not args.all and not args.head:
        raise BenchrunError("name the runs to check, or give --all for every run of the shop")
    shop = _trusting_shop(args) if args.all or args.head else None
    trust = trust_of(shop) if shop else None
    codes, verdicts, ids = {WHOLE}, list[dict[str, Any]](), dict[str, str]()

    def take(name: str, outcome: "Outcome", *, brief: bool) -> None:
        code, data = _told(args, name, outcome, brief=brief)
        codes.add(code)
        verdicts.append(data)

    named = [(name, _folder(args, name)) for name in args.runs]
    for name, error in named:
        if isinstance(error, BenchrunError):
            take(name, error, brief=False)
    folders = [folder for _, folder in named if isinstance(folder, Path)]
    for folder, outcome in _verified(args, folders, args.shop):
        take(folder.name, outcome, brief=False)
    folders = list(run_paths(shop / "runs")) if shop and args.all else []
    for folder, outcome in _verified(args, folders, shop):
        take(folder.name, outcome, brief=True)
        ids[folder.name] = str(verdicts[-1]["run"])
    if shop is not None and trust is not None:
        found = verify_shop(shop, trust, ids if args.all else None, head=args.head)
        codes.add(WHOLE if found.whole else NOT_WHOLE)
        verdicts.append(found.as_data())
        _print(args, found.text())
    if args.json:
        print(json.dumps(verdicts, indent=2))
    return next(code for code in (NOT_WHOLE, COULD_NOT_TELL, WHOLE) if code in codes)


def _print(args: argparse.Namespace, text: str) -> None:
    if not args.json:
        print(text, flush=True)


def _trusting_shop(args: argparse.Namespace) -> Path:
    shop = shop_path(args)
    if not os.path.lexists(shop / "signers"):
        raise BenchrunError(f"there are no signers in {shown(str(shop), 200)}")
    return shop


def _folder(args: argparse.Namespace, name: str) -> Path | BenchrunError:
    """The folder of a run that was named, or why there is none."""
    try:
        return run_folder(args, name)
    except BenchrunError as error:
        return error


def _told(
    args: argparse.Namespace, name: str, outcome: "Outcome", *, brief: bool
) -> tuple[int, dict[str, Any]]:
    """Print what checking one run came to; answers the exit code and the data."""
    from benchrun.verify import COULD_NOT_TELL, NOT_WHOLE, WHOLE

    if isinstance(outcome, BenchrunError):
        print(f"benchrun: {shown(outcome.message)}", file=sys.stderr)
        data = {"run": name, "whole": None, "could not tell": outcome.message}
        return COULD_NOT_TELL, data
    _print(args, outcome.brief() if brief else outcome.text())
    return (WHOLE if outcome.whole else NOT_WHOLE), outcome.as_data()


def _verified(
    args: argparse.Namespace, folders: Sequence[Path], shop: Path | None
) -> "Iterator[tuple[Path, Outcome]]":
    """Check runs, and say on a terminal what is left, once it takes longer than a second."""
    from benchrun.verify import verify_many

    quiet = args.json or not sys.stderr.isatty()
    begun, said = time.monotonic(), False
    tells = {folder.name: _progress(args, folder.name) for folder in folders}

    def tell(name: str, done: int, whole: int) -> None:
        say = tells[name]
        if say is not None:
            say(done, whole)

    for done, found in enumerate(verify_many(folders, shop=shop, progress=tell), 1):
        if said:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)
        yield found
        passed = time.monotonic() - begun
        said = not quiet and passed > 1 and 1 < len(folders) > done
        if said:
            left = span(int(passed * (len(folders) - done) / done) * 1000)
            words = f"{done} of {len(folders)} runs checked, about {left} left"
            print(f"\r{words}\x1b[K", end="", file=sys.stderr, flush=True)


def _progress(args: argparse.Namespace, name: str) -> Callable[[int, int], None] | None:
    """Say on a terminal how far a check has come, once it takes longer than a second."""
    if args.json or not sys.stderr.isatty():
        return None
    begun, last = time.monotonic(), [-1]

    def say(done: int, whole: int) -> None:
        percent = 100 * done // max(1, whole)
        if percent != last[0] and time.monotonic() - begun > 1:
            last[0] = percent
            end = "\r\x1b[K" if percent == 100 else "\r"
            print(f"{shown(name, 60)}: {percent} % checked", end=end, file=sys.stderr, flush=True)

    return say


def show(args: argparse.Namespace) -> int:
    """Print the record of a run."""
    from benchrun.account.entry_words import show as show_run
    from benchrun.record.folder import RunFolder
    from benchrun.verify import checked_keys

    folder = run_folder(args, args.run_name)
    try:
        print(show_run(RunFolder(folder), checked_keys(folder, args.shop)))
    except ValueError as error:
        raise BenchrunError(f"{args.run_name}: {error}", exit_code=1) from None
    return 0


def report(args: argparse.Namespace) -> int:
    """Verify runs and write the record that is handed over."""
    from benchrun.report.command import run_report
    from benchrun.report.front import Issue
    from benchrun.verify import verify_many

    folders = [run_folder(args, name) for name in args.runs]
    verdicts = []
    for _, outcome in verify_many(folders, shop=args.shop):
        if isinstance(outcome, BenchrunError):
            raise outcome
        verdicts.append(outcome.as_data())
    at = f"{dt.datetime.now(dt.UTC):%Y-%m-%dT%H:%M:%SZ}"
    issue = Issue(args.title, at, args.owner, args.table)
    print(run_report(folders, args.to, verdicts, issue=issue))
    return 0


def due(args: argparse.Namespace) -> int:
    """Write what falls due in the open runs as a calendar file."""
    from benchrun.report.due import write_due

    shop, now = _shop_now(args)
    print(write_due(shop, args.to, now))
    return 0


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
    progress = _progress(args, "the runs")
    answer, skipped = run_history(
        shop_path(args),
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

    shop, _ = _shop_now(args)
    print(list_lessons(shop, args.procedure, every=args.every))
    return 0


def fold_in(args: argparse.Namespace) -> int:
    """Fold lessons into a procedure."""
    from benchrun.history.lesson_commands import fold_lessons

    shop, now = _shop_now(args)
    print(fold_lessons(shop, args.lessons, _decider(shop, args.by), now))
    return 0


def retire_one(args: argparse.Namespace) -> int:
    """Retire a lesson."""
    from benchrun.history.lesson_commands import retire_lesson

    shop, now = _shop_now(args)
    print(retire_lesson(shop, args.lesson, args.reason, _decider(shop, args.by), now))
    return 0


def _shop_now(args: argparse.Namespace) -> "tuple[Shop, Moment]":
    from benchrun.record.clock import SystemClock
    from benchrun.shop.folder import open_shop

    return open_shop(shop_path(args)), SystemClock().now()


def _decider(shop: "Shop", name: str) -> str:
    from benchrun.shop.people import decider

    return decider(shop, name)
