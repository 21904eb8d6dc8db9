"""The command line: one function a command, importing what it needs when it runs."""

import argparse
import codecs
import io
import os
import sys
from collections.abc import Callable, Sequence
from typing import Final

from benchrun.cli import bench, books, completion, history, people, procedures, records, shop
from benchrun.cli.ending import Ended, ended_by_signals
from benchrun.cli.parser import CommandParser, add_command
from benchrun.errors import BenchrunError
from benchrun.gc_pause import search_seldom
from benchrun.lost_output import write_nowhere
from benchrun.text import plain_ascii, shown

_SPELLED: Final = "benchrun-spelled"
_SIGNALLED: Final = 128
Command = Callable[[argparse.Namespace], int]


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command.

    Returns:
        0 done, 1 done and found wanting, 2 could not do it, 128 and more: ended by a signal.
    """
    search_seldom()
    for told in ("COLUMNS", "LINES"):  # the terminal's own size holds, not what a shell exported
        os.environ.pop(told, None)
    top = program_parser()
    top.refuse_strange(sys.argv[1:] if argv is None else argv)
    args, strange = top.parse_known_args(argv)
    if strange:
        print(f"benchrun: {_not_taken(args, strange[0])}", file=sys.stderr)
        return 2
    _fit_streams(ascii_only=args.ascii)
    command: Command = args.command
    try:
        with ended_by_signals():
            code = command(args)
            if code < _SIGNALLED:
                print(end="", flush=True)
            else:
                _let_go_of_output()
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
    except (KeyboardInterrupt, Ended) as ended:
        _let_go_of_output()
        message, code = "benchrun: broken off", ended.code if isinstance(ended, Ended) else 130
    except Exception as error:  # the last place where a fault of the program can be told
        message, code = _fault(error), 2
    _say(message)
    return code


def _say(message: str) -> None:
    """Print a message where somebody may read it, if there is such a place."""
    try:
        print(message, file=sys.stderr, flush=True)
    except OSError:
        write_nowhere(sys.stderr)


def _not_taken(args: argparse.Namespace, word: str) -> str:
    """The message about a word that a command does not take."""
    parser: CommandParser = args.parser
    name = shown(word, 60)
    if hasattr(args, "pairs") and word.startswith("--"):
        key = name.removeprefix("--").partition("=")[0].replace("-", " ")
        return f"{name}: a key of a row is written without hyphens, like '{key}=...'; -h tells more"
    return parser.not_taken(word)


def _let_go_of_output() -> None:
    """Print what is still to be printed; what cannot be goes nowhere when Python ends."""
    try:
        print(end="", flush=True)
    except OSError:
        write_nowhere(sys.stdout)


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
_EXITS: Final = {
    0: "done",
    1: "done, and something found wanting",
    2: "could not do it",
    130: "broken off with Ctrl+C",
    143: "ended by the system",
    129: "the terminal went away",
}


class _Version(argparse.Action):
    """Prints name, version and build; the build is worked out only when it is asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        """Print it and end."""
        from benchrun.version import program

        parser.exit(message=f"{program()}\n")


def program_parser() -> CommandParser:
    """The parser of the whole command line."""
    top = CommandParser(
        "benchrun",
        description=_TOP,
        epilog="Each command explains itself: benchrun COMMAND -h",
        example="benchrun try\nbenchrun --shop ~/shed run hub-bearing-removal",
        exits=_EXITS,
        top=True,
    )
    top.add_argument("--version", action=_Version, nargs=0, help="print version and build")
    top.set_defaults(command=bench.board, parser=top)
    commands = top.add_commands()
    add_command(
        commands,
        "try",
        "look round in a sample shop, invented and thrown away afterwards",
        example="benchrun try",
    ).set_defaults(command=bench.try_out)
    parser = add_command(
        commands,
        "run",
        "begin a run of a procedure, or resume an open run",
        example="benchrun run hub-bearing-removal\nbenchrun run 2026-04-01-hubs-k3f9",
        more="A run that another window writes is shown and follows along.",
    )
    parser.add_argument(
        "name", metavar="NAME", help="a procedure's id or file, or a run's id or folder"
    )
    parser.set_defaults(command=bench.run)
    procedures.add_procedure_commands(commands)
    records.add_record_commands(commands)
    history.add_history_commands(commands)
    shop.add_shop_commands(commands)
    people.add_people_commands(commands)
    books.add_book_commands(commands)
    completion.add_completion_command(commands)
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
