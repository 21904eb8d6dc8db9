"""The shape of what stands around the steps of a procedure file: cautions, needs, batch, close."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from benchrun.procedure.scalars import (
    ONE_OR_MORE,
    Id,
    Ids,
    Line,
    Lines,
    NameText,
    UnitText,
    Whole,
    YesNo,
)


def file_key(field: str) -> str:
    """The key of the file that a field of a shape holds."""
    return field.removesuffix("_").replace("_", " ")


class Shape(BaseModel):
    """A map of the file; a field's key is its name with blanks for underscores."""

    # What checks a map is built once for a whole procedure: built for each shape by itself, it took
    # a fifth of what looking at an open run did.
    model_config = ConfigDict(
        extra="forbid", frozen=True, alias_generator=file_key, defer_build=True
    )


class CautionShape(Shape):
    """A caution: what is dangerous, what it does, how to keep out of it."""

    danger: Line | None = Field(None, description="Will kill or injure for life if not avoided.")
    warning: Line | None = Field(None, description="Can kill or injure for life if not avoided.")
    caution: Line | None = Field(None, description="Can cause minor injury if not avoided.")
    notice: Line | None = Field(None, description="Harms the work, not a person.")
    id: Id | None = Field(None, description="What steps call it, to show it again before them.")
    then: Line | None = Field(None, description="What happens to whoever does not avoid it.")
    avoid: Line | None = Field(None, description="How to avoid it.")
    codes: Lines = Field([], description="Hazard and precautionary codes: H314, P280.")
    source: Line | None = Field(None, description="Where it is known from.")


class InstrumentShape(Shape):
    """An instrument that is needed."""

    instrument: Line = Field(description="Its name in the trade: bore gauge.")
    measures: Line | None = Field(None, description="What it measures.")
    range: Line | None = Field(None, description="From what to what: 50 to 160 mm.")
    resolution: Line | None = Field(None, description="Its resolution: 0.001 mm.")
    uncertainty: Line | None = Field(None, description="Its expanded uncertainty: 0.003 mm.")
    calibrated: YesNo = Field(False, description="Whether its calibration must be in date.")


class ToolShape(Shape):
    """A tool of which several are needed."""

    tool: Line = Field(description="Its name.")
    count: Whole = Field(1, description="How many.")


class SupplyShape(Shape):
    """Something that is used up."""

    supply: Line = Field(description="Its name.")
    amount: Line | None = Field(None, description="How much: 2 l.")


def _need_form(value: object) -> str:
    return "<map>" if isinstance(value, dict) else "<line>"


Instrument = Annotated[
    Annotated[InstrumentShape, Tag("<map>")] | Annotated[Line, Tag("<line>")],
    Discriminator(_need_form),
]
Tool = Annotated[
    Annotated[ToolShape, Tag("<map>")] | Annotated[Line, Tag("<line>")], Discriminator(_need_form)
]
Supply = Annotated[
    Annotated[SupplyShape, Tag("<map>")] | Annotated[Line, Tag("<line>")], Discriminator(_need_form)
]


class NeedsShape(Shape):
    """The needs of a procedure."""

    protection: Lines = Field([], description="Protection for people.")
    tools: list[Tool] = Field([], description="Tools.")
    count_back: YesNo = Field(
        False, description="Whether the tools are counted out at the start and back at the end."
    )
    instruments: list[Instrument] = Field([], description="Instruments.")
    supplies: list[Supply] = Field([], description="What is used up.")
    before_start: Lines = Field([], description="Conditions that block the start.")


class BatchShape(Shape):
    """The kind of part, and how many may be worked at once."""

    part: Line = Field(description="What one part is.")
    at_least: Whole = Field(1, description="How few.")
    at_most: Whole = Field(60, description="How many.")
    identity: Line | None = Field(None, description="What tells one from another.")
    pair: Ids = Field(
        [], description="Kinds that belong together, one part of each: [left, right]."
    )


class KindShape(Shape):
    """A kind of part in a batch, with what differs from kind to kind."""

    title: Line = Field(description="What a part of this kind is called: left lever.")
    values: dict[NameText, Line] = Field(
        {}, description="What is of its own: a name, and a quantity or a word."
    )


class FigureShape(Shape):
    """A quantity out of the manual, a data sheet or an instrument's paper."""

    ask: Line = Field(description="What is asked for, in a line.")
    unit: UnitText = Field(description="The unit it is asked for in.")
    plausible: Line | None = Field(
        None, description="The band it lies in: 15 mm to 40 mm; outside it is warned of."
    )
    from_: Line = Field("job", description="Whose it is: job, supply NAME or instrument NAME.")
    without: Literal["go on"] | None = Field(
        None, description="go on: the run may go on without it."
    )
    source: Line | None = Field(None, description="Where the band is known from.")


class VesselShape(Shape):
    """A tub, an oven, a rail."""

    title: Line = Field(description="Its name.")
    holds: Whole | None = Field(None, description="How many parts fit at once.")
    heated: YesNo = Field(False, description="Whether it is hot: its dwells end attended.")


class NextShape(Shape):
    """A procedure that the parts go through next."""

    procedure: Id = Field(description="Its id.")
    revision: Whole | None = Field(None, description="Its revision, where only one will do.")


def _next_form(value: object) -> str:
    return "<procedure>" if isinstance(value, dict) else "<line>"


Next = Annotated[
    list[
        Annotated[
            Annotated[NextShape, Tag("<procedure>")] | Annotated[Line, Tag("<line>")],
            Discriminator(_next_form),
        ]
    ],
    ONE_OR_MORE,
]


class CloseShape(Shape):
    """The work that remains when the steps are done."""

    restore: Lines = Field([], description="What must be put back.")
    follow_on: Next = Field([], description="What comes next: words, or a procedure by its id.")
    released_by: Line | None = Field(None, description="The role whose signature ends the run.")
    signs: Line | None = Field(None, description="What that signature means.")
