"""The shape of a procedure file: which keys stand where, and what each means to its author.

The descriptions are what an editor shows beside a key.
"""

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import Discriminator, Field, Tag

from benchrun.procedure.header_shapes import (
    BatchShape,
    CautionShape,
    CloseShape,
    FigureShape,
    KindShape,
    NeedsShape,
    Shape,
    VesselShape,
)
from benchrun.procedure.scalars import (
    ONE_OR_MORE,
    AskedBy,
    Day,
    Drawing,
    FitText,
    FormulaText,
    Hours,
    Id,
    Ids,
    Line,
    Lines,
    NameText,
    ParameterText,
    ResultText,
    Spot,
    Time,
    TimeText,
    Together,
    UnitText,
    Ways,
    Whole,
    YesNo,
)


def _caution_form(value: object) -> str:
    return "<name>" if isinstance(value, str) else "<caution>"


StepCaution = Annotated[
    Annotated[Id, Tag("<name>")] | Annotated[CautionShape, Tag("<caution>")],
    Discriminator(_caution_form),
]


class FirstShape(Shape):
    """Steps that make good what came too late."""

    first: "list[Item]" = Field(description="The steps to do before the step itself.")
    at_most: Whole = Field(description="How many times a part may take this way.")


def _late_form(value: object) -> str:
    return "<first>" if isinstance(value, dict) else "<way>"


LateWays = Annotated[
    list[
        Annotated[
            Annotated[FirstShape, Tag("<first>")] | Annotated[Line, Tag("<way>")],
            Discriminator(_late_form),
        ]
    ],
    ONE_OR_MORE,
]


class TableShape(Shape):
    """A quantity by a reading, linear between the rows and refused outside; or by a finding."""

    by: AskedBy = Field(description="The reading, finding or way it depends on; or kind.")
    table: dict[str, ParameterText] = Field(
        description="A value of the reading, a finding or a kind, and the quantity at it."
    )
    source: Line | None = Field(None, description="Where the table is known from.")


def _parameter_form(value: object) -> str:
    return "<table>" if isinstance(value, dict) else "<quantity>"


ParameterShape = Annotated[
    Annotated[ParameterText, Tag("<quantity>")] | Annotated[TableShape, Tag("<table>")],
    Discriminator(_parameter_form),
]


TimeShape = Annotated[
    Annotated[TimeText, Tag("<quantity>")] | Annotated[TableShape, Tag("<table>")],
    Discriminator(_parameter_form),
]


FitShape = Annotated[
    Annotated[FitText, Tag("<quantity>")] | Annotated[TableShape, Tag("<table>")],
    Discriminator(_parameter_form),
]


class WindowShape(Shape):
    """The time between the end of an earlier step and the start of this one."""

    after: Ids = Field(description="The step, or steps, whose end starts the time.")
    least: TimeShape | None = Field(None, description="Not sooner than this.")
    most: TimeShape | None = Field(None, description="Not later than this.")
    waiting_for_room: Literal["counts", "does not count"] = Field(
        "counts", description="Whether time counts while the vessel of this step has no room."
    )
    late: LateWays = Field([], description="What may follow when it is late, the safest first.")
    source: Line | None = Field(None, description="Where the times are known from.")


class TendShape(Shape):
    """The act to do again and again while the clock runs."""

    every: TimeShape = Field(description="The interval.")
    do: Line = Field(description="What to do, verb first.")


class StepShape(Shape):
    """The keys that every step may have."""

    id: Id | None = Field(None, description="The step's stable name, unique in the procedure.")
    why: Line | None = Field(None, description="Why the step, or why in this order.")
    cautions: list[StepCaution] = Field(
        [], description="Cautions before the step: written out, or the id of one under hazards."
    )
    drawing: Drawing | None = Field(None, description="A picture shown with the step.")
    who: Line | None = Field(None, description="The role that may do it.")
    people: Whole = Field(1, description="How many people it needs.")
    critical: YesNo = Field(
        False, description="It cannot be undone: its start is entered before it is done."
    )
    together: Together = Field(
        False, description="The whole batch takes it at once; `pair`: the parts of a pair do."
    )
    window: WindowShape | None = Field(None, description="The time since an earlier step.")
    source: Line | None = Field(None, description="Where the step or its figures are known from.")
    lessons: Lines = Field([], description="What went wrong or better before.")


