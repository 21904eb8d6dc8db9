"""The instrument of each reading: as the log keeps it, why it may need a reason, which is taken."""

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from typing import Final

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.route import Instrument as Need
from benchrun.procedure.route import Procedure, Reading, Step
from benchrun.run import entries as e
from benchrun.run.state import Run
from benchrun.run.verdict import draw, limits
from benchrun.shop.amounts import day_of
from benchrun.shop.books import ShopBooks, read_books
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import ShopInstrument, below_a_tenth, misgivings
from benchrun.shopmath.accepting import unit_of_difference

Limits = tuple[Decimal | None, Decimal | None]
NO_LIMITS: Limits = (None, None)
UNKNOWN_DAY: Final = "unknown"
"""Stands in the log for the calibration day of an instrument whose row in the book gives none."""


@lean_dataclass(frozen=True, slots=True)
class Fitted:
    """An instrument taken for a reading.

    Attributes:
        tool: What the command carries; its `about` says all that the log must hold to stand alone.
        misgivings: Why the reading needs a reason; none when the instrument is fit for it.
        hints: What is worth knowing but needs no reason.
        resolution: Its smallest step, in the reading's unit; None when unknown.
    """

    tool: e.Tool
    misgivings: tuple[str, ...] = ()
    hints: tuple[str, ...] = ()
    resolution: Decimal | None = None

    @property
    def question(self) -> str:
        """The question before the reading is taken; empty when nothing is to be asked."""
        if not self.misgivings:
            return ""
        return f"{self.tool.name} {'; it '.join(self.misgivings)}. Use it anyway: why?"


