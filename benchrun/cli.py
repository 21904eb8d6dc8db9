"""The command line: one function a command, importing what it needs when it runs."""

import argparse
import os
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from benchrun import __version__
from benchrun.errors import BenchrunError
from benchrun.text import shown

Command = Callable[[argparse.Namespace], int]


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    Returns:
        0 done, 1 done and found wanting, 2 could not do it.
    """
    args = _parser().parse_args(argv)
    command: Command = args.command
    try:
        return command(args)
    except BenchrunError as error:
        print(f"benchrun: {shown(error.message)}", file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # Whoever read the output has gone; nothing is left to say to them.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("benchrun: broken off", file=sys.stderr)
        return 2


_TOP: Final = """\
Carry out bench procedures step by step, with clocks, readings and a signed log.
Without a command the board opens: what runs, what wants a hand, what can be begun.
"""


def _parser() -> argparse.ArgumentParser:
    top = argparse.ArgumentParser(
        "benchrun", description=_TOP, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    top.add_argument("--version", action="version", version=f"benchrun {__version__}")
    top.add_argument("--shop", type=Path, help="the shop's folder (or set BENCHRUN_SHOP)")
    top.add_argument(
        "--plain", action="store_true", help="line by line, for screen readers and pipes"
    )
    top.add_argument("--ascii", action="store_true", help="draw with ASCII characters only")
    top.add_argument("--no-mouse", action="store_true", help="leave the mouse to the terminal")
    top.set_defaults(command=board)
    commands = top.add_subparsers(title="commands", metavar="")
    commands.add_parser("try", help="look round in a throw-away shop").set_defaults(command=try_out)
    one = commands.add_parser("run", help="begin a run of a procedure")
    one.add_argument("procedure", help="its id, or a file")
    one.set_defaults(command=run)
    _add_checking(commands)
    _add_records(commands)
    return top


if TYPE_CHECKING:
    from argparse import ArgumentParser, _SubParsersAction

    Commands = _SubParsersAction[ArgumentParser]


def _add_checking(commands: "Commands") -> None:
    one = commands.add_parser("check", help="say what is wrong with procedure files")
    one.add_argument("files", nargs="+", type=Path, metavar="FILE")
    one.add_argument(
        "--advice",
        choices=("show", "count", "hide"),
        default="show",
        help="whether advice is shown, or counts as an error",
    )
    one.add_argument("--json", action="store_true", help="for editors")
    one.add_argument("--route", action="store_true", help="print the compiled route instead")
    one.set_defaults(command=check)
    one = commands.add_parser("schema", help="print the JSON Schema of procedure files")
    one.set_defaults(command=schema)
    one = commands.add_parser("calc", help="do one of the shop's sums; without a name, list them")
    one.add_argument("name", nargs="?")
    one.add_argument("values", nargs="*", metavar="key=value")
    one.add_argument("--json", action="store_true")
    one.set_defaults(command=calc)


def _add_records(commands: "Commands") -> None:
    one = commands.add_parser("rehearse", help="play a procedure by scripted answers")
    one.add_argument("procedure", help="its id, or a file")
    one.add_argument("--answers", type=Path, required=True, metavar="FILE")
    one.add_argument(
        "--out", type=Path, required=True, metavar="DIR", help="becomes the run's folder"
    )
    one.set_defaults(command=rehearse)
    one = commands.add_parser("verify", help="check the record of a run")
    one.add_argument("runs", nargs="+", metavar="RUN", help="a run's id, or its folder")
    one.add_argument("--json", action="store_true")
    one.set_defaults(command=verify)
    one = commands.add_parser("show", help="print the record of a run")
    one.add_argument("run_name", metavar="RUN", help="a run's id, or its folder")
    one.set_defaults(command=show)


def board(args: argparse.Namespace) -> int:
    """Open the board."""
    return _open(args, None)


def try_out(args: argparse.Namespace) -> int:
    """Open the board of a throw-away shop."""
    if _plainly(args):
        from benchrun.plain.start import try_plain

        return try_plain(ascii_only=args.ascii)
    from benchrun.screen.start import open_trial

    return open_trial(ascii_only=args.ascii, mouse=not args.no_mouse)


def run(args: argparse.Namespace) -> int:
    """Begin a run."""
    return _open(args, _procedure(args, args.procedure))


def _open(args: argparse.Namespace, procedure: Path | None) -> int:
    path = _shop_path(args)
    if _plainly(args):
        from benchrun.plain.start import open_plain

        return open_plain(path, procedure=procedure, ascii_only=args.ascii)
    from benchrun.screen.start import open_board

    return open_board(path, procedure=procedure, ascii_only=args.ascii, mouse=not args.no_mouse)


def _plainly(args: argparse.Namespace) -> bool:
    """Whether to work line by line: asked for, or a terminal that cannot be drawn on.

    Raises:
        BenchrunError: There is no terminal and the plain face was not asked for.
    """
    if args.plain or (os.environ.get("TERM", "") == "dumb" and sys.stdout.isatty()):
        return True
    if sys.stdin.isatty() and sys.stdout.isatty():
        return False
    raise BenchrunError(
        "this needs a terminal on both sides; for a pipe or a screen reader add --plain"
    )


def check(args: argparse.Namespace) -> int:
    """Say what is wrong with procedure files."""
    if args.route:
        from benchrun.procedure.listing import route_listing
        from benchrun.procedure.load import load

        for path in args.files:
            print(route_listing(load(path)))
        return 0
    from benchrun.procedure.report import check_files

    text, code = check_files(args.files, args.advice, args.json)
    if text:
        print(text)
    return code


def schema(args: argparse.Namespace) -> int:
    """Print the JSON Schema of procedure files."""
    del args
    import json

    from benchrun.procedure.schema import schema as procedure_schema

    print(json.dumps(procedure_schema(), indent=2, ensure_ascii=False))
    return 0


def calc(args: argparse.Namespace) -> int:
    """Do one of the shop's sums."""
    from benchrun.shopmath.command import run as work_out

    print(work_out(args.name, args.values, args.json))
    return 0


