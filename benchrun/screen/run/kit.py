"""The shop's own things at a run: which instrument a reading is taken with, by its registers."""

from collections.abc import Sequence
from decimal import Decimal

from benchrun.board import uses_beside
from benchrun.errors import BenchrunError
from benchrun.fitting.tools import Fitted, last_used, limits_for, offered, tool_for_step
from benchrun.fitting.vessels import crowded, uses_of
from benchrun.moment import Moment
from benchrun.procedure.route import Dwell, Reading, Step
from benchrun.quantity import plain
from benchrun.run.state import Run
from benchrun.session import Sitting
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


def in_the_way(kit: Kit, session: Sitting, step: Step, parts: Sequence[str]) -> str:
    """Why a load had better wait because of what other runs have in its vessel; empty for no.

    Args:
        kit: The shop's registers.
        session: The run.
        step: The dwell that the load is to begin.
        parts: The load.
    """
    detail, run = step.detail, session.run
    if not isinstance(detail, Dwell) or not detail.vessel:
        return ""
    own = session.folder.run
    uses = (*uses_of(own, run), *uses_beside(session.shop, own))
    room = sum(run.markers[part].size for part in parts)
    vessel = run.route.vessels[detail.vessel]
    return crowded(kit.registers.vessels, vessel, uses, own, room)


class Instruments:
    """Which instrument each reading of a run is taken with.

    Args:
        session: The run.
        kit: The shop's registers.
    """

    def __init__(self, session: Sitting, kit: Kit) -> None:
        self._session = session
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
        probe = plain(limit) if limit is not None else ""

        def unfit(one: Instrument) -> tuple[bool, int]:
            fitted = self._fit(run, step, part, one.id, at, probe)
            reaches = limit is None or _reaches(one, limit, detail.unit)
            return not reaches, len(fitted.misgivings) if fitted else 0

        return self._fit(run, step, part, min(named, key=unfit).id, at, typed)

    def _last(self, step: Step) -> str:
        return self._taken.get(step.id) or last_used(self._session.entries, step.id)

    def _fit(
        self, run: Run, step: Step, part: str, name: str, at: Moment, typed: str
    ) -> Fitted | None:
        registers, procedure = self._kit.registers, self._session.procedure
        try:
            return tool_for_step(registers, procedure, run, step.id, part, name, at, typed)
        except BenchrunError:
            return None  # it measures something else after all, or was just taken off the list


def _reaches(one: Instrument, value: Decimal, unit: str) -> bool:
    """Whether a value lies within an instrument's range."""
    return one.low.to(unit) <= value <= one.high.to(unit)
