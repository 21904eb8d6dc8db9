"""The board, the books and what a procedure lacks as data for other programs, with their schemas.

A later program may add keys under the same number; one that changes what a key means raises it.
"""

import dataclasses
import datetime as dt
import json
from dataclasses import field
from typing import TYPE_CHECKING, Any, Final

from benchrun.alarms.words import clock_words
from benchrun.board import Board, look
from benchrun.data_schema import DIALECT, SchemaParts
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.shop.amounts import day_of
from benchrun.shop.book_row import BookFault
from benchrun.shop.books import read_books
from benchrun.shop.duties import duties
from benchrun.shop.folder import Shop
from benchrun.shop.people import people_sheet
from benchrun.shop_use.book_words import book_of, faults_of, thing_facts, things_of
from benchrun.shopkeeping.books import readiness
from benchrun.signing_keys import STATION, keys_of

if TYPE_CHECKING:
    from benchrun.board import OpenRun
    from benchrun.run.act_clocks import ActClock
    from benchrun.run.state import Run

_ALL_DAYS_MS: Final = 1 << 60
DATA_FORMAT: Final = 1
"""The number of the form of all that is printed as data here."""


@lean_dataclass(frozen=True, slots=True)
class ClockData:
    """A clock that an act ends, the most urgent first.

    Attributes:
        run: The run's id.
        kind: Which act ends it.
        parts: For which parts.
        act: The act, in words.
        when: By when, or how far past, in words of local time.
        signal: The word in front of a call; empty while it calls nobody.
        spent_ms: Milliseconds that count, as far as they are proven.
        spent_at_most_ms: The same as far as possible; null where nobody can know.
        opens_in_ms: Until the act may be done, 0 or less when it may; null: at once.
        harm_in_ms: Until harm is possible, negative when it may be done; null: none.
        earliest_ms: The least time; null: none.
        latest_ms: The most time; null: none.
    """

    run: str
    kind: str
    parts: tuple[str, ...]
    act: str
    when: str
    signal: str
    spent_ms: int
    spent_at_most_ms: int | None
    opens_in_ms: int | None
    harm_in_ms: int | None
    earliest_ms: int | None
    latest_ms: int | None


@lean_dataclass(frozen=True, slots=True)
class RunData:
    """An open run: where it is at, in words, and why it cannot be resumed, or empty."""

    id: str
    title: str
    at: str
    fault: str


@lean_dataclass(frozen=True, slots=True)
class AwayData:
    """Parts that are away: where, and by which run, open or closed."""

    run: str
    place: str
    parts: tuple[str, ...]


@lean_dataclass(frozen=True, slots=True)
class AttentionData:
    """Something that needs attention: what it is about, by which day, and whether it is late."""

    about: str
    words: str
    due: str | None
    late: bool


@lean_dataclass(frozen=True, slots=True)
class BoardData:
    """The board: `benchrun board --json`."""

    shop: str
    utc: str
    clocks: tuple[ClockData, ...]
    runs: tuple[RunData, ...]
    away: tuple[AwayData, ...]
    attention: tuple[AttentionData, ...]
    format: int = DATA_FORMAT


@lean_dataclass(frozen=True, slots=True)
class PlannedData:
    """Something to be done: when, in which run, what, for which parts, and why not sooner.

    Attributes:
        utc: When it begins.
        run: The run's id.
        minutes: How long it takes.
        hands_minutes: How much of that wants hands.
        late: What a missed window adds, or empty.
        guess: Whether its times are guessed.
    """

    utc: str
    run: str
    act: str
    parts: str
    minutes: int
    hands_minutes: int
    why: str
    late: str
    guess: bool


@lean_dataclass(frozen=True, slots=True)
class PlanData:
    """The plan, the first evening and the days after: `benchrun plan --json`."""

    shop: str
    utc: str
    work: tuple[PlannedData, ...]
    not_to_begin: tuple[str, ...]
    format: int = DATA_FORMAT


