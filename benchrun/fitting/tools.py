"""The instrument of a reading, as the log keeps it, and why it may need a reason."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.procedure.route import Instrument as Need
from benchrun.procedure.route import Procedure, Reading
from benchrun.run import entries as e
from benchrun.run.state import Run
from benchrun.run.verdict import draw, limits
from benchrun.shop.amounts import day_of
from benchrun.shop.instruments import Instrument, below_a_tenth, misgivings
from benchrun.shop.registers import Registers

Limits = tuple[Decimal | None, Decimal | None]
NO_LIMITS: Limits = (None, None)


@dataclass(frozen=True, slots=True)
class Fitted:
    """An instrument taken for a reading.

    Attributes:
        tool: What the command carries; its `about` says all that the log must hold to stand alone.
        misgivings: Why the reading needs a reason; none when the instrument is fit for it.
        hints: What is worth knowing but needs no reason.
    """

    tool: e.Tool
    misgivings: tuple[str, ...] = ()
    hints: tuple[str, ...] = ()

    @property
    def question(self) -> str:
        """What a face asks before it takes the reading; empty when nothing is to be asked."""
        if not self.misgivings:
            return ""
        return f"{self.tool.name} {'; it '.join(self.misgivings)}. Use it all the same, and why?"


def tool_for(
    registers: Registers,
    name: str,
    reading: Reading,
    at: Moment,
    *,
    typed: str = "",
    limits: Limits = NO_LIMITS,
    need: Need | None = None,
) -> Fitted:
    """Take an instrument of the shop for a reading.

    Args:
        registers: The shop's files.
        name: The instrument's id.
        reading: What is measured.
        at: When; its day in UTC decides what is out of date.
        typed: The reading as typed, where it is known; an uncertainty in per cent needs it.
        limits: The limits of the reading in its unit, see `limits_for`.
        need: What the procedure asks of the instrument, see `need_of`.

    Raises:
        BenchrunError: There is no such instrument, or it measures something else.
    """
    instrument = registers.instruments.named(name)
    value = _value(typed, reading.unit)
    low, high = limits
    reasons = misgivings(
        instrument,
        day_of(at),
        reading.unit,
        value=value,
        low=low,
        high=high,
        resolution=reading.resolution,
        calibrated=need is not None and need.calibrated,
        least_ratio=registers.settings.least_ratio,
    )
    hints: tuple[str, ...] = ()
    if low is not None and high is not None and below_a_tenth(instrument, reading.unit, low, high):
        hints = ("is coarser than a tenth of the tolerance",)
    about = instrument.about()
    return Fitted(
        e.Tool(instrument.id, _doubt(instrument, value, reading.unit), about, reasons),
        reasons,
        hints,
    )


def tool_for_step(
    registers: Registers,
    procedure: Procedure,
    run: Run,
    step: str,
    part: str,
    name: str,
    at: Moment,
    typed: str = "",
) -> Fitted:
    """Take an instrument of the shop for the reading of a step; see `tool_for`.

    Args:
        registers: The shop's files.
        procedure: What the run follows.
        run: The run as it stands.
        step: The id of the reading's step.
        part: Which part is measured; its own limits count.
        name: The instrument's id.
        at: When.
        typed: The reading as typed, where it is known.

    Raises:
        BenchrunError: The step is no reading, there is no such instrument, or it measures
            something else.
    """
    detail = procedure.route.steps[step].detail
    if not isinstance(detail, Reading):
        raise BenchrunError(f"the step {step} is no reading: it takes no instrument")
    return tool_for(
        registers,
        name,
        detail,
        at,
        typed=typed,
        limits=limits_for(run, part, detail),
        need=need_of(procedure, detail),
    )


def _value(typed: str, unit: str) -> Decimal | None:
    if not typed.strip():
        return None
    try:
        return quantity.read(typed, unit).to(unit)
    except BenchrunError:
        return None  # the rules tell what is wrong with it when the reading is given


def _doubt(instrument: Instrument, value: Decimal | None, unit: str) -> str:
    if instrument.relative and value is None:
        return ""
    doubt = instrument.uncertainty_at(value if value is not None else Decimal(0), unit)
    return quantity.plain(doubt) if doubt else ""


def limits_for(run: Run, part: str, reading: Reading) -> Limits:
    """The limits of a reading for a part, in the reading's unit, as far as they are known yet.

    Args:
        run: The run as it stands.
        part: Which part.
        reading: What is measured.
    """
    names = frozenset[str]()
    for formula in (reading.low, reading.high):
        names |= formula.reads if formula else frozenset()
    found = limits(reading, draw(run.markers[part], names - {reading.name}))
    return (found[0], found[1]) if found else NO_LIMITS


def need_of(procedure: Procedure, reading: Reading) -> Need | None:
    """What a procedure asks of the instrument of a reading, or None."""
    wanted = reading.instrument.casefold()
    named = (one for one in procedure.needs.instruments if one.name.casefold() == wanted)
    return next(named, None)


def last_used(entries: Sequence[e.Entry], step: str) -> str:
    """The id of the instrument that was last used for a step, or empty.

    Args:
        entries: The run's entries, oldest first.
        step: The step's id.
    """
    for entry in reversed(entries):
        if isinstance(entry.data, e.Did) and entry.data.tool and entry.data.step == step:
            return entry.data.tool.name
    return ""


def offered(
    instruments: Iterable[Instrument], reading: Reading, last: str = ""
) -> tuple[Instrument, ...]:
    """The instruments that can give a reading, the likeliest first.

    Args:
        instruments: The shop's.
        reading: What is measured.
        last: The id of the one that was last used for it; it comes first.
    """
    fitting = [one for one in instruments if one.measures(reading.unit) and not one.out_of_use]
    wanted = reading.instrument

    def rank(one: Instrument) -> tuple[bool, bool]:
        return one.id != last, not (wanted and one.called(wanted))

    return tuple(sorted(fitting, key=rank))