def tool_for(
    books: ShopBooks,
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
        books: The shop's files.
        name: The instrument's id.
        reading: What is measured.
        at: When; its day in UTC decides what is out of date.
        typed: The reading as typed, where it is known; an uncertainty in per cent needs it.
        limits: The limits of the reading in its unit, see `limits_for`.
        need: What the procedure asks of the instrument, see `need_of`.

    Raises:
        BenchrunError: There is no such instrument, or it measures something else.
    """
    instrument = books.instruments.named(name)
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
        least_ratio=books.settings.least_ratio,
    )
    hints: tuple[str, ...] = ()
    if low is not None and high is not None and below_a_tenth(instrument, reading.unit, low, high):
        hints = ("is coarser than a tenth of the tolerance",)
    return Fitted(
        _tool(instrument, value, reading.unit, reasons, need),
        reasons,
        hints,
        instrument.step_in(reading.unit),
    )


def _tool(
    instrument: ShopInstrument,
    value: Decimal | None,
    unit: str,
    reasons: tuple[str, ...],
    need: Need | None = None,
) -> e.Tool:
    """An instrument of the book as the log holds it.

    Where its row says no uncertainty, the one that the procedure counts with stands for it.
    """
    step, about = instrument.step_in(unit), instrument.about()
    doubt = _doubt(instrument, value, unit)
    if instrument.uncertainty is None and need is not None:
        doubt = needed_uncertainty(need, unit, value)
        about += f"; {need.uncertainty} by the procedure" if doubt else ""
    return e.Tool(
        instrument.id,
        doubt,
        about,
        reasons,
        str(instrument.calibrated or UNKNOWN_DAY),
        str(instrument.until or ""),
        "" if step is None else quantity.plain(step),
    )


def tool_for_step(
    books: ShopBooks,
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
        books: The shop's files.
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
        books,
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


def _doubt(instrument: ShopInstrument, value: Decimal | None, unit: str) -> str:
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
    """The procedure's need for the instrument of a reading, or None."""
    wanted = reading.instrument.casefold()
    named = (
        instrument
        for instrument in procedure.needs.instruments
        if instrument.name.casefold() == wanted
    )
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


def instruments_for(
    instruments: Iterable[ShopInstrument], reading: Reading, last: str = ""
) -> tuple[ShopInstrument, ...]:
    """The instruments that can give a reading, the likeliest first.

    Args:
        instruments: The shop's.
        reading: What is measured.
        last: The id of the one that was last used for it; it comes first.
    """
    fitting = [
        instrument
        for instrument in instruments
        if instrument.measures(reading.unit) and not instrument.out_of_use
    ]
    wanted = reading.instrument

    def rank(one: ShopInstrument) -> tuple[bool, bool]:
        return one.id != last, not (wanted and one.called(wanted))

    return tuple(sorted(fitting, key=rank))


FILES = ("shop.yaml", "instruments.yaml", "supplies.yaml", "vessels.yaml")


class Kit:
    """The books of a shop, read when first needed and again when a file has changed.

    Args:
        shop: The shop.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._registers: ShopBooks | None = None
        self._stamp: tuple[tuple[int, int], ...] = ()

    @property
    def books(self) -> ShopBooks:
        """The shop's books as its files say now, each as far as it is sound."""
        stamp = tuple(self._stamp_of(name) for name in FILES)
        if self._registers is None or stamp != self._stamp:
            self._registers, self._stamp = read_books(self._shop), stamp
        return self._registers

    def _stamp_of(self, name: str) -> tuple[int, int]:
        try:
            stat = (self._shop.path / name).stat()
        except OSError:
            return (0, 0)
        return (stat.st_mtime_ns, stat.st_size)


class Instruments:
    """Which instrument each reading of a run is taken with.

    Args:
        procedure: What the run follows.
        entries: Gives what was kept so far.
        kit: The shop's books.
    """

    def __init__(
        self, procedure: Procedure, entries: Callable[[], Sequence[e.Entry]], kit: Kit
    ) -> None:
        self._procedure = procedure
        self._entries = entries
        self._kit = kit
        self._taken: dict[str, str] = {}

    def offered(self, step: Step) -> tuple[ShopInstrument, ...]:
        """The shop's instruments that can give a reading, the likeliest first."""
        if not isinstance(step.detail, Reading):
            return ()
        rows = self._kit.books.instruments.rows
        return instruments_for(rows, step.detail, self._last(step))

    def take(self, step: Step, name: str) -> None:
        """Take an instrument in hand for a step, by its id, until another one is taken."""
        self._taken[step.id] = name

    def fitted(self, run: Run, step: Step, part: str, at: Moment, typed: str) -> Fitted | None:
        """The instrument in hand for a reading.

        It is the one that was taken for the step, else the one last used for it, else the likeliest
        of those that go by the name the procedure asks for. Nothing else is ever supposed: a log
        must not name an instrument that nobody took up.

        Args:
            run: The run as it stands.
            step: The reading's step.
            part: Which part is measured.
            at: The moment now.
            typed: The reading as far as it is typed.

        Returns:
            None where the shop's register has no such instrument.
        """
        last = self._last(step)
        ids = [one.id for one in self.offered(step)]
        if last in ids:
            return self._fit(run, step, part, last, at, typed)
        likeliest = self._likeliest(run, step, part, at)
        return self._fit(run, step, part, likeliest[0].id, at, typed) if likeliest else None

    def rivals(self, run: Run, step: Step, part: str, at: Moment) -> tuple[ShopInstrument, ...]:
        """The instruments of the shop between which somebody must choose, the likeliest first.

        Args:
            run: The run as it stands.
            step: The reading's step.
            part: Which part is measured.
            at: The moment now.

        Returns:
            None where one was taken for the step before, or only one fits.
        """
        if self._last(step) in {one.id for one in self.offered(step)}:
            return ()
        likeliest = self._likeliest(run, step, part, at)
        return likeliest if len(likeliest) > 1 else ()

    def _likeliest(self, run: Run, step: Step, part: str, at: Moment) -> tuple[ShopInstrument, ...]:
        """Those of the name that the procedure asks for that are fit for the reading alike."""
        detail = step.detail
        if not isinstance(detail, Reading) or not detail.instrument:
            return ()
        named = [one for one in self.offered(step) if one.called(detail.instrument)]
        if len(named) < 2:
            return tuple(named)
        # It is asked of the limit, so that the answer does not change as figures come.
        limit = next((one for one in limits_for(run, part, detail) if one is not None), None)
        probe = quantity.plain(limit) if limit is not None else ""

        def unfit(instrument: ShopInstrument) -> tuple[bool, int]:
            fitted = self._fit(run, step, part, instrument.id, at, probe)
            reaches = limit is None or _reaches(instrument, limit, detail.unit)
            return not reaches, len(fitted.misgivings) if fitted else 0

        least = min(map(unfit, named))
        return tuple(one for one in named if unfit(one) == least)

    def _last(self, step: Step) -> str:
        return self._taken.get(step.id) or last_used(self._entries(), step.id)

    def _fit(
        self, run: Run, step: Step, part: str, name: str, at: Moment, typed: str
    ) -> Fitted | None:
        books, procedure = self._kit.books, self._procedure
        try:
            return tool_for_step(books, procedure, run, step.id, part, name, at, typed)
        except BenchrunError:
            return None  # it measures something else after all, or was just taken off the list


def _reaches(instrument: ShopInstrument, value: Decimal, unit: str) -> bool:
    """Whether a value lies within an instrument's range."""
    return instrument.reaches(value, unit)


def tool_of(procedure: Procedure, detail: Reading, typed: str = "") -> e.Tool | None:
    """The instrument of a reading as the procedure names it, with its uncertainty.

    Args:
        procedure: What the run follows.
        detail: The reading.
        typed: The reading as typed, where it is known; an uncertainty in per cent needs it.
    """
    named = next((i for i in procedure.needs.instruments if i.name == detail.instrument), None)
    if named is None:
        return None
    return e.Tool(
        named.name,
        needed_uncertainty(named, detail.unit, _value(typed, detail.unit)),
        named.measures,
    )


def needed_uncertainty(need: Need, unit: str, value: Decimal | None = None) -> str:
    """The uncertainty that a procedure counts with, in a reading's unit; empty where it says none.

    It is a difference: half a degree is half a degree on any scale. One in per cent is of `value`.
    """
    try:
        if need.uncertainty.endswith("%") and unit != "%":
            share = quantity.read(need.uncertainty, "%").value
            return "" if value is None else quantity.plain(abs(value) * share / 100)
        told = quantity.read(need.uncertainty, unit)
        own, other = unit_of_difference(told.unit), unit_of_difference(unit)
        return quantity.plain(quantity.convert(told.value, own, other))
    except BenchrunError:
        return ""


def needed_resolution(procedure: Procedure, detail: Reading) -> Decimal | None:
    """The smallest step of the instrument that a procedure asks for, in the reading's unit.

    None where the procedure does not say, or says it in words such as `10 times`.
    """
    need, unit = need_of(procedure, detail), unit_of_difference(detail.unit)
    if need is not None and need.resolution:
        try:
            return quantity.read(need.resolution, unit).to(unit)
        except BenchrunError:
            return None
    return detail.resolution
