"""The contents of a file as plain maps, lists and texts that know where they stand."""

from collections.abc import Sequence

from benchrun.lean_dataclass import lean_dataclass

Path = Sequence[str | int]


@lean_dataclass(frozen=True, slots=True)
class Place:
    """Where something stands in the file.

    Attributes:
        line: From 1.
        column: From 1.
        inner: The column of the text's own first letter (past a quotation mark), or 0 where the
            text runs over several lines and offsets inside it cannot be placed.
    """

    line: int
    column: int
    inner: int = 0

    def inside(self, offset: int) -> "Place":
        """The place of a letter of the text."""
        return Place(self.line, self.inner + offset) if self.inner else self


class Map(dict[str, "str | Map | Items"]):
    """A map of the file; `keys_at` and `values_at` say where its keys and values stand."""

    __slots__ = ("at", "keys_at", "values_at")

    def __init__(self, at: Place) -> None:
        super().__init__()
        self.at = at
        self.keys_at: dict[str, Place] = {}
        self.values_at: dict[str, Place] = {}


class Items(list["str | Map | Items"]):
    """A list of the file; `values_at` says where each item stands."""

    __slots__ = ("at", "values_at")

    def __init__(self, at: Place) -> None:
        super().__init__()
        self.at = at
        self.values_at: list[Place] = []


class Unreadable(Exception):
    """The file cannot be read as YAML of a procedure.

    Args:
        text: What is wrong, what was found, what would do.
        at: Where.
    """

    def __init__(self, text: str, at: Place) -> None:
        super().__init__(text)
        self.text = text
        self.at = at


def place_of(data: Map | Items, path: Path, *, key: bool = False) -> Place:
    """Where the value of a path stands; the nearest enclosing place where it is not in the file.

    Args:
        data: The file's contents.
        path: Keys and numbers of items; parts that name nothing in the file are passed over.
        key: Whether the key is wanted rather than its value.
    """
    here: str | Map | Items = data
    place = data.at
    for part in path:
        if isinstance(here, Map) and isinstance(part, str) and part in here:
            place = here.keys_at[part] if key else here.values_at[part]
            here = here[part]
        elif isinstance(here, Items) and isinstance(part, int) and 0 <= part < len(here):
            place = here.values_at[part]
            here = here[part]
    return place
