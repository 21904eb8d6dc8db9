"""The instrument in hand for each reading of a run, by the shop's registers."""

from collections.abc import Callable, Sequence
from decimal import Decimal

from benchrun import quantity
from benchrun.errors import BenchrunError
from benchrun.fitting.tools import Fitted, last_used, limits_for, offered, tool_for_step
from benchrun.moment import Moment
from benchrun.procedure.route import Procedure, Reading, Step
from benchrun.run import entries as e
from benchrun.run.state import Run
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import Instrument
from benchrun.shop.registers import Registers, read_registers

FILES = ("shop.yaml", "instruments.yaml", "supplies.yaml", "vessels.yaml")


class Kit:
    """The registers of a shop, read when first needed and again when a file has changed.

    Args:
        shop: The shop.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._registers: Registers | None = None
        self._stamp: tuple[tuple[int, int], ...] = ()

    @property
    def registers(self) -> Registers:
        """What the shop's files say now, each as far as it is sound."""
        stamp = tuple(self._stamp_of(name) for name in FILES)
        if self._registers is None or stamp != self._stamp:
            self._registers, self._stamp = read_registers(self._shop), stamp
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
        kit: The shop's registers.
    """

    def __init__(
        self, procedure: Procedure, entries: Callable[[], Sequence[e.Entry]], kit: Kit
    ) -> None:
        self._procedure = procedure
        self._entries = entries
        self._kit = kit
        self._taken: dict[str, str] = {}

    def offered(self, step: Step) -> tuple[Instrument, ...]:
        """The shop's instruments that can give a reading, the likeliest first."""
        if not isinstance(step.detail, Reading):
            return ()
        rows = self._kit.registers.instruments.rows
        return offered(rows, step.detail, self._last(step))

    def take(self, step: Step, name: str) -> None:
        """Take an instrument in hand for a step, by its id, until another one is taken."""
        self._taken[step.id] = name

    def fitted(self, run: Run, step: Step, part: str, at: Moment, typed: str) -> Fitted | None:
        """The instrument in hand for a reading.

        It is the one that was taken for the step, else the one last used for it, else one that goes
        by the name the procedure asks for, and of several such one that is fit for it. Nothing else
        is ever supposed: a log must not name an instrument that nobody took up.

        Args:
            run: The run as it stands.
            step: The reading's step.
            part: Which part is measured.
            at: The moment now.
            typed: The reading as far as it is typed.

        Returns:
            None where the shop's register has no such instrument.
        """
        detail = step.detail
        if not isinstance(detail, Reading):
            return None
        last = self._last(step)
        named = [
            one
            for one in self.offered(step)
            if one.id == last or (detail.instrument and one.called(detail.instrument))
        ]
        if not named:
            return None
        if len(named) == 1 or named[0].id == last:
            return self._fit(run, step, part, named[0].id, at, typed)
        # Which of several is asked of the limit, so that it does not change as figures come.
        limit = next((one for one in limits_for(run, part, detail) if one is not None), None)
        probe = quantity.plain(limit) if limit is not None else ""

        def unfit(one: Instrument) -> tuple[bool, int]:
            fitted = self._fit(run, step, part, one.id, at, probe)
            reaches = limit is None or _reaches(one, limit, detail.unit)
            return not reaches, len(fitted.misgivings) if fitted else 0

        return self._fit(run, step, part, min(named, key=unfit).id, at, typed)

    def _last(self, step: Step) -> str:
        return self._taken.get(step.id) or last_used(self._entries(), step.id)

    def _fit(
        self, run: Run, step: Step, part: str, name: str, at: Moment, typed: str
    ) -> Fitted | None:
        registers, procedure = self._kit.registers, self._procedure
        try:
            return tool_for_step(registers, procedure, run, step.id, part, name, at, typed)
        except BenchrunError:
            return None  # it measures something else after all, or was just taken off the list


def _reaches(one: Instrument, value: Decimal, unit: str) -> bool:
    """Whether a value lies within an instrument's range."""
    return one.low.to(unit) <= value <= one.high.to(unit)


def tool_of(procedure: Procedure, detail: Reading) -> e.Tool | None:
    """The instrument of a reading, with its expanded uncertainty in the reading's unit."""
    named = next((i for i in procedure.needs.instruments if i.name == detail.instrument), None)
    if named is None:
        return None
    uncertainty = ""
    if named.uncertainty:
        try:
            measure = quantity.read(named.uncertainty, detail.unit)
            uncertainty = quantity.plain(quantity.convert(measure.value, measure.unit, detail.unit))
        except BenchrunError:
            uncertainty = ""
    return e.Tool(named.name, uncertainty, named.measures)
