"""The command line: one function a command, importing what it needs when it runs."""

import argparse
import codecs
import io
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, NoReturn

from benchrun.cli import bench, procedures, records, shop
from benchrun.errors import BenchrunError
from benchrun.text import plain_ascii, shown

_SPELLED: Final = "benchrun-spelled"
Command = Callable[[argparse.Namespace], int]


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    Returns:
        0 done, 1 done and found wanting, 2 could not do it.
    """
    args, strange = _parser().parse_known_args(argv)
    if strange:
        print(f"benchrun: {_not_taken(args, strange[0])}", file=sys.stderr)
        return 2
    _fit_streams(ascii_only=args.ascii)
    command: Command = args.command
    try:
        code = command(args)
        print(end="", flush=True)
        return code
    except BenchrunError as error:
        message, code = f"benchrun: {shown(error.message)}", error.exit_code
    except BrokenPipeError:
        # Whoever read the output has gone; nothing is left to say to them.
        _let_go_of_output()
        return 0
    except OSError as error:
        _let_go_of_output()
        message, code = f"benchrun: {_refusal(error)}", 2
    except KeyboardInterrupt:
        message, code = "benchrun: broken off", 2
    except Exception as error:  # the last place where a fault of the program can be told
        message, code = _fault(error), 2
    print(message, file=sys.stderr)
    return code


def _not_taken(args: argparse.Namespace, word: str) -> str:
    """The message about a word that a command does not take."""
    name = shown(word, 60)
    if hasattr(args, "pairs") and word.startswith("--"):
        key = name.removeprefix("--").partition("=")[0].replace("-", " ")
        return f"{name}: a key of a row is written without hyphens, like '{key}=...'; -h tells more"
    return f"{name}: is not taken here; the command with -h tells what is"


def _let_go_of_output() -> None:
    """Print what is still to be printed; what cannot be goes nowhere when Python ends."""
    try:
        print(end="", flush=True)
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _refusal(error: OSError) -> str:
    where = f": {shown(str(error.filename), 200)}" if error.filename else ""
    return f"the system refuses it, {error.strerror or type(error).__name__}{where}"


def _fault(error: Exception) -> str:
    from benchrun.crash import fault_folder, fault_words
    from benchrun.record.clock import SystemClock

    return fault_words(error, SystemClock().now().utc, fault_folder())


_TOP: Final = """\
Carry out bench procedures step by step, with clocks, readings and a signed log.
Without a command the board opens: what is under way, what is due, what can be begun.
"""


class _Version(argparse.Action):
    """Prints name, version and build; the build is worked out only when it is asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        """Print it and end."""
        from benchrun.version import program

        parser.exit(message=f"{program()}\n")


class _Parser(argparse.ArgumentParser):
    """A parser that says what is wrong in one line, as everything else here does."""

    def error(self, message: str) -> NoReturn:
        """End with one line that names the command whose help tells more."""
        said = message.replace("the following arguments are required: ", "missing: ")
        self.exit(2, f"benchrun: {shown(said, 300)}; `{self.prog} -h` tells what it takes\n")


def _parser() -> argparse.ArgumentParser:
    top: argparse.ArgumentParser = _Parser(
        "benchrun", description=_TOP, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    top.add_argument("--version", action=_Version, nargs=0, help="print version and build")
    top.add_argument("--shop", type=Path, help="the shop's folder (or set BENCHRUN_SHOP)")
    top.add_argument(
        "--plain", action="store_true", help="line by line, for screen readers and pipes"
    )
    top.add_argument("--ascii", action="store_true", help="draw with ASCII characters only")
    top.add_argument("--no-mouse", action="store_true", help="leave the mouse to the terminal")
    top.add_argument(
        "--theme", choices=bench.THEMES, default="", help="colours; without it, by the terminal"
    )
    top.set_defaults(command=bench.board)
    commands = top.add_subparsers(title="commands", metavar="")
    commands.add_parser("try", help="look round in a throw-away shop").set_defaults(
        command=bench.try_out
    )
    parser = commands.add_parser("run", help="begin a run of a procedure, or take an open run up")
    parser.add_argument("name", help="a procedure's id or file, or a run's id or folder")
    parser.set_defaults(command=bench.run)
    procedures.add_procedure_commands(commands)
    records.add_record_commands(commands)
    shop.add_shop_commands(commands)
    return top


def _fit_streams(*, ascii_only: bool) -> None:
    """Make standard output print whatever comes, and standard input read whatever comes.

    Python ends with a traceback when a terminal's character set lacks a letter (`°` on an ASCII
    terminal) or when bytes are typed that are no text. Here the letter is spelled (`deg`), and the
    bytes become U+FFFD.

    Where there is no standard input at all, there is one that has ended.

    Args:
        ascii_only: Whether ASCII characters alone may be printed, whatever the terminal knows.
    """
    codecs.register_error(_SPELLED, _spell)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="ascii" if ascii_only else None, errors=_SPELLED)
    if not sys.stdin:
        sys.stdin = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")


def _spell(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text, start, end = error.object, error.start, error.end
    # How a letter is spelled depends on what stands beside it: `20 °C` is `20 deg C`.
    after = text[end : end + 1]
    after = after if after.isascii() else ""
    spelled = plain_ascii(text[start:end] + after).removesuffix(after)
    return spelled.lstrip(" ") if text[start - 1 : start] == " " else spelled, end
