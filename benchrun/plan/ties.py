"""The ties between the trains of a load: windows, what stands alone, a second look, holds."""

from collections.abc import Iterator, Mapping, Sequence
from math import ceil
from typing import Final

from benchrun.plan.pieces import Piece, PieceKey, RunGround, dwell_minutes, source_of
from benchrun.plan.step_minutes import MINUTE_MS
from benchrun.plan.workload import Gap, Late, Segment, Train, VesselHold
from benchrun.procedure.route import Act, Consequence, Dwell, Hold, Step, StepOp
from benchrun.run.clocks import window
from benchrun.run.state import Marker
from benchrun.text import count

MARGIN_MIN: Final = 30
"""So long before its end a window is planned to be kept, at most a quarter of it."""
_ALONE_MIN: Final = 12 * 60
_DAY_MIN: Final = 24 * 60
EXPECT_MIN: Final = 18 * 60
"""Something overdue is not looked for before so many minutes are over; from memory."""
_COSTS: Final = {
    Act.SCRAP: 2000,
    Act.REWORK: 600,
    Act.ASIDE: 240,
    Act.AGAIN: 240,
    Act.STOP: 240,
    Act.AWAY: 240,
    Act.GO_ON: 20,
}
_DETOUR_COST: Final = 60
_IN_VESSEL_COST: Final = 600
_AT_ONCE_MIN: Final = 2


Offsets = Mapping[PieceKey, tuple[str, int, int]]
"""For each piece its train, and when it begins and ends there."""


