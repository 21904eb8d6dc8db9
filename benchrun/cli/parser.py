"""The form of the command line: help that tells all, options anywhere, and names nearly right."""

import argparse
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NoReturn

from benchrun.text import meant, shown

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction["CommandParser"]
else:
    Commands = argparse._SubParsersAction

THEMES: Final = ("dark", "light", "terminal", "mono")
"""Those of the screen, named here so that no command but the screen's own loads it."""

DONE: Final[Mapping[int, str]] = {0: "done", 2: "could not do it"}
"""The exit codes of a command that finds nothing wanting."""

_EVERYWHERE: Final = (
    "Anywhere on the line: --shop DIR, --plain, --ascii, --no-mouse, --theme NAME\n"
    "(benchrun -h explains them)."
)


class CommandParser(argparse.ArgumentParser):
    """A parser of one command: its mistakes are one line, its help has an example and exit codes.

    The options of the top parser are taken behind every command too.

    Args:
        example: Commands that can be typed as they stand, one a line.
        exits: The meaning of each exit code.
        top: Whether this is the whole program's, which explains the options.
        more: Everything else as for its base.
    """

    def __init__(
        self,
        *args: Any,
        example: str = "",
        exits: Mapping[int, str] = DONE,
        top: bool = False,
        **more: Any,
    ) -> None:
        usual: dict[str, Any] = {"allow_abbrev": False}
        super().__init__(*args, **(usual | more))
        self.example, self.exits = example, exits
        self._adds: Callable[[Commands], None] | None = None
        self._positionals.title = "arguments"
        _add_everywhere(self, explained=top)
        if not top:
            # The innermost command that was named, for what is said of a word it does not take.
            self.set_defaults(parser=self)

    def format_help(self) -> str:
        """The help, with an example and the exit codes at its end."""
        self._add_all()
        end = "example:\n" + "".join(f"  {line}\n" for line in self.example.splitlines())
        end += "\nexit code:\n"
        end += "".join(f"  {code:<4}{meaning}\n" for code, meaning in self.exits.items())
        rest = self.epilog or _EVERYWHERE
        return f"{_without_epilog(self)}\n{end}\n{rest}\n"

    def add_commands(self) -> "Commands":
        """Make it one that has commands of its own."""
        return self.add_subparsers(title="commands", metavar="COMMAND")

    def add_commands_later(self, add: "Callable[[Commands], None]") -> None:
        """Make it one that has commands of its own, which `add` adds once they are asked for.

        Half of what making the whole command line ready took were commands of the five books.
        """
        self._adds = add

    def _add_all(self) -> None:
        add, self._adds = self._adds, None
        if add is not None:
            add(self.add_commands())

    def parse_known_args(self, *args: Any, **more: Any) -> Any:
        """The words read as its base reads them, and those that it does not take."""
        self._add_all()
        return super().parse_known_args(*args, **more)

    def options(self) -> list[str]:
        """The names of its options."""
        return sorted(name for name in self._option_string_actions if name.startswith("--"))

    def commands(self) -> "dict[str, CommandParser]":
        """Its commands by their names."""
        self._add_all()
        for action in self._actions:
            if isinstance(action, argparse._SubParsersAction):
                return dict(action.choices)
        return {}

    def arguments(self) -> Iterator[argparse.Action]:
        """Its arguments and options, the hidden ones and those of every command left out."""
        for action in self._actions:
            if action.help is not argparse.SUPPRESS and not isinstance(
                action, argparse._SubParsersAction | argparse._HelpAction
            ):
                yield action

    def refuse_strange(self, words: Sequence[str]) -> None:
        """End with one line where an option that is none stands before the command.

        What stands behind it would else be taken for a command.
        """
        for word in words:
            if word in self.commands() or word == "--":
                return
            name = word.partition("=")[0]
            if name.startswith("--") and name not in self._option_string_actions:
                self.exit(2, f"benchrun: {self.not_taken(word)}\n")

    def not_taken(self, word: str) -> str:
        """The words about an argument that it does not take."""
        name = shown(word.partition("=")[0], 60)
        if word.startswith("--"):
            return f"{name} is not taken here: {meant(name, self.options())}"
        return f"{name} is not taken here; `{self.prog} -h` tells what is"

    def error(self, message: str) -> NoReturn:
        """End with one line that names the command whose help tells more."""
        said = message.replace("the following arguments are required: ", "missing: ")
        self.exit(2, f"benchrun: {shown(said, 300)}; `{self.prog} -h` tells what it takes\n")

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is None or value in action.choices:
            return
        known = [str(choice) for choice in action.choices]
        would = meant(str(value), known, most=len(known))
        if isinstance(action, argparse._SubParsersAction):
            message = f"there is no command {shown(str(value), 60)!r}: {would}"
            raise argparse.ArgumentError(None, message)
        raise argparse.ArgumentError(action, f"{shown(str(value), 60)!r} will not do: {would}")


def _without_epilog(parser: CommandParser) -> str:
    rest, parser.epilog = parser.epilog, None
    try:
        return argparse.ArgumentParser.format_help(parser)
    finally:
        parser.epilog = rest


def add_command(
    commands: "Commands",
    name: str,
    purpose: str,
    *,
    example: str,
    exits: Mapping[int, str] = DONE,
    more: str = "",
) -> CommandParser:
    """Add a command to the command line.

    Args:
        commands: Those it joins.
        name: Its name.
        purpose: What it does, in a few words that begin with a verb.
        example: Commands that can be typed as they stand, one a line.
        exits: The meaning of each exit code.
        more: What else is to be known, in whole sentences.
    """
    sentence = f"{purpose[0].upper()}{purpose[1:]}."
    return commands.add_parser(
        name,
        help=purpose,
        description=f"{sentence} {more}" if more else sentence,
        example=example,
        exits=exits,
    )


def add_force(parser: argparse.ArgumentParser) -> None:
    """Add the option that replaces a file which something else wrote."""
    parser.add_argument(
        "--force", action="store_true", help="replace a file that benchrun did not write"
    )


def _add_everywhere(parser: CommandParser, *, explained: bool) -> None:
    """Add the options that every command takes; only the top parser sets what is not given."""
    given: Any = None if explained else argparse.SUPPRESS
    no: Any = False if explained else argparse.SUPPRESS

    def told(text: str) -> str:
        return text if explained else argparse.SUPPRESS

    parser.add_argument(
        "--shop",
        type=Path,
        metavar="DIR",
        default=given,
        help=told("the shop's folder; else that of BENCHRUN_SHOP, else your own"),
    )
    parser.add_argument(
        "--plain",
        action="store_true",
        default=no,
        help=told("line by line, for screen readers and pipes"),
    )
    parser.add_argument(
        "--ascii", action="store_true", default=no, help=told("draw with ASCII characters only")
    )
    parser.add_argument(
        "--no-mouse", action="store_true", default=no, help=told("leave the mouse to the terminal")
    )
    parser.add_argument(
        "--theme",
        choices=THEMES,
        default="" if explained else argparse.SUPPRESS,
        help=told("colours; without it, by the terminal"),
    )