class UseShape(Shape):
    """How much of a supply a step uses."""

    supply: Line = Field(description="What it is, as `supplies` of the needs call it.")
    amount: ParameterShape = Field(
        description="How much: for each part; at a step done together, for all of them at once."
    )
    allow: ParameterShape | None = Field(
        None,
        description="What to allow for a part before the start, when the amount is not known yet.",
    )
    back: YesNo = Field(False, description="It goes back: filtered, or poured back to be re-used.")


UsesShape = Annotated[list[UseShape], ONE_OR_MORE]


class DoStep(StepShape):
    """An action."""

    uses: UsesShape = Field([], description="What it uses of which supply.")
    do: Line = Field(description="What to do: one action, verb first, at most 20 words.")
    photo: YesNo = Field(False, description="It is to be photographed: a picture is asked for.")
    set_up: YesNo = Field(
        False, description="It readies the place once a sitting: the first load does it for all."
    )


class DwellStep(StepShape):
    """A wait by the clock, in a vessel, away at a place, or on the bench."""

    uses: UsesShape = Field([], description="What going in uses of which supply.")
    dwell: Line = Field(description="What to keep up while the clock runs.")
    in_: Id | None = Field(None, description="The vessel that the parts go into.")
    at: Line | None = Field(None, description="The place that the parts are sent to.")
    least: TimeShape | None = Field(None, description="The shortest time.")
    most: TimeShape | None = Field(None, description="The longest time.")
    aim: TimeShape | None = Field(None, description="The time to aim for.")
    tend: TendShape | None = Field(None, description="What to do at intervals.")
    early: Ways = Field([], description="What may follow an early end, the safest first.")
    late: Ways = Field([], description="What may follow a late end, the safest first.")
    attended: Literal["yes", "to end it", "no"] | None = Field(
        None, description="Whether somebody stays with it, comes to end it, or need not."
    )
    adds_up: YesNo = Field(False, description="Whether broken-off times count in sum.")
    meanwhile: "list[Item]" = Field([], description="Steps that may be done while it runs.")
    undone: Literal["done after", "left out"] = Field(
        "done after", description="What becomes of steps of `meanwhile` not done when it ends."
    )
    before_out: "list[Item]" = Field(
        [], description="Steps done while it runs that must be done before the parts come out."
    )


def _places_form(value: object) -> str:
    return "<grid>" if isinstance(value, dict) else "<list>"


Places = Annotated[
    Annotated[dict[str, list[Spot]], Tag("<grid>")] | Annotated[list[Spot], Tag("<list>")],
    Discriminator(_places_form),
]


class LimitsShape(StepShape):
    """The keys of all that is judged against limits."""

    as_: NameText | None = Field(None, description="What formulas call it; else the step's id.")
    unit: UnitText = Field(description="The unit it is asked for and judged in; none for a count.")
    low: ParameterShape | None = Field(None, description="The lower limit, met when equal.")
    high: ParameterShape | None = Field(None, description="The upper limit, met when equal.")
    fit: FitShape | None = Field(
        None, description="Both limits from a size and its class: 62 P7; or a table of these."
    )
    outside: Ways = Field([], description="What may follow outside the limits, the safest first.")
    inside: Ways = Field([], description="What may follow inside the limits, where not to go on.")
    strength_of: Line | None = Field(
        None,
        description="The bath whose strength this is, for the books: a vessel or a supply.",
    )
    characteristic: YesNo | None = Field(
        None, description="Whether it says how the part is, and is on the front of a record."
    )