class LoadTies:
    """Ties the trains of one load.

    Args:
        ground: The run.
        load: The parts.
        pieces: What is ahead of them.
        offsets: Where the pieces lie.
        names: The load's trains in order.
    """

    def __init__(
        self,
        ground: RunGround,
        load: Sequence[Marker],
        pieces: Sequence[Piece],
        offsets: Offsets,
        names: Sequence[str],
    ) -> None:
        self.ground, self.load, self.pieces = ground, load, pieces
        self.offsets, self.names = offsets, names
        self.gaps, self.holds = ground.work.gaps, ground.work.holds

    def tie(self) -> None:
        """Tie them."""
        load, pieces, offsets = self.load, self.pieces, self.offsets
        alone = self.ground.people == 1
        for at, piece in enumerate(pieces):
            name, began, ended = offsets[piece.key]
            detail = piece.step.detail
            source = source_of(pieces, at)
            if piece.step.window is not None and source is not None:
                self._window_gap(pieces[source], piece)
            elif piece.step.window is not None:
                self._running_window(piece, name, began)
            if isinstance(detail, Hold) and detail.other and alone and at:
                least = _ALONE_MIN if detail.after_hours is None else detail.after_hours * 60
                before, _, end = offsets[pieces[at - 1].key]
                if before != name:
                    gap = Gap(name, before, least=end + least - began, words="a second look")
                    self.gaps.append(gap)
            in_already = load[0].soak is not None and not at
            if piece.parted and at + 1 < len(pieces) and not in_already:
                self._parted_gap(piece, name, ended, offsets[pieces[at + 1].key][0])
        if load[0].soak is not None:
            self._soaking(pieces[0])

    def _window_gap(
        self,
        source: Piece,
        piece: Piece,
    ) -> None:
        load, offsets = self.load, self.offsets
        limits = piece.step.window
        before, _, ended = offsets[source.key]
        name, began, _ = offsets[piece.key]
        if limits is None or before == name:
            return
        least = dwell_minutes(load[0], limits.least) or 0
        most = dwell_minutes(load[0], limits.most)
        if source.parted:
            # The dwell ends in the next train; its clock starts there, not where it was put in.
            ended += source.stands
        self.gaps.append(
            Gap(
                name,
                before,
                least=max(0, ended + least - began),
                most=None if most is None else max(0, ended + _kept(most) - began),
                late=self._late(limits.late, piece.step, len(load)),
                words=piece.step.text,
            )
        )

    def _running_window(self, piece: Piece, name: str, began: int) -> None:
        load, minute = self.load, self.ground.minute
        states = [window(self.ground.run, one, piece.step, self.ground.now) for one in load]
        for state in states:
            if state is None or state.unknown or state.answered:
                continue
            least = 0 if state.to_least is None else ceil(state.to_least / MINUTE_MS)
            # What has closed already is judged by a person: no time that is left can keep it.
            left = state.to_most or 0
            most = left // MINUTE_MS if left > 0 else None
            limits = piece.step.window
            late = self._late(limits.late, piece.step, len(load)) if limits else None
            if most is not None:
                most = max(0, _kept(most) - began)
            self.gaps.append(
                Gap(name, "", minute, max(0, least - began), most, late, piece.step.text)
            )
            return

    def _parted_gap(self, piece: Piece, before: str, ended: int, name: str) -> None:
        """The time that a load stands alone between two trains."""
        load = self.load
        detail = piece.step.detail
        if not isinstance(detail, Dwell):
            return
        most = dwell_minutes(load[0], detail.most)
        late = self._late(detail.late, piece.step, len(load), in_vessel=bool(detail.vessel))
        upper = None if most is None else ended + _kept(most)
        self.gaps.append(Gap(name, before, 0, ended + piece.stands, upper, late, piece.step.text))
        vessel = self.ground.vessels.get(detail.vessel)
        if vessel:
            size = sum(marker.size for marker in load)
            self.holds.append(VesselHold(vessel, size, before, max(0, ended - 1), name))

    def _soaking(self, piece: Piece) -> None:
        """A load that is in already: from now on, until its first train takes it out."""
        load, names, ground = self.load, self.names, self.ground
        detail, marker = piece.step.detail, load[0]
        if not isinstance(detail, Dwell) or marker.soak is None:
            return
        spent = ground.run.timeline.elapsed(marker.soak.mark, ground.now)
        since = ground.minute - ceil(spent.proven_ms / MINUTE_MS)
        most = dwell_minutes(marker, detail.most)
        late = self._late(detail.late, piece.step, len(load), in_vessel=True)
        upper, least = None if most is None else _kept(most), piece.stands
        been = ground.minute - since
        if most is not None and upper is not None and upper < been:
            # Late in its time, or past it: taken out now nothing more is lost.
            upper = max(most, been + _AT_ONCE_MIN)
        if overdue_minutes(ground, marker, piece):
            # Nobody here can make it come: it is looked for from the next day on, late or not.
            upper, least = None, ground.minute - since + EXPECT_MIN
        rest = tended_left(ground, marker, piece)
        if rest:
            self._tending(piece, rest)
        self.gaps.append(Gap(names[0], "", since, least, upper, late, "it is in until then"))
        vessel = self.ground.vessels.get(detail.vessel)
        if vessel:
            size = sum(one.size for one in load)
            self.holds.append(VesselHold(vessel, size, "", 0, names[0]))

    def _tending(self, piece: Piece, minutes: int) -> None:
        """Hands that stay from now on with a load that is in already: begun, so that it stands."""
        work, load, first = self.ground.work, self.load, self.names[0]
        name = f"{first}/tended"
        tend = piece.step.detail.tend if isinstance(piece.step.detail, Dwell) else ""
        words = (tend or piece.step.text).removesuffix(".")
        size = sum(one.size for one in load)
        hands, now = (Segment(minutes, hands=True),), self.ground.minute
        work.trains.append(Train(name, self.ground.ahead.id, words, size, hands, now, now))
        work.parts[name], work.steps[name] = work.parts[first], (piece.step,)
        work.keys[name] = {}

    def _late(
        self, ways: Sequence[Consequence], step: Step, count: int, *, in_vessel: bool = False
    ) -> Late | None:
        """The consequence of a missed window: the first way that the procedure gives.

        Too long in acid or heat is worse than the way that follows from it.
        """
        least = _IN_VESSEL_COST if in_vessel else 0
        if not ways:
            return Late("a deviation", 0, max(240, least))
        way = ways[0]
        if way.act is Act.DETOUR:
            minutes = sum(self.ground.minutes_for(one, count) for one in self._detour_steps(step))
            return Late(way.text, minutes, max(_DETOUR_COST, least))
        return Late(self._words(way), 0, max(_COSTS.get(way.act, 240), least))

    def _words(self, way: Consequence) -> str:
        """A way in words; a way back names the step by its number, as the plan does."""
        to = self.ground.run.route.steps.get(way.to) if way.act is Act.REWORK else None
        return f"back to step {to.number}" if to else way.text

    def _detour_steps(self, step: Step) -> Iterator[Step]:
        at = self.ground.run.course.detour_at.get(step.id)
        if at is None:
            return
        op = self.ground.run.route.ops[at]
        past = getattr(op, "past", at)
        for one in self.ground.run.route.ops[at + 1 : past]:
            if isinstance(one, StepOp):
                yield one.step


def tended_left(ground: RunGround, marker: Marker, piece: Piece) -> int:
    """For how many minutes hands stay with a load that is in already until it may come out."""
    if marker.soak is None or not piece.tended:
        return 0
    spent = ground.run.timeline.elapsed(marker.soak.mark, ground.now)
    return max(0, piece.stands - ceil(spent.proven_ms / MINUTE_MS))


def overdue_minutes(ground: RunGround, marker: Marker, piece: Piece) -> int:
    """For how many minutes a part that was sent out is past the time at which it is due back."""
    if marker.soak is None or not isinstance(piece.step.detail, Dwell):
        return 0
    if not piece.step.detail.place or not piece.stands:
        return 0
    spent = ground.run.timeline.elapsed(marker.soak.mark, ground.now)
    return max(0, spent.proven_ms // MINUTE_MS - piece.stands)


def overdue_words(minutes: int) -> str:
    """How long something is overdue: `3 days overdue`."""
    days = minutes // _DAY_MIN
    return f"{count(days, 'day')} overdue" if days else "due today"


def _kept(most: int) -> int:
    """The end of a window as it is planned: a while before it closes."""
    return most - min(MARGIN_MIN, most // 4)
