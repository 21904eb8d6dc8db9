"""Answers of the index, as plain values; numbers are decimal strings, times UTC."""

from benchrun.lean_dataclass import lean_dataclass


@lean_dataclass(frozen=True, slots=True)
class StepWords:
    """A step as it is known from the latest revision that was worked."""

    procedure: str
    step: str
    number: int
    kind: str
    name: str
    text: str


@lean_dataclass(frozen=True, slots=True)
class ReadingRow:
    """One value of one part in one run; `value` is a number or the word of a finding."""

    run: str
    n: int
    utc: str
    part: str
    identity: str
    place: str
    value: str
    unit: str
    low: str
    high: str
    verdict: str
    tool: str
    corrected: bool
    rehearsal: bool
    step: StepWords


@lean_dataclass(frozen=True, slots=True)
class Trend:
    """Control limits of single values with moving range, and what lies outside them.

    Attributes:
        points: Which of the values, counted from 1 in the order of time, lie outside.
        notes: What to know before relying on it.
    """

    unit: str
    centre: str
    lower: str
    upper: str
    points: tuple[int, ...]
    notes: tuple[str, ...]


@lean_dataclass(frozen=True, slots=True)
class ReadingHistory:
    """One reading over all runs and parts.

    Attributes:
        step: Which.
        verdicts: How often each verdict or finding was given, over all of them.
        rows: The latest, the oldest of them first.
        trend: Over the numbers of `rows`; None where there are fewer than two, or several units.
    """

    step: StepWords
    verdicts: dict[str, int]
    rows: tuple[ReadingRow, ...]
    trend: Trend | None


@lean_dataclass(frozen=True, slots=True)
class PartRun:
    """One run of a part: how it ended there, and how its values stood.

    Attributes:
        signers: Who signed in the run, each with whether the shop knows the key; whether the
            signatures hold is told by verifying the run.
    """

    run: str
    procedure: str
    title: str
    revision: int
    began: str
    last: str
    identity: str
    status: str
    reason: str
    verdicts: dict[str, int]
    rehearsal: bool
    signers: tuple[str, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class PartLife:
    """A part's life: its runs, oldest first, and the values that stand at its last ones."""

    part: str
    runs: tuple[PartRun, ...]
    values: tuple[ReadingRow, ...]


@lean_dataclass(frozen=True, slots=True)
class StepTime:
    """How long a step took, by the latest times that it was done (milliseconds).

    Attributes:
        per: What the times are of: `a part`, `a reading`, `a load`, or empty for the whole batch.
        times: How many times are known.
        runs: In how many runs.
        rehearsed: Whether they are those of rehearsals, because no other are known.
    """

    step: StepWords
    per: str
    times: int
    runs: int
    rehearsed: bool
    least: int
    quarter: int
    median: int
    three_quarters: int
    most: int


@lean_dataclass(frozen=True, slots=True)
class RecalledReading:
    """A reading to be looked at again, because of the instrument it was taken with.

    Attributes:
        run, title: Which run, and the title of its procedure.
        n, utc: The entry, and when.
        number, reading: The step's place in the procedure, and what the value is called.
        decided: How the question that the value raised was answered; empty where it raised none.
        status, reason: How the part stands in that run, or how it ended there, and why.
    """

    run: str
    title: str
    n: int
    utc: str
    part: str
    identity: str
    place: str
    number: int
    reading: str
    value: str
    unit: str
    low: str
    high: str
    verdict: str
    corrected: bool
    rehearsal: bool
    decided: str
    status: str
    reason: str


@lean_dataclass(frozen=True, slots=True)
class RecallList:
    """The readings of one instrument since a day, all of them, the oldest first.

    Attributes:
        tool: What the log calls it.
        since: The day, or empty for all.
        runs, parts: In how many runs, and of how many parts of those runs.
        verdicts: How often each verdict was given.
    """

    tool: str
    since: str
    total: int
    runs: int
    parts: int
    verdicts: dict[str, int]
    rows: tuple[RecalledReading, ...]


@lean_dataclass(frozen=True, slots=True)
class DeviationRow:
    """One kind of deviation at one step: how often, when last, and the last reason given."""

    step: StepWords | None
    what: str
    times: int
    runs: int
    last: str
    reason: str
    run: str
