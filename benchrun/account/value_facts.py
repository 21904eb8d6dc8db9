"""Facts of the values of a run: measured, found, corrected, worked out, taken from a manual."""

from benchrun.lean_dataclass import lean_dataclass


@lean_dataclass(frozen=True, slots=True)
class LimitOrigin:
    """Where a limit comes from.

    Attributes:
        of: `low`, `high`, or `both` where they come from the same.
        kind: `procedure` (a number in it), `standard` (a fit class, or a number whose source there
            is a standard), `figure` (of a manual or a sheet, with its page), `typed` (somebody
            typed a number that it rests on), or `worked out` (from what was measured).
        words: The same for people, with the source that the procedure gives.
    """

    of: str
    kind: str
    words: str


@lean_dataclass(slots=True)
class ReadingFacts:
    """One value of one part: measured, or worked out.

    Attributes:
        n: The entry that wrote it; with `part` and `place` it names the value for good.
        source: `reading` or `work out`.
        value, verdict, low, high: As they stand now.
        first, first_verdict: As they stood before any correction; equal to the above without one.
        uncertainty: The instrument's expanded uncertainty, in `unit`.
        corrected_by: The entry that changed it last, or None.
        correction: The reason of that correction.
        taken_back: Whether the entry was a mis-tap that was taken back.
        batch: Whether the value was read once for all parts of the entry.
        characteristic: Whether it says how the part is, and not how the work or a gauge was.
        named: Whether the instrument is one of the shop's book, so that it can be followed.
        about: What the log says of the instrument.
        calibrated, until: The day of its calibration, `unknown` where the book gave none, and the
            last day on which that is good; empty where no instrument of the book is named.
        resolution: Its smallest step, in `unit`; empty where it is not known.
        misgivings: Why a reading with it needed a reason.
        reason: The reason given with the entry.
        origins: Where the limits come from.
        shown: The value as it was measured, for people: to the smallest step of the instrument, or
            as far as the uncertainty lets it be known.
    """

    n: int
    utc: str
    by: str
    part: str
    identity: str
    step: str
    number: int
    text: str
    name: str
    place: str
    source: str
    typed: str
    value: str
    unit: str
    low: str
    high: str
    verdict: str
    first: str
    first_verdict: str
    instrument: str = ""
    uncertainty: str = ""
    corrected_by: int | None = None
    correction: str = ""
    taken_back: bool = False
    batch: bool = False
    characteristic: bool = False
    named: bool = False
    about: str = ""
    calibrated: str = ""
    until: str = ""
    resolution: str = ""
    misgivings: tuple[str, ...] = ()
    reason: str = ""
    origins: tuple[LimitOrigin, ...] = ()
    shown: str = ""


@lean_dataclass(slots=True)
class FindingFacts:
    """One finding of an inspection for one part; `first` is what was said before a correction."""

    n: int
    utc: str
    by: str
    part: str
    step: str
    number: int
    text: str
    name: str
    found: str
    first: str
    corrected_by: int | None = None
    correction: str = ""
    taken_back: bool = False


@lean_dataclass(frozen=True, slots=True)
class CorrectionFacts:
    """A value that was put right.

    Attributes:
        n: The correction.
        of: The entry that the value stands in.
        taken_back: The entry that took the correction back, or None.
    """

    n: int
    utc: str
    by: str
    of: int
    part: str
    number: int | None
    name: str
    place: str
    was: str
    now: str
    reason: str
    taken_back: int | None = None


@lean_dataclass(frozen=True, slots=True)
class SumFacts:
    """A worked-out value with the numbers put in, for parts with the same numbers."""

    n: int
    number: int
    text: str
    name: str
    parts: tuple[str, ...]
    formula: str
    filled: str
    result: str
    was: str = ""
    verdict: str = ""
    source: str = ""


@lean_dataclass(frozen=True, slots=True)
class FigureFacts:
    """A figure of the procedure as a run had it.

    Attributes:
        value: Its number in `unit` as it stands now; empty where the run went on without it.
        first: Its number before any correction.
        document, page: Which manual or sheet says it, and where.
        book: The row of the shop's books that it was taken from; empty where it was typed.
        who, day: Who entered it in that book, and when.
        odd: Whether it lies outside the band that the procedure calls plausible.
        corrected_by, correction: The entry that changed it last, and why.
    """

    n: int
    utc: str
    by: str
    name: str
    text: str
    value: str
    unit: str
    first: str
    document: str
    page: str
    book: str
    who: str
    day: str
    odd: bool
    corrected_by: int | None = None
    correction: str = ""