@lean_dataclass(frozen=True, slots=True)
class ReadyData:
    """The shortages that stand against a procedure: `benchrun ready PROCEDURE --json`.

    Attributes:
        not_listed: The books that list nothing, so that its needs were not held against them.
    """

    procedure: str
    title: str
    revision: int
    parts: int
    ready: bool
    lacking: tuple[str, ...]
    not_listed: tuple[str, ...]
    format: int = DATA_FORMAT


@lean_dataclass(frozen=True, slots=True)
class FaultData:
    """Something to put right in a file of the shop, with its place."""

    file: str
    line: int
    column: int
    text: str


@lean_dataclass(frozen=True, slots=True)
class KeyData:
    """A public key and its state, in words."""

    fingerprint: str
    state: str


@lean_dataclass(frozen=True, slots=True)
class PersonData:
    """Somebody who works, or worked, in the shop; `left` is the day, or null."""

    id: str
    name: str
    roles: tuple[str, ...]
    left: str | None
    keys: tuple[KeyData, ...]


@lean_dataclass(frozen=True, slots=True)
class PeopleData:
    """Who works here and signs: `benchrun people --json`."""

    people: tuple[PersonData, ...]
    station: tuple[KeyData, ...]
    faults: tuple[FaultData, ...]
    format: int = DATA_FORMAT


@lean_dataclass(frozen=True, slots=True)
class ThingData:
    """A thing of a book: its state in words, and all that is known of it by label."""

    id: str
    name: str
    state: str
    needs_attention: bool
    facts: dict[str, str] = field(default_factory=dict)


@lean_dataclass(frozen=True, slots=True)
class BookData:
    """A book of the shop: `benchrun instruments --json`, and so on."""

    book: str
    things: tuple[ThingData, ...]
    faults: tuple[FaultData, ...]
    format: int = DATA_FORMAT


_FORMS: Final[dict[str, type]] = {
    "board": BoardData,
    "plan": PlanData,
    "ready": ReadyData,
    "people-list": PeopleData,
    "book-list": BookData,
}


def listing_schema(name: str) -> dict[str, Any]:
    """The JSON Schema (2020-12) of what a command prints with `--json`.

    Args:
        name: board, plan, ready, people-list or book-list.
    """
    parts = SchemaParts(complete=True)
    return {"$schema": DIALECT, **parts.named(_FORMS[name]), "$defs": parts.definitions}


def json_text(data: Any) -> str:
    """One of the forms here as JSON."""
    return json.dumps(dataclasses.asdict(data), ensure_ascii=False, indent=2)


def board_data(shop: Shop, now: Moment) -> BoardData:
    """The board of a shop."""
    board, books = look(shop, now), read_books(shop)
    return BoardData(
        shop.title,
        now.utc,
        tuple(_clock(open_run, run, clock, now) for open_run, run, clock in board.clocks_at(now)),
        tuple(RunData(one.id, one.title, one.words, one.fault) for one in board.open_runs),
        tuple(_away(board)),
        tuple(
            AttentionData(
                duty.sort.value, duty.words, str(duty.due) if duty.due else None, duty.late
            )
            for duty in duties(books, day_of(now))
        ),
    )


def _clock(open_run: "OpenRun", run: "Run", clock: "ActClock", now: Moment) -> ClockData:
    words = clock_words(run, clock, now)
    return ClockData(
        open_run.id,
        clock.kind.value,
        clock.parts,
        words.act,
        words.when,
        words.signal,
        clock.spent.proven_ms,
        clock.spent.possible_ms,
        clock.opens_in,
        clock.harm_in,
        clock.least,
        clock.most,
    )


def _away(board: Board) -> list[AwayData]:
    sent = [
        AwayData(run.id, clock.vessel, clock.parts) for run in board.open_runs for clock in run.sent
    ]
    unplanned = [
        AwayData(run.id, place, parts) for run in board.open_runs for place, parts in run.away
    ]
    return [
        *sent,
        *unplanned,
        *(AwayData(one.run, one.place, one.parts) for one in board.left_away),
    ]


