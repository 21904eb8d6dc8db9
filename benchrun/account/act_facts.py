"""Facts of what was done in a run: acts, tools counted, dwells, witnesses, rounds, supplies."""

from benchrun.lean_dataclass import lean_dataclass


@lean_dataclass(slots=True)
class ActFacts:
    """One entry as the account of the work tells it.

    Attributes:
        kind: The kind of the entry.
        number: The number of its step, None where it has none.
        text: What was done, in the words of the procedure where it has a step.
        outcomes: What came of it, for which parts.
        reason: Why it was done so.
        proved: Whether `by` was proved by a key, and not only chosen on the screen.
    """

    n: int
    utc: str
    by: str
    kind: str
    step: str
    number: int | None
    stage: str
    text: str
    parts: tuple[str, ...]
    outcomes: tuple[tuple[str, tuple[str, ...]], ...] = ()
    reason: str = ""
    taken_back: bool = False
    proved: bool = False


@lean_dataclass(frozen=True, slots=True)
class ConditionFacts:
    """A condition that was checked before the start; by whom and when, which older logs lack."""

    says: str
    by: str = ""
    utc: str = ""


@lean_dataclass(slots=True)
class ToolFacts:
    """A tool that was counted out before the start, and back behind the last step.

    Attributes:
        out, back: How many; `back` is None where nobody counted them back.
        missing: How many of those that came back lack.
        n: The entry that counted them back, or None.
        reason: Why the work was ended although some lack.
    """

    tool: str
    out: int
    out_by: str
    out_utc: str
    back: int | None = None
    back_by: str = ""
    back_utc: str = ""
    missing: int = 0
    n: int | None = None
    reason: str = ""


@lean_dataclass(frozen=True, slots=True)
class TendFacts:
    """One tending of a load: the entry, when, by whom."""

    n: int
    utc: str
    by: str


@lean_dataclass(slots=True)
class DwellFacts:
    """One load in a vessel, or away; a load that was lifted in pieces has a row a piece.

    Attributes:
        n_in, n_out: The entries that began and ended it; `n_out` is None while it is still in.
        where: The vessel or the place, or empty.
        least, most, aim: The limits as they were judged by.
        proven, possible: How long it was; `possible` is None where nobody can say.
        tended: How often it was tended.
        tendings: When it was, and by whom.
    """

    n_in: int
    n_out: int | None
    step: str
    number: int
    text: str
    parts: tuple[str, ...]
    where: str
    began: str
    ended: str
    least: int | None
    most: int | None
    aim: int | None
    proven: int | None = None
    possible: int | None = None
    verdict: str = ""
    tended: int = 0
    taken_back: bool = False
    tendings: tuple[TendFacts, ...] = ()


@lean_dataclass(frozen=True, slots=True)
class WitnessFacts:
    """A witness point: somebody was told, and how the notice ended for these parts.

    Attributes:
        n, utc, by: The entry that told them.
        notice: How long they were given, in milliseconds.
        n_end, ended, ended_by: The entry that ended it; None and empty while they are waited for.
        end: `came`, `not coming`, `ran out`; empty while they are waited for.
        name, behalf: Who came or sent word, and on whose behalf.
        words: The whole of how it ended in words.
    """

    n: int
    utc: str
    by: str
    step: str
    number: int
    text: str
    parts: tuple[str, ...]
    notice: int | None
    n_end: int | None = None
    ended: str = ""
    ended_by: str = ""
    end: str = ""
    name: str = ""
    behalf: str = ""
    words: str = ""
    taken_back: bool = False


@lean_dataclass(frozen=True, slots=True)
class RepeatFacts:
    """How often parts went round a repeat, and when.

    Attributes:
        parts: Parts with the same history.
        rounds: For each time round: when its last step was done, and by whom.
    """

    title: str
    number: int
    text: str
    parts: tuple[str, ...]
    rounds: tuple[tuple[str, str], ...]


@lean_dataclass(frozen=True, slots=True)
class SupplyFacts:
    """The use of a supply by an act.

    Attributes:
        amount: How much, in `unit`, as it stands now; empty where it is not known.
        first: How much before any correction.
        name: The id of the tin, bottle or bath in the shop's book; empty where there is none.
        about: Its lot and dates on that day, in words.
        misgivings: Why it was not good for this.
        back: Whether it went back instead, to be used again.
        taken_back: Whether the act was a mis-tap and was taken back.
    """

    n: int
    utc: str
    by: str
    number: int
    text: str
    parts: tuple[str, ...]
    supply: str
    amount: str
    unit: str
    first: str
    name: str
    about: str
    misgivings: tuple[str, ...]
    back: bool
    taken_back: bool
