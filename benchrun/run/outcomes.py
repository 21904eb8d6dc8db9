"""Pieces of entries: parts, tools, values as given, and what came of an act for one part."""

import enum
from collections.abc import Mapping
from dataclasses import field
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.run.state import Origin, Question, SumInput, ToolCount, Use

__all__ = [
    "AsideFile",
    "Carried",
    "CarriedPart",
    "FigureSpec",
    "Given",
    "NoticeEnd",
    "Origin",
    "Outcome",
    "PartSpec",
    "Position",
    "Relimit",
    "Revision",
    "Ruling",
    "SumInput",
    "Tool",
    "ToolCount",
    "Use",
    "WindowTimes",
]


@lean_dataclass(frozen=True, slots=True)
class PartSpec:
    """A part as it joins a run.

    Attributes:
        part: Its tag.
        size: How much room it takes.
        identity: Its cast or stamped numbers.
        kind: Which of the procedure's kinds of part it is, or empty.
        pair: The number of the pair that it belongs to, or empty.
    """

    part: str
    size: int = 1
    identity: str = ""
    kind: str = ""
    pair: str = ""


@lean_dataclass(frozen=True, slots=True)
class FigureSpec:
    """A figure of the procedure as a run knows it.

    Attributes:
        name: What formulas call it.
        typed: The text typed, or as the book has it; empty where the run goes on without it.
        number: The number in `unit`, or None without it.
        document: Which manual or sheet says it.
        page: Where in it.
        book: The row of the shop's books that it was taken from: `job trailer`; empty where it was
            typed during the run.
        who: Who entered it in that book.
        day: On which day.
        odd: Whether it lies outside the band that the procedure calls plausible.
    """

    name: str
    typed: str = ""
    number: str | None = None
    unit: str = ""
    document: str = ""
    page: str = ""
    book: str = ""
    who: str = ""
    day: str = ""
    odd: bool = False


@lean_dataclass(frozen=True, slots=True)
class Tool:
    """The instrument of a reading, as it was on that day.

    Attributes:
        uncertainty: Its expanded uncertainty in the reading's unit; empty when it is not known.
        about: What it is and when it was calibrated, in words.
        misgivings: Why a reading with it needs a reason, such as `is past its calibration date`.
        calibrated: The day of its calibration, `unknown` where the book gives none; empty for an
            instrument that the shop's book does not hold, so that nobody can say which it was.
        until: The last day on which that is good, or empty.
        resolution: Its smallest step in the reading's unit; empty when it is not known.
    """

    name: str
    uncertainty: str = ""
    about: str = ""
    misgivings: tuple[str, ...] = ()
    calibrated: str = ""
    until: str = ""
    resolution: str = ""


@lean_dataclass(frozen=True, slots=True)
class Given:
    """A value as it was given: the text typed, the number in its unit, or the finding's word."""

    typed: str = ""
    number: str | None = None
    unit: str = ""
    word: str = ""
    doubt: str = ""


@lean_dataclass(frozen=True, slots=True)
class Revision:
    """A value that a correction changes, directly or because it was worked out from one."""

    n: int
    part: str
    number: str | None = None
    place: str = ""
    word: str = ""
    doubt: str | None = None


@lean_dataclass(frozen=True, slots=True)
class Relimit:
    """The limits of a value that are others since a correction, and how it is ruled on by them."""

    n: int
    part: str
    place: str = ""
    low: str = ""
    high: str = ""
    verdict: str = ""


@lean_dataclass(frozen=True, slots=True)
class Ruling:
    """How a correction judges an earlier decision today."""

    about: str
    today: str


@lean_dataclass(frozen=True, slots=True)
class WindowTimes:
    """The window that a start has kept, or not, where its limits depend on something.

    Attributes:
        ruling: in time, early, late and so on.
        least, most: Its limits in milliseconds.
        since, since_most: Proven and possible time that counts against each.
        settled: The ruling that a person has answered, so that the step could start.
    """

    ruling: str
    least: int | None
    most: int | None
    since: tuple[int, int | None]
    since_most: tuple[int, int | None]
    settled: str = ""