class ReadingStep(LimitsShape):
    """Something measured."""

    reading: Line = Field(description="What to measure, verb first.")
    places: Places | None = Field(
        None, description="Where to measure: a list, or the sides of a grid such as planes, angles."
    )
    times: Whole = Field(1, description="How often each place is measured.")
    in_doubt: Ways = Field([], description="What may follow when the instrument cannot decide.")
    instrument: Line | None = Field(None, description="Which instrument of the needs to use.")
    resolution: Line | None = Field(None, description="The coarsest resolution allowed: 0.01 mm.")
    one_for_all: YesNo = Field(
        False, description="One value for all parts that are ready for it; it waits for nobody."
    )
    pieces: Line | None = Field(
        None, description="It counts pieces of the part, such as studs, by number or by name."
    )
    below_zero: YesNo = Field(
        False, description="It may be below zero, as a deviation from a size may be."
    )


class InspectStep(StepShape):
    """Something judged by eye, ear or hand."""

    uses: UsesShape = Field([], description="What it uses of which supply.")
    inspect: Line = Field(description="What to look at and for, verb first.")
    as_: NameText | None = Field(None, description="What formulas call the finding.")
    findings: dict[str, Ways] = Field(description="Each finding, and what may follow it.")


class HoldStep(StepShape):
    """A stop for a signature."""

    hold: Line = Field(description="What to stop for.")
    role: Line | None = Field(None, description="The role that may sign.")
    another_person: YesNo = Field(False, description="Not whoever did the work.")
    same_person_after: Hours | None = Field(
        None, description="The same person may sign so much later."
    )
    may_be_waived: YesNo = Field(
        False, description="Whoever may sign it may let parts go on without, by a signed reason."
    )
    signs: Line = Field(description="What the signature means, in the words that are signed.")


class WitnessStep(StepShape):
    """An invitation to look on: who came is kept, or that the notice ran out; then work goes on."""

    witness: Line = Field(description="Whom to tell of what.")
    notice: Time = Field(description="How long to wait for them.")


class WorkOutStep(LimitsShape):
    """A value derived from readings."""

    work_out: Line = Field(description="What to work out.")
    formula: FormulaText = Field(description="How: mean(bore) - ring.")


class CarryOutStep(StepShape):
    """Another procedure, carried out in full and recorded as a run of its own."""

    carry_out: Id = Field(description="The id of the other procedure.")
    revision: Whole = Field(description="Its revision.")
    values: dict[NameText, ResultText] = Field(
        {}, description="What is taken over from it: a name of it, and its unit or `finding`."
    )


class IfBlock(Shape):
    """Steps for the parts for which a condition holds."""

    if_: FormulaText = Field(description="The condition: bore_mean > 61.979 mm.")
    id: Id | None = Field(None, description="A stable name for the choice.")
    steps: "list[Item]" = Field(description="The steps where it holds.")
    otherwise: "list[Item]" = Field([], description="The steps where it does not.")


class RepeatBlock(Shape):
    """Steps gone through several times."""

    repeat: Line = Field(description="What each pass is: coats.")
    id: Id | None = Field(None, description="A stable name for the repeat.")
    at_least: Whole = Field(1, description="How many passes at least.")
    at_most: Whole | None = Field(None, description="How many passes at most.")
    until: FormulaText | None = Field(None, description="What ends it.")
    steps: "list[Item]" = Field(description="The steps of one pass.")


class AnyOrderBlock(Shape):
    """Steps whose order is free."""

    any_order: Line = Field(description="What the steps come to together.")
    id: Id | None = Field(None, description="A stable name for the group.")
    steps: "list[Item]" = Field(description="The steps; plain ones only.")


class OneOfBlock(Shape):
    """Ways that serve equally well; one is chosen and done."""

    one_of: Line = Field(description="What to choose, verb first.")
    id: Id = Field(description="The stable name of the choice.")
    as_: NameText | None = Field(None, description="What formulas call the choice.")
    why: Line | None = Field(None, description="What speaks for which way.")
    cautions: list[StepCaution] = Field([], description="Cautions before the choice.")
    who: Line | None = Field(None, description="The role that may choose.")
    ways: "dict[str, list[Item]]" = Field(description="Each way by name, and its steps.")


class LoadBlock(Shape):
    """Steps of one load, which has a vessel from the first of them to the last."""

    load: Line = Field(description="What the load is: oven load.")
    id: Id | None = Field(None, description="A stable name for the load.")
    in_: Ids = Field(description="The vessel, or several of which each load takes one.")
    steps: "list[Item]" = Field(description="The steps of the load, its dwells among them.")


