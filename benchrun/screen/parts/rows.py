"""How parts are drawn: a tag at the side, the rule across, a mark where each part stands."""

from collections.abc import Collection, Sequence

from benchrun.dialogue.hand import furthest_behind, stands_at
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.route import Head, Step
from benchrun.run.entries import Photo
from benchrun.run.state import Marker, Run, Status
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.widgets.rule import Graduation, steel_rule
from benchrun.screen.widgets.tag import tag
from benchrun.text import plain_ascii

_WORDS = {
    Status.AWAY: "away",
    Status.ASIDE: "set aside",
    Status.SCRAP: "SCRAP",
    Status.DONE: "done",
}
_WITH_RULE = 56
_STATE = 22
_BRIEF = 10
_AROUND = 9


@lean_dataclass(frozen=True, slots=True)
class Plan:
    """How a batch is laid out on a page.

    Attributes:
        columns, rows: How many of each.
        ruled: Whether the rule stands above and each part has its own line along it.
        cell: How wide a column is.
        side: How wide the number and the tag are.
    """

    columns: int
    rows: int
    ruled: bool
    cell: int
    side: int

    @property
    def shown(self) -> int:
        """How many parts fit."""
        return self.columns * self.rows


def plan_of(paper: Paper, run: Run) -> Plan:
    """The widest layout that holds the whole batch; pages of it where none does."""
    wide = len(str(len(run.parts)))
    longest = max((len(tag(paper, part)) for part in run.parts), default=8)
    side = min(24, longest + wide + 3)
    room = max(1, paper.height - _AROUND)
    for columns in range(1, max(2, paper.width // _WITH_RULE + 1)):
        plan = Plan(columns, room, ruled=True, cell=(paper.width - 1) // columns, side=side)
        if plan.shown >= len(run.parts):
            return plan
    room, side = max(1, paper.height - _AROUND + 3), side - 1
    most = max(1, (paper.width - 1) // (side + _BRIEF))
    for columns in range(2, most + 1):
        cell = min((paper.width - 1) // columns, side + _STATE)
        plan = Plan(columns, -(-len(run.parts) // columns), ruled=False, cell=cell, side=side)
        if plan.rows <= room:
            return plan
    return Plan(most, room, ruled=False, cell=(paper.width - 1) // most, side=side)


def rule_rows(paper: Paper, run: Run, plan: Plan) -> list[TextLine]:
    """The rule above each column."""
    marks = graduations(list(run.route.steps.values()))
    here = furthest_behind(run)
    narrow = Paper(plan.cell - plan.side - _STATE + 1, paper.height, paper.ascii)
    own = steel_rule(narrow, marks, min(here, len(marks) - 1))[1:]
    rows = [paper.line() for _ in own]
    for column in range(plan.columns):
        at = column * plan.cell + plan.side + _STATE - 1
        rows = [row.padded(at) + mark for row, mark in zip(rows, own, strict=True)]
    return rows


def part_rows(
    paper: Paper, run: Run, plan: Plan, top: int, chosen: Collection[str], hand: int | None
) -> list[TextLine]:
    """The parts from a place on, column by column.

    Args:
        paper: What they are drawn on.
        run: The run.
        plan: How they are laid out.
        top: The place in the batch of the first.
        chosen: Those whose eyelet is filled.
        hand: The place that the hand points at, or None.
    """
    shown = list(enumerate(run.parts))[top : top + plan.shown]
    if not shown:
        return []
    height = min(plan.rows, -(-len(shown) // plan.columns))
    rows = [paper.line() for _ in range(height)]
    for place, (number, part) in enumerate(shown):
        column, row = divmod(place, height)
        cell = _cell(paper, run, plan, number, part in chosen, pointed=number == hand)
        rows[row] = rows[row].padded(column * plan.cell) + cell
    return rows


def _cell(
    paper: Paper, run: Run, plan: Plan, number: int, chosen: bool, *, pointed: bool
) -> TextLine:
    """One part: its number and tag, its line along the rule, its state in words."""
    part = run.parts[number]
    marker = run.markers[part]
    wide = len(str(len(run.parts)))
    at_hand = paper.signs.hand if pointed else " "
    name = paper.ended(part, plan.side - wide - 2 - len(tag(paper, "")))
    lead = f"{number + 1:>{wide}} {tag(paper, name, chosen=chosen)}"
    over = marker.status in (Status.DONE, Status.SCRAP)
    role = Role.STRONG if chosen else Role.QUIET if over else Role.TEXT
    row = paper.line((at_hand, Role.ACCENT), (paper.padded(lead, plan.side - 1), role))
    words = state_of(paper, run, marker)
    if marker.questions and marker.here:
        role = Role.ACCENT
    if not plan.ruled:
        return row + paper.line(" ", (paper.fitted(words, max(6, plan.cell - row.width - 2)), role))
    track = part_track(paper, run, marker, plan.cell - plan.side - _STATE)
    state = paper.padded(words, _STATE - 2)
    return row + paper.line(" ", (state, role), " ", (track, Role.QUIET))


def part_track(paper: Paper, run: Run, marker: Marker, width: int) -> str:
    """The part's way along the rule: a line behind it, dots ahead, a mark where it stands."""
    at, steps = stands_at(run, marker.part), len(run.route.steps)
    apart = min(6, (width - 2) // max(1, steps - 1)) if steps > 1 else 0
    column = at * apart if apart >= 1 else at * (width - 2) // max(1, steps - 1)
    # A dot a step, under the rule's own marks; too many steps for that are dotted evenly.
    every = apart or 2
    track = [paper.signs.dot if i % every == 0 else " " for i in range(width - 1)]
    if apart:
        track[(steps - 1) * apart + 1 :] = " " * (width - 2 - (steps - 1) * apart)
    for i in range(min(column, len(track))):
        track[i] = paper.signs.thin
    if marker.status is not Status.DONE and column < len(track):
        track[column] = paper.signs.here if marker.here else paper.signs.there
    return "".join(track)


def state_of(paper: Paper, run: Run, marker: Marker) -> str:
    """Where a part is, in few words, with its coats as dots."""
    coats = ", ".join(
        f"{paper.signs.coat * min(made, 8)} {title}"
        for title, made in _made(run, marker).items()
        if made
    )
    if marker.questions and marker.here:
        words = "query open"
    elif marker.status in _WORDS:
        words = _WORDS[marker.status]
    elif marker.soak is not None:
        words = f"in, step {run.route.steps[marker.soak.step].number}"
    else:
        op = run.route.step_at(marker.index)
        words = f"step {op.step.number}" if op else "at a fork"
    return f"{words} {coats}".strip()


def _made(run: Run, marker: Marker) -> dict[str, int]:
    """How often each repeat was begun, such as coats, by the step of it that was done most."""
    found: dict[str, int] = {}
    for step, made in marker.coats.items():
        heads = [run.route.ops[at] for at in run.route.within[run.route.index[step]]]
        title = heads[-1].title if heads and isinstance(heads[-1], Head) else ""
        found[title] = max(found.get(title, 0), len(made))
    return found


def one_part(paper: Paper, run: Run, part: str, photos: Sequence[Photo] = ()) -> list[TextLine]:
    """Everything that is known of one part."""
    marker = run.markers[part]
    rows = paper.paragraph(state_of(paper, run, marker), first=" is       ", lead=Role.QUIET)
    for question in marker.questions:
        rows += paper.paragraph(question.says, first=" query    ", lead=Role.ACCENT)
    for value in sorted(marker.values.values(), key=lambda v: v.n):
        name = value.name.replace("_", " ")
        place = f" {value.place}" if value.place else ""
        said = value.word or f"{value.number} {value.unit}"
        rows.append(
            paper.line(
                "   ", paper.padded(f"{name}{place}", 34), said, (f"   entry {value.n}", Role.QUIET)
            )
        )
    for photo in photos:
        step = run.route.steps.get(photo.step)
        at = f", at step {step.number}" if step else ""
        rows += paper.paragraph(f"{photo.file}{at}", first=" photo    ", lead=Role.QUIET)
    return [paper.line((plain_ascii(r.text), Role.TEXT)) for r in rows] if paper.ascii else rows


def graduations(steps: Sequence[Step]) -> list[Graduation]:
    """The rule's marks: one a step, with the stage where one begins."""
    marks = []
    stage = None
    for step in steps:
        marks.append(Graduation(step.stage if step.stage != stage else ""))
        stage = step.stage
    return marks