@lean_dataclass(frozen=True, slots=True)
class CarriedPart:
    """A part in another run: its result there, and the values that are taken over from it."""

    result: str
    values: Mapping[str, Given] = field(default_factory=dict)


@lean_dataclass(frozen=True, slots=True)
class Carried:
    """Another run that carried a procedure out for parts of this one.

    Attributes:
        run: Its id.
        procedure, revision: What it followed.
        head: SHA-256 of the last line of its log.
        parts: How each of the parts came out of it.
    """

    run: str
    procedure: str
    revision: int
    head: str
    parts: Mapping[str, CarriedPart] = field(default_factory=dict)


@lean_dataclass(frozen=True)
class Outcome:
    """The outcome of an entry for one part; whatever does not apply is left out.

    Attributes:
        value: The value written.
        verdict: inside, outside, in doubt; in time, early, late, ...; too soon.
        low, high: The limits judged by, in the value's unit.
        least, most: The limits of a dwell in milliseconds.
        aim, every: Its aim and its interval of tending, where they depend on something.
        window: The window of a step that starts, where its limits depend on something.
        undone: The steps that are left out, as they were not done while the dwell ran.
        origins: What limits came from that are no mere constants.
        proven, possible: The elapsed time in milliseconds; without `possible` it is unbounded.
        asks: Questions raised.
        settles: The question answered.
        withdraws: Questions that no longer stand.
        falls: Which way each fork fell on the way to the next step, `key=way`.
        revised, rulings: What a correction changed and how it judges what hung on it. At a lift
            rulings tell what was asked about its limits while it was in.
        relimited: At a correction, values that are judged by other limits now.
    """

    value: Given | None = None
    verdict: str = ""
    low: str = ""
    high: str = ""
    least: int | None = None
    most: int | None = None
    proven: int | None = None
    possible: int | None = None
    asks: tuple[Question, ...] = ()
    settles: str = ""
    withdraws: tuple[str, ...] = ()
    falls: tuple[str, ...] = ()
    revised: tuple[Revision, ...] = ()
    rulings: tuple[Ruling, ...] = ()
    aim: int | None = None
    every: int | None = None
    window: WindowTimes | None = None
    origins: tuple[Origin, ...] = ()
    relimited: tuple[Relimit, ...] = ()
    undone: tuple[str, ...] = ()


NOTHING: Final = Outcome()
"""Nothing came of an entry for a part; most entries have parts of which no more is to be told."""


@lean_dataclass(frozen=True, slots=True)
class Remark:
    """One thing that the record held of parts when they were signed for.

    Attributes:
        of: The entry that tells it.
        what: In words: a deviation, a time not kept, a value outside, a doubt, an open question.
        parts: Of which parts; none: of the whole run.
        against: The words of the statement that it contradicts, or empty.
    """

    of: int
    what: str
    parts: tuple[str, ...] = ()
    against: str = ""


class Position(enum.StrEnum):
    """The treatment of the position that a picture may tell: where it was taken.

    `IN_PART`: it was taken out where it was found, but something in the picture could not be looked
    into. `NOT_LOOKED_FOR`: the picture's form is unknown or broken. `UNSAID` in older logs.
    """

    UNSAID = ""
    NONE_FOUND = "none found"
    TAKEN_OUT = "taken out"
    IN_PART = "taken out in part"
    KEPT = "kept as asked"
    NOT_LOOKED_FOR = "not looked for"

    @property
    def words(self) -> str:
        """The whole of it in words, as a record tells it; empty where nothing was said."""
        return f"position {self.value}" if self.value else ""


class NoticeEnd(enum.StrEnum):
    """How the notice of a witness point ended: somebody came, sent word, or it ran out."""

    CAME = "came"
    NOT_COMING = "not coming"
    RAN_OUT = "ran out"


@lean_dataclass(frozen=True, slots=True)
class AsideFile:
    """A file set aside beside the log: its name, digest and length, None where unknown."""

    file: str
    sha256: str | None
    bytes: int | None
