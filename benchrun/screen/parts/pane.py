"""Parts against the route: a tag at the side, the rule across, a mark where each part stands."""

from collections.abc import Callable

from benchrun.run.state import Marker, Run, Status
from benchrun.screen import keys
from benchrun.screen.desk import Desk, Hint, Pane
from benchrun.screen.ink import Line, Paper, Role
from benchrun.screen.leaf import ReadPane
from benchrun.screen.page import Page, block
from benchrun.screen.run.view import graduations, stands_at
from benchrun.screen.widgets.rule import steel_rule
from benchrun.screen.widgets.tag import tag
from benchrun.text import plain_ascii

_WORDS = {
    Status.AWAY: "away",
    Status.ASIDE: "set aside",
    Status.SCRAP: "SCRAP",
    Status.DONE: "done",
}


class PartsPane(Pane):
    """The batch on the route.

    Args:
        desk: The screen.
        run: Gives the run as it stands.
    """

    def __init__(self, desk: Desk, run: Callable[[], Run]) -> None:
        super().__init__(desk)
        self._run = run
        self._top = 0
        self._shown = 1
        self._digits = ""

    def page(self, paper: Paper) -> Page:
        """One row a part."""
        run = self._run()
        side = min(24, max((len(tag(paper, p)) for p in run.parts), default=8) + 4)
        narrow = Paper(paper.width - side - 26, paper.height, paper.ascii)
        marks = graduations(list(run.route.steps.values()))
        here = min((stands_at(run, p) for p in run.parts), default=0)
        rule = [
            paper.line(" " * side) + row
            for row in steel_rule(narrow, marks, min(here, len(marks) - 1))[1:]
        ]
        self._shown = max(1, paper.height - 9)
        self._top = max(0, min(self._top, len(run.parts) - 1))
        window = list(enumerate(run.parts, 1))[self._top : self._top + self._shown]
        rows = [part_row(paper, run, number, part, side) for number, part in window]
        title = paper.line(
            " ", ("Parts", Role.STRONG), (f"   {len(run.parts)} in the batch", Role.QUIET)
        )
        wide = len(str(len(run.parts)))
        words = "one part" if wide == 1 else f"one part ({wide} digits)"
        hints = [Hint("digit", words), Hint("-", "back", first=True)]
        if len(run.parts) > self._shown:
            hints.insert(0, Hint("+", f"on, {self._top + len(window)} of {len(run.parts)}"))
        return self.laid(paper, [block([title]), block(rule), block(rows)], hints)

    async def key(self, key: str) -> None:
        """A number opens a part."""
        parts = self._run().parts
        if key in ("-", keys.BACK, keys.ENTER):
            self.desk.pop(self)
        elif key in ("+", keys.NEXT):
            self._top = self._top + self._shown if self._top + self._shown < len(parts) else 0
        elif key.isdigit():
            self._digit(key, parts)

    def _digit(self, key: str, parts: tuple[str, ...]) -> None:
        """Open a part by its number; two digits where there are more than nine."""
        self._digits += key
        if len(self._digits) < len(str(len(parts))):
            return
        number, self._digits = int(self._digits), ""
        if not 1 <= number <= len(parts):
            self.desk.say(f"There is no part {number} here.")
            return
        part = parts[number - 1]
        self.desk.push(ReadPane(self.desk, part, lambda paper: one_part(paper, self._run(), part)))


def part_row(paper: Paper, run: Run, number: int, part: str, side: int) -> Line:
    """One part: its tag, its pointer on the rule, its state in words."""
    marker = run.markers[part]
    at = stands_at(run, part)
    width = paper.width - side - 26
    steps = len(run.route.steps)
    apart = min(6, (width - 3) // max(1, steps - 1)) if steps > 1 else 0
    column = at * apart if apart >= 1 else at * (width - 3) // max(1, steps - 1)
    track = [paper.signs.dot if i % 2 == 0 else " " for i in range(width - 2)]
    for i in range(min(column, len(track))):
        track[i] = paper.signs.thin
    if marker.status is not Status.DONE and column < len(track):
        track[column] = paper.signs.here if marker.here else paper.signs.there
    lead = paper.padded(f" {number:>2} {tag(paper, part)}", side)
    role = Role.QUIET if marker.status in (Status.DONE, Status.SCRAP) else Role.TEXT
    row = paper.line((lead, role), " ", ("".join(track), Role.QUIET), " ")
    words = paper.fitted(state_of(paper, run, marker), max(6, paper.width - row.width - 1))
    return row + paper.line((words, Role.ACCENT if marker.questions and marker.here else role))


def state_of(paper: Paper, run: Run, marker: Marker) -> str:
    """Where a part is, in few words, with its coats as dots."""
    coats = " ".join(paper.signs.coat * min(len(made), 8) for made in marker.coats.values() if made)
    if marker.questions and marker.here:
        words = "to be settled"
    elif marker.status in _WORDS:
        words = _WORDS[marker.status]
    elif marker.soak is not None:
        words = f"in, step {run.route.steps[marker.soak.step].number}"
    else:
        op = run.route.step_at(marker.index)
        words = f"step {op.step.number}" if op else "at a fork"
    return f"{words} {coats}".strip()


def one_part(paper: Paper, run: Run, part: str) -> list[Line]:
    """Everything that is known of one part."""
    marker = run.markers[part]
    rows = paper.told(state_of(paper, run, marker), first=" stands   ", lead=Role.QUIET)
    for question in marker.questions:
        rows += paper.told(question.says, first=" settle   ", lead=Role.ACCENT)
    for value in sorted(marker.values.values(), key=lambda v: v.n):
        name = value.name.replace("_", " ")
        place = f" {value.place}" if value.place else ""
        said = value.word or f"{value.number} {value.unit}"
        rows.append(
            paper.line(
                "   ", paper.padded(f"{name}{place}", 34), said, (f"   line {value.n}", Role.QUIET)
            )
        )
    return [paper.line((plain_ascii(r.text), Role.TEXT)) for r in rows] if paper.ascii else rows