class WhileBlock(Shape):
    """Conditions that must stand during some steps."""

    while_: Lines = Field(description="What must hold, shown until the last of the steps.")
    steps: "list[Item]" = Field(description="The steps.")


FORMS: Final[Mapping[str, type[Shape]]] = {
    "do": DoStep,
    "dwell": DwellStep,
    "reading": ReadingStep,
    "inspect": InspectStep,
    "hold": HoldStep,
    "work out": WorkOutStep,
    "witness": WitnessStep,
    "carry out": CarryOutStep,
    "if": IfBlock,
    "repeat": RepeatBlock,
    "any order": AnyOrderBlock,
    "one of": OneOfBlock,
    "load": LoadBlock,
    "while": WhileBlock,
}


def _form(value: object) -> str | None:
    """The first key that says what kind of item it is."""
    if isinstance(value, dict):
        found = next((key for key in value if key in FORMS), None)
        return None if found is None else f"<{found}>"
    return None


Item = Annotated[
    Annotated[DoStep, Tag("<do>")]
    | Annotated[DwellStep, Tag("<dwell>")]
    | Annotated[ReadingStep, Tag("<reading>")]
    | Annotated[InspectStep, Tag("<inspect>")]
    | Annotated[HoldStep, Tag("<hold>")]
    | Annotated[WorkOutStep, Tag("<work out>")]
    | Annotated[WitnessStep, Tag("<witness>")]
    | Annotated[CarryOutStep, Tag("<carry out>")]
    | Annotated[IfBlock, Tag("<if>")]
    | Annotated[RepeatBlock, Tag("<repeat>")]
    | Annotated[AnyOrderBlock, Tag("<any order>")]
    | Annotated[OneOfBlock, Tag("<one of>")]
    | Annotated[LoadBlock, Tag("<load>")]
    | Annotated[WhileBlock, Tag("<while>")],
    Discriminator(_form),
]


class StageShape(Shape):
    """A part of the work with a title."""

    stage: Line = Field(description="The stage's title.")
    cautions: list[StepCaution] = Field([], description="Cautions before the stage's first step.")
    while_: Lines = Field([], description="What must hold during the whole stage.")
    steps: list[Item] = Field(description="The steps in their order.")


class ProcedureShape(Shape):
    """A procedure: how one kind of work is done, step by step, at the bench."""

    procedure: Id = Field(description="The procedure's stable name, also its file's name.")
    title: Line = Field(description="The procedure's title.")
    revision: Whole = Field(description="Its revision, counted up.")
    status: Literal["draft", "checked", "approved", "withdrawn"] = Field(
        "draft", description="How far it may be relied on."
    )
    dated: Day | None = Field(None, description="The day of this revision.")
    use: Literal["step by step", "reference"] = Field(
        "step by step", description="Followed line by line, or kept at hand."
    )
    scope: Line = Field(description="What it is for and where it ends.")
    applies_to: Line | None = Field(None, description="Which parts it applies to.")
    changes: dict[str, Line] = Field({}, description="What each revision changed.")
    sources: dict[str, Line] = Field({}, description="What the short source marks stand for.")
    hazards: list[CautionShape] = Field([], description="The hazards of the whole work.")
    first_aid: Lines = Field([], description="First aid, gathered in one place.")
    needs: NeedsShape = Field(
        NeedsShape.model_construct(), description="Protection, tools, instruments, supplies."
    )
    batch: BatchShape = Field(description="What a part is.")
    kinds: dict[Id, KindShape] = Field(
        {}, description="The kinds of part that one batch may hold, by their names."
    )
    figures: dict[NameText, FigureShape] = Field(
        {}, description="What the manual or a data sheet says, each under its name."
    )
    vessels: dict[Id, VesselShape] = Field({}, description="Tubs, ovens, rails by their ids.")
    stages: list[StageShape] = Field(description="The work.")
    close: CloseShape = Field(CloseShape.model_construct(), description="What remains at the end.")


# Here and not with the first file: threads that read files at once wait for this import.
ProcedureShape.model_rebuild()
