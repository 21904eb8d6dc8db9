"""The blocks of the board: clocks, open runs, the plan, what can be begun."""

from collections.abc import Mapping, Sequence
from datetime import tzinfo
from typing import TYPE_CHECKING, Final

from benchrun.board import Board, OpenRun
from benchrun.moment import Moment
from benchrun.part_names import part_names
from benchrun.screen.board.host import BoardHost
from benchrun.screen.lessons import Learned, lesson_rows
from benchrun.screen.page import TIGHT, Block, block
from benchrun.screen.text_line import Paper, Role, TextLine
from benchrun.screen.theme import Appearance
from benchrun.shop.folder import Listed
from benchrun.text import count

if TYPE_CHECKING:
    from benchrun.plan.words import PlannedRow
    from benchrun.run.act_clocks import ActClock
    from benchrun.shop.hours import Hours

WIDEST: Final = 120
"""How wide the board is at most: what belongs together stands together on a wider paper too."""


_SINCE: Final = 24
"""Beside its title and its words a row of an open run takes so many cells at most."""


def heading(paper: Paper, text: str) -> TextLine:
    """A heading of the board."""
    return paper.line(" ", (text.upper(), Role.QUIET))


def running(board: Board, now: Moment) -> "list[tuple[OpenRun, ActClock]]":
    """Every load, what is away and the windows that nobody has answered, the most urgent first."""
    clocks = board.clocks_at(now)
    if not clocks:
        return []
    from benchrun.run.act_clocks import ClockKind

    return [
        (one, clock)
        for one, _, clock in clocks
        if clock.kind is not ClockKind.TEND
        and not (clock.kind is ClockKind.WINDOW and (clock.accepted or _free(clock)))
    ]


def _free(clock: "ActClock") -> bool:
    """Whether a window keeps nobody waiting and closes never: a cure that has ended."""
    return clock.harm_in is None and (clock.opens_in is None or clock.opens_in <= 0)


def clock_block(
    paper: Paper,
    clocks: "Sequence[tuple[OpenRun, ActClock]]",
    host: BoardHost,
    numbers: Mapping[str, int],
    most: int,
) -> Block:
    """On the clock: the most urgent in large digits where there is room, the others in rows.

    What would end or close while nobody is in the shop says so below its row.

    Args:
        paper: What it is drawn on.
        clocks: Every clock with its run, the most urgent first.
        host: The board.
        numbers: The number that opens a run, by its id; it stands before its clocks.
        most: How many clocks stand there.
    """
    if not clocks:
        return block([])
    now, zone = host.now(), host.look.zone
    many = len({one.id for one, _ in clocks}) > 1
    rows, hours = [heading(paper, "on the clock")], host.hours
    for place, (one, clock) in enumerate(clocks[:most]):
        if one.run is None:
            continue
        lead = _number(paper, numbers.get(one.id) if many else None)
        if paper.large and not place:
            title = f"{one.title}: " if many else ""
            rows += _large(paper, one, clock, now, zone, lead, title)
            rows += [paper.line()] if len(clocks) > 1 else []
        else:
            from benchrun.screen.widgets.clock import act_clock_row

            rows.append(act_clock_row(paper, one.run, clock, now, zone=zone, lead=lead))
        if hours.known:
            rows += _dark_rows(paper, clock, hours, now, zone)
    if len(clocks) > most:
        rows.append(paper.line("   ", (f"and {len(clocks) - most} more", Role.QUIET)))
    return block(rows)


def _number(paper: Paper, number: int | None) -> TextLine:
    """The number of a run in the column before its rows."""
    return paper.line(" ", (f"{number} ", Role.ACCENT)) if number else paper.line("   ")


def plan_block(paper: Paper, planned: "Sequence[PlannedRow]", most: int) -> Block:
    """The next rows of the plan with their times; the block gives way where there is no room."""
    if not planned or not most:
        return block([])
    rows = [heading(paper, "next by the plan")]
    for one in planned[:most]:
        lead = paper.line(" ", (one.at, Role.STRONG), "  ")
        rows.append(lead + paper.line(paper.fitted(one.words, paper.width - lead.width - 1)))
    return block(rows, rank=TIGHT)


def _dark_rows(
    paper: Paper, clock: "ActClock", hours: "Hours", now: Moment, zone: tzinfo | None
) -> list[TextLine]:
    from benchrun.alarms.dark import dark_words

    words = dark_words(clock, hours, now, zone)
    return paper.paragraph(words, first="      ", role=Role.ACCENT) if words else []


def _large(
    paper: Paper,
    one: OpenRun,
    clock: "ActClock",
    now: Moment,
    zone: tzinfo | None,
    lead: TextLine,
    title: str,
) -> list[TextLine]:
    """The most urgent clock in large digits, to be read from afar."""
    from benchrun.screen.widgets.clock import large_clock

    if one.run is None:
        return []
    words = f"{clock.step.number}  {clock.step.text}"
    if clock.load is None:
        words = f"{part_names(clock.parts, one.run.parts)}: {words}"
    words = paper.fitted(f"{title}{words}", paper.width - 5)
    rows = [lead + paper.line((words, Role.STRONG))]
    for piece in large_clock(paper, one.run, clock, now, zone):
        rows += [paper.line()] * piece.gap + list(piece.lines)
    return rows


