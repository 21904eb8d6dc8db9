"""Completing what is typed: one command that a shell asks, and what makes each shell ask it."""

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from benchrun.cli.parser import CommandParser, Commands, add_command
from benchrun.cli.paths import shop_path
from benchrun.errors import BenchrunError

_SCRIPTS: Final = {
    "bash": """\
_benchrun() {
  local IFS=$'\\n'
  COMPREPLY=($(benchrun completion words -- "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null))
}
complete -o default -F _benchrun benchrun
""",
    "zsh": """\
#compdef benchrun
_benchrun() {
  local -a found
  found=(${(f)"$(benchrun completion words -- "${(@)words[2,CURRENT]}" 2>/dev/null)"})
  if (( $#found )); then compadd -- $found; else _files; fi
}
compdef _benchrun benchrun
""",
    "fish": """\
function __benchrun
  benchrun completion words -- (commandline -opc)[2..-1] (commandline -ct) 2>/dev/null
end
complete -c benchrun -f -n 'count (__benchrun) >/dev/null' -a '(__benchrun)'
""",
}
_BOOKS: Final = ("instruments", "supplies", "vessels", "parts", "jobs", "people")


def add_completion_command(commands: Commands) -> None:
    """Add the command to the command line."""
    parser = add_command(
        commands,
        "completion",
        "print what makes a shell complete commands, options, runs and ids",
        example='eval "$(benchrun completion bash)"\n'
        "benchrun completion fish > ~/.config/fish/completions/benchrun.fish",
        more="For zsh: put its output into a file _benchrun in a folder of fpath, or eval it.",
    )
    parser.add_argument(
        "shell",
        choices=(*_SCRIPTS, "words"),
        metavar="SHELL",
        help="bash, zsh or fish (words: what the shell asks, with the words so far)",
    )
    parser.add_argument("typed", nargs="*", metavar="WORD", help=argparse.SUPPRESS)
    parser.set_defaults(command=completion)


def completion(args: argparse.Namespace) -> int:
    """Print a shell's script, or what may come next."""
    if args.shell in _SCRIPTS:
        print(_SCRIPTS[args.shell], end="")
        return 0
    from benchrun.cli import program_parser

    for word in next_words(program_parser(), args.typed or [""]):
        print(word)
    return 0


def next_words(top: CommandParser, typed: list[str]) -> list[str]:
    """The words that may stand where the last one is being typed.

    Args:
        top: The parser of the whole command line.
        typed: The words behind `benchrun`; the last is the one being typed, perhaps empty.
    """
    parser, path, shop = top, list[str](), None
    words, last = typed[:-1], typed[-1]
    for number, word in enumerate(words):
        if word == "--shop" and number + 1 < len(words):
            shop = Path(words[number + 1])
        if word in parser.commands():
            parser = parser.commands()[word]
            path.append(word)
    if words and (choices := _choices(parser, words[-1])) is not None:
        known: Iterable[str] = choices
    elif last.startswith("-"):
        known = parser.options()
    elif parser.commands():
        known = parser.commands()
    else:
        known = _ids(path, argparse.Namespace(shop=shop))
    return [word for word in known if word.startswith(last)]


def _choices(parser: CommandParser, option: str) -> Iterable[str] | None:
    """The values of an option that takes some; None where the word is no such option."""
    action = parser._option_string_actions.get(option)
    if action is None or action.nargs == 0:
        return None
    return [str(choice) for choice in action.choices or ()]


def _ids(path: list[str], args: argparse.Namespace) -> list[str]:
    """The ids that a command takes, as far as the shop can be read."""
    try:
        return _known(path, args)
    except (BenchrunError, OSError):
        return []


def _known(path: list[str], args: argparse.Namespace) -> list[str]:
    from benchrun.shop.folder import Shop

    shop = Shop(shop_path(args), "")
    match path:
        case ["run"]:
            return [*_runs(shop.runs), *(one.id for one in shop.procedures())]
        case ["verify" | "show" | "report"]:
            return _runs(shop.runs)
        case ["check" | "rehearse" | "ready"]:
            return [one.id for one in shop.procedures()]
        case ["schema"]:
            from benchrun.cli.procedures import SCHEMAS

            return list(SCHEMAS)
        case ["completion"]:
            return list(_SCRIPTS)
        case ["calc"]:
            from benchrun.shopmath.catalogue import CALCS

            return list(CALCS)
        case [book, _] if book in _BOOKS:
            from benchrun.shop.books import read_books

            return [row.id for row in getattr(read_books(shop), book).rows]
    return []


def _runs(runs: Path) -> list[str]:
    return sorted(run.name for run in runs.iterdir() if not run.name.startswith("."))
