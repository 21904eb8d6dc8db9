"""Errors of a procedure file and advice on it, each with its place."""

from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.marked import Map, Path, Place, place_of
from benchrun.text import shown


@lean_dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing to put right, or (as advice) to think about.

    Attributes:
        line: From 1.
        column: From 1.
        text: What is wrong, what was found, what would do.
        advice: Whether the procedure can be run as it is.
    """

    line: int
    column: int
    text: str
    advice: bool = False

    def at(self, name: str) -> str:
        """The problem with its place, as one line."""
        said = f"advice: {self.text}" if self.advice else self.text
        return f"{shown(name)}:{self.line}:{self.column}: {shown(said)}"


class Problems:
    """Collects the problems of one file, in any order.

    Args:
        data: The file's contents, which know their places.
    """

    def __init__(self, data: Map) -> None:
        self.data = data
        self._found: set[Problem] = set()
        self._partial = False

    def take_partly(self) -> None:
        """From here on, something that is lacking may only have been taken out of the data."""
        self._partial = True

    def error(self, path: Path, text: str, offset: int | None = None, *, key: bool = False) -> None:
        """Add something that must be put right.

        Args:
            path: Where, as keys and numbers of items.
            text: What is wrong, what was found, what would do.
            offset: The letter of the text that stands there, or None for the text as a whole.
            key: Whether the key is meant rather than its value.
        """
        place = place_of(self.data, path, key=key)
        self._add(place if offset is None else place.inside(offset), text, advice=False)

    def lacks(self, path: Path, text: str, *, key: bool = False) -> None:
        """Add that something is missing; passed over where only part of the file is looked at."""
        if not self._partial:
            self.error(path, text, key=key)

    def advise(self, path: Path, text: str, *, key: bool = False) -> None:
        """Add something to think about."""
        self._add(place_of(self.data, path, key=key), text, advice=True)

    def _add(self, place: Place, text: str, *, advice: bool) -> None:
        self._found.add(Problem(place.line, place.column, text, advice))

    @property
    def errors(self) -> list[Problem]:
        """The errors, in the order of the file."""
        return sorted(problem for problem in self._found if not problem.advice)

    @property
    def advice(self) -> list[Problem]:
        """The advice, in the order of the file."""
        return sorted(problem for problem in self._found if problem.advice)