def words_now(run: OpenRun, now: Moment) -> tuple[str, str]:
    """Where an open run stands at this moment, in full and in few words.

    What is due in so many minutes is due sooner now.
    """
    if run.run is None or run.fault:
        return (run.words,) * 2
    from benchrun.board import stands_in_both

    return stands_in_both(run.run, now)


def open_block(paper: Paper, runs: Sequence[OpenRun], now: Moment, look: Appearance) -> Block:
    """Open runs with where they stand: two rows each, or one where there is no room."""
    if not runs:
        return block([])
    head = heading(paper, "under way")
    full, short = [head], [head]
    width = 34 if 80 <= paper.width < WIDEST else min(48, paper.width * 2 // 5)
    if paper.width > WIDEST:
        longest = max(paper.line(one.title).width for one in runs)
        width = max(width, min(longest, paper.width * 2 // 5))
    told = [words_now(one, now) for one in runs]
    right = min(paper.width, WIDEST)
    end = min(paper.width, max(WIDEST, width + _SINCE + _longest(paper, told)))
    for number, (one, (words, few)) in enumerate(zip(runs, told, strict=True), 1):
        role = Role.QUIET if one.fault else Role.ACCENT
        worked = look.since(_at(one, now), now) if one.since_ms else ""
        since = paper.line((worked, Role.QUIET), " ")
        lead = paper.line(" ", (f"{number} ", role))
        room = right - since.width - 8
        title = lead + paper.line((paper.fitted(one.title, room), Role.STRONG))
        full.append(paper.between(title, since, width=right))
        full += paper.paragraph(words, first="   ", most=2)
        brief = lead + paper.line(paper.padded(one.title, width), " ")
        brief += paper.line(paper.fitted(few, end - brief.width - since.width - 4))
        short.append(paper.between(brief, since, width=end))
    return block(full, short=short, rank=TIGHT - 1)


def _longest(paper: Paper, told: Sequence[tuple[str, str]]) -> int:
    """How many cells the longest of the few words of open runs takes."""
    return max(paper.line(few).width for _, few in told)


def _at(run: OpenRun, now: Moment) -> Moment:
    return Moment(run.since_ms, 0, now.boot, sync=now.sync)


def begin_block(
    paper: Paper,
    begin: Sequence[Listed],
    first: int,
    more: Sequence[OpenRun | Listed],
    host: BoardHost,
) -> Block:
    """Procedures to begin, and in a large window the names of those behind the last number.

    Args:
        paper: What it is drawn on.
        begin: The procedures that have a number.
        first: The number of the first of them.
        more: What stands behind the number 9.
        host: The board.
    """
    if not begin and more:
        ready = sum(map(len, host.ready.values()))
        words = f"begin one of {count(len(host.board.begin), 'procedure')}"
        words += f", {count(ready, 'part')} ready" if ready else ""
        return block([paper.line(" ", ("9 ", Role.STRONG), (words, Role.QUIET))])
    rows = [heading(paper, "begin")]
    rows += [_begin_row(paper, number, one, host) for number, one in enumerate(begin, first)]
    if not begin:
        rows.append(paper.line("   ", ("no procedures here", Role.QUIET)))
    if not more:
        return block(rows)
    words = f"more, {len(begin)} of {len(begin) + len(more)} shown"
    short = [*rows, paper.line(" ", ("9 ", Role.STRONG), (words, Role.QUIET))]
    if not paper.large:
        return block(short)
    names = f"the other {len(more)}: {'; '.join(one.title for one in more)}"
    rows += paper.paragraph(names, first=" 9 ", role=Role.QUIET, lead=Role.STRONG, most=4)
    return block(rows, short=short, rank=TIGHT)


def _begin_row(paper: Paper, number: int, one: Listed, host: BoardHost) -> TextLine:
    """A procedure: its title, its edition as far as there is room, and the parts it waits for."""
    waiting, after = len(host.ready.get(one.id, ())), len(host.follow_on.get(one.id, ()))
    words = f"  {count(waiting, 'part')} ready" if waiting else ""
    words = words or (f"  may follow for {count(after, 'part')}" if after else "")
    title = paper.fitted(one.title, paper.width - 6 - len(words))
    line = paper.line(" ", (f"{number} ", Role.STRONG), title)
    edition = _edition(one, paper.width - line.width - len(words) - 3)
    line += paper.line((edition, Role.QUIET)) if edition else paper.line("")
    return line + paper.line((words, Role.ACCENT)) if words else line


def _edition(listed: Listed, room: int) -> str:
    """As much of the edition of a procedure as there is room for: its revision goes first."""
    words = listed.edition.split(", ")
    while words and len(", ".join(words)) > room:
        words.pop()
    return f"   {', '.join(words)}" if words else ""


def lessons_block(paper: Paper, lessons: Sequence[Learned], now: Moment) -> Block:
    """Lessons added lately; they give way to everything else."""
    if not lessons:
        return block([])
    shown = lessons[: 5 if paper.large else 2]
    rows = [heading(paper, "new lessons"), *lesson_rows(paper, shown, now, first="   ")]
    return block(rows, rank=5)