def rehearse(args: argparse.Namespace) -> int:
    """Rehearse a procedure."""
    from benchrun.rehearse.play import rehearse as play

    print(play(_procedure(args, args.procedure), args.answers, args.out))
    return 0


def verify(args: argparse.Namespace) -> int:
    """Check the record of runs; the worst of them decides the exit code."""
    import json

    from benchrun.verify import NOT_WHOLE, WHOLE
    from benchrun.verify import verify as verify_run

    worst, found = WHOLE, []
    for name in args.runs:
        progress = None if args.json else _progress(name)
        verdict = verify_run(_run_folder(args, name), shop=args.shop, progress=progress)
        found.append(verdict)
        worst = worst if verdict.whole else NOT_WHOLE
    if args.json:
        print(json.dumps([one.as_data() for one in found], indent=2, ensure_ascii=False))
    else:
        print("\n".join(one.text() for one in found))
    return worst


def _progress(name: str) -> Callable[[int, int], None] | None:
    """Say on a terminal how far a check has come, once it takes longer than a second."""
    if not sys.stderr.isatty():
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
    from benchrun.record.folder import RunFolder
    from benchrun.show import show as show_run

    try:
        print(show_run(RunFolder(_run_folder(args, args.run_name))))
    except ValueError as error:
        raise BenchrunError(f"{args.run_name}: {error}", exit_code=1) from None
    return 0


def _shop_path(args: argparse.Namespace) -> Path:
    from benchrun.shop.folder import default_path

    path: Path = args.shop or default_path()
    return path.expanduser()


def _procedure(args: argparse.Namespace, name: str) -> Path:
    from benchrun.shop.folder import Shop

    return Shop(_shop_path(args), "").procedure(name)


def _run_folder(args: argparse.Namespace, name: str) -> Path:
    path = Path(name)
    if (path / "log.jsonl").exists():
        return path
    kept = _shop_path(args) / "runs" / name
    if "/" not in name and (kept / "log.jsonl").exists():
        return kept
    raise BenchrunError(f"no run {name[:80]!r}: give its folder, or its id in {kept.parent}")


if __name__ == "__main__":
    sys.exit(main())