def plan_data(shop: Shop, now: Moment, *, soonest: bool | None = None) -> PlanData:
    """The plan of a shop's open runs; where two differ the one of the choice that is kept.

    Args:
        shop: The shop.
        now: The moment.
        soonest: Whether the plan that is done soonest is wanted; None: as it was chosen last.
    """
    from benchrun.plan.evening import plan_shop, prove_evening, soonest_chosen
    from benchrun.plan.solver import has_solver
    from benchrun.plan.told_plans import told_plan
    from benchrun.plan.words import first_evening, letters, not_tonight, rows_between

    told = told_plan(shop.path, now)
    evening = plan_shop(shop, look(shop, now).open_runs, now, rounds=20, last=told.begins)
    if has_solver() and evening.plan.starts:
        evening = prove_evening(evening)
    if told.soonest if soonest is None else soonest:
        evening = soonest_chosen(evening)
    runs = {letter: run for run, letter in letters(evening).items()}
    work = tuple(
        PlannedData(
            f"{dt.datetime.fromtimestamp(row.at // 1000, dt.UTC):%Y-%m-%dT%H:%M:%SZ}",
            runs[row.letter],
            row.words,
            row.parts,
            row.minutes,
            row.hands,
            row.why,
            row.late,
            row.guess,
        )
        for row in rows_between(evening, now.utc_ms, _ALL_DAYS_MS)
    )
    span = first_evening(evening)
    left = not_tonight(evening, max(span[0], now.utc_ms), span[1]) if span else []
    return PlanData(shop.title, now.utc, work, tuple(left))


def ready_data(shop: Shop, procedure: str, now: Moment, parts: int = 0) -> ReadyData:
    """The shortages that stand against beginning a procedure now; as `readiness_words`.

    Raises:
        BenchrunError: There is no such procedure, or it is not sound.
    """
    loaded, lacking, unlisted = readiness(shop, procedure, now, parts)
    many = parts or loaded.batch.least
    return ReadyData(loaded.id, loaded.title, loaded.revision, many, not lacking, lacking, unlisted)


def people_data(shop: Shop) -> PeopleData:
    """Everybody in the shop's list, those who left too, with their keys."""
    sheet = people_sheet(shop)
    people = tuple(
        PersonData(
            one.id, one.name, one.roles, str(one.left) if one.left else None, _keys(shop, one.id)
        )
        for one in sheet.rows
    )
    return PeopleData(people, _keys(shop, STATION), _faults(sheet.faults))


def _keys(shop: Shop, name: str) -> tuple[KeyData, ...]:
    return tuple(KeyData(key.fingerprint, words) for key, words in keys_of(shop, name))


def _faults(faults: tuple[BookFault, ...]) -> tuple[FaultData, ...]:
    return tuple(FaultData(one.file, one.line, one.column, one.text) for one in faults)


def book_data(shop: Shop, name: str, now: Moment, job: str = "") -> BookData:
    """A book of the shop.

    Args:
        shop: The shop.
        name: instruments, supplies, vessels, parts or jobs.
        now: The moment.
        job: Only the parts of this job; empty for all.

    Raises:
        BenchrunError: There is no such job.
    """
    book, books, today = book_of(name), read_books(shop), day_of(now)
    uses = look(shop, now).uses if name == "vessels" else ()
    of_job: set[str] = set()
    if job:
        books.jobs.named(job)
        of_job = {part.id for part in books.parts.rows if part.job == job}
    things = [
        thing
        for thing in things_of(book, books, today, uses)
        if not (job and name == "parts") or thing.id in of_job
    ]
    kept = {row.id for row in getattr(books, name).rows}
    return BookData(
        name,
        tuple(
            ThingData(
                thing.id,
                thing.name,
                thing.state,
                thing.amiss,
                dict(thing_facts(book, shop, books, thing.id, today)) if thing.id in kept else {},
            )
            for thing in things
        ),
        _faults(faults_of(book, books)),
    )
