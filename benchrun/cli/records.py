"""Commands about records: verify, show, report, due."""

import argparse
import datetime as dt
import json
import os
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchrun.cli.output import progress_on_terminal, put_out
from benchrun.cli.parser import Commands, add_command, add_force
from benchrun.cli.paths import known_shop, run_folder, shop_now
from benchrun.errors import BenchrunError
from benchrun.text import shown, span

if TYPE_CHECKING:
    from benchrun.verify import Outcome


def add_record_commands(commands: Commands) -> None:
    """Add the commands to the command line."""
    parser = add_command(
        commands,
        "verify",
        "check the record of runs: chain, signatures, seals, each entry by the rules",
        example="benchrun verify 2026-04-01-hubs-k3f9\nbenchrun verify --all --json",
        exits={0: "all intact", 1: "one is damaged", 2: "one could not be checked"},
    )
    parser.add_argument("runs", nargs="*", metavar="RUN", help="a run's id, or its folder")
    parser.add_argument(
        "--all", action="store_true", help="every run of the shop, and its register against them"
    )
    parser.add_argument(
        "--head", default="", metavar="TEXT", help="a head of the shop that was noted earlier"
    )
    parser.add_argument("--json", action="store_true", help="as data: benchrun schema verify")
    parser.set_defaults(command=verify)
    parser = add_command(
        commands,
        "show",
        "print the record of a run in plain text",
        example="benchrun show 2026-04-01-hubs-k3f9",
        exits={0: "done", 1: "the log does not fit its procedure", 2: "could not be read"},
    )
    parser.add_argument("run_name", metavar="RUN", help="a run's id, or its folder")
    parser.set_defaults(command=show)
    parser = add_command(
        commands,
        "report",
        "write the record that is handed over",
        example="benchrun report 2026-04-01-hubs-k3f9 --to hubs.html\n"
        "benchrun report 2026-04-01-hubs-k3f9 --to - --form csv",
        more="Each run is verified first, and the report says what came of it.",
    )
    parser.add_argument("runs", nargs="+", metavar="RUN", help="a run's id, or its folder")
    parser.add_argument(
        "--to",
        required=True,
        metavar="FILE",
        help="ends in .html .csv .json .txt or .md; - prints it",
    )
    parser.add_argument(
        "--form",
        choices=("html", "csv", "json", "txt", "md"),
        default="txt",
        help="the form of what --to - prints; txt unless said",
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
    add_force(parser)
    parser.set_defaults(command=report)
    parser = add_command(
        commands,
        "due",
        "write what falls due as a calendar file",
        example="benchrun due --to due.ics",
        exits={0: "done", 1: "nothing is due", 2: "could not do it"},
    )
    parser.add_argument("--to", required=True, metavar="FILE.ics", help="the file; - prints it")
    add_force(parser)
    parser.set_defaults(command=due)


def verify(args: argparse.Namespace) -> int:
    """Check the record of runs; one that cannot be read keeps no other from being checked."""
    from benchrun.record.glimpse import log_places
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
    folders = log_places(shop / "runs") if shop and args.all else []
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
    shop = known_shop(args)
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
    tells = {folder.name: progress_on_terminal(args, folder.name) for folder in folders}

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


def show(args: argparse.Namespace) -> int:
    """Print the record of a run."""
    from benchrun.account.record_text import show as show_run
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
    from benchrun.report.command import report_content, run_report
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
    if args.to == "-":
        put_out(report_content(folders, f".{args.form}", verdicts, issue=issue))
    else:
        print(run_report(folders, Path(args.to), verdicts, issue=issue, force=args.force))
    return 0


def due(args: argparse.Namespace) -> int:
    """Write what falls due in the open runs as a calendar file."""
    from benchrun.report.due import due_calendar, write_due

    shop, now = shop_now(args)
    if args.to == "-":
        put_out(due_calendar(shop, now))
    else:
        print(write_due(shop, Path(args.to), now, force=args.force))
    return 0
