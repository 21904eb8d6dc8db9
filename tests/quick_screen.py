"""A terminal's screen whose text may be asked for after every few bytes."""

import pyte


class QuickScreen(pyte.Screen):
    """Reads again only those rows in which something was drawn since it was asked last."""

    def __init__(self, columns: int, lines: int) -> None:
        self._rows: dict[int, str] = {}
        super().__init__(columns, lines)

    @property
    def display(self) -> list[str]:
        """The rows as they stand; behind a wide character lies a cell with nothing in it."""
        for place in self.dirty:
            cells = self.buffer[place]
            self._rows[place] = "".join(cells[column].data for column in range(self.columns))
        self.dirty.clear()
        return [self._rows[place] for place in range(self.lines)]
