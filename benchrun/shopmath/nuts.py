"""Adjusting nuts: the travel of a turn, and the play at the slots that a split pin can hold."""

import math
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between
from benchrun.shopmath.threads import INCH, thread_of

_FLAT: Final = 60  # degrees of a hexagon's flat; a slot of the nut may be another angle


def pin_step(slots: Decimal, holes: Decimal) -> Decimal:
    """Angle in degrees between one position where a split pin goes in and the next.

    360° / lcm(slots, 2 × holes): each hole goes right through the stub and meets a slot at
    both ends.

    Args:
        slots: Slots in the nut.
        holes: Cross holes through the stub, evenly spread.

    Raises:
        BenchrunError: A pin cannot go right through such a nut, or the numbers are not whole.
    """
    for name, number in (("slots", slots), ("holes", holes)):
        if number != int(number) or not 1 <= number <= 60:
            raise BenchrunError(f"{name} is {said(number, '')}: a whole number up to 60 is meant")
    if slots < 3:
        raise BenchrunError(f"slots is {said(slots, '')}: a castellated nut has 3 or more")
    if slots % 2:
        raise BenchrunError(
            f"slots is {said(slots, '')}: with an odd number no two slots face each other, so no "
            "pin goes through"
        )
    return Decimal(360) / math.lcm(int(slots), 2 * int(holes))


def lead_of(
    thread: str | None, pitch: Decimal | None, tpi: Decimal | None, starts: Decimal
) -> Decimal:
    """Travel in mm of one whole turn: pitch × starts.

    Raises:
        BenchrunError: Not exactly one of thread, pitch and tpi is given, or it is no thread's.
    """
    if starts != int(starts) or not 1 <= starts <= 12:
        raise BenchrunError(f"starts is {said(starts, '')}: a whole number from 1 is meant")
    pitches = []
    if thread is not None:
        pitches.append(thread_of(thread).pitch)
    if tpi is not None:
        between("tpi", tpi, "", 2, 80, "threads an inch lie between")
        pitches.append(INCH / tpi)
    if pitch is not None:
        between("pitch", pitch, "mm", "0.2", 12, "pitches of nuts lie between")
        pitches.append(pitch)
    if len(pitches) != 1:
        raise BenchrunError("give the thread, its pitch or its tpi, one of them")
    return pitches[0] * starts


@lean_dataclass(frozen=True, slots=True)
class NutTurn:
    """Travel of an adjusting nut, and which pin position brings the play inside its band.

    travel = starts × pitch × degrees / 360; + backs off and gives play.

    Attributes:
        thread: `M20x1.5`, `7/8-14 UNF`; or pitch or tpi instead.
        pitch: Pitch, mm.
        tpi: Threads an inch.
        starts: Starts of the thread.
        turn: Angle turned, degrees; + backs off, − tightens.
        flats: Flats of a hexagon turned, 60° each, instead.
        steps: Pin positions turned instead.
        slots: Slots of the nut.
        holes: Cross holes through the stub.
        play: Play as measured at a pin position, mm.
        low: Least play wanted, mm.
        high: Most play wanted, mm.
    """

    thread: str | None = None
    pitch: Decimal | None = None
    tpi: Decimal | None = None
    starts: Decimal = Decimal(1)
    turn: Decimal | None = None
    flats: Decimal | None = None
    steps: Decimal | None = None
    slots: Decimal | None = None
    holes: Decimal = Decimal(1)
    play: Decimal | None = None
    low: Decimal | None = None
    high: Decimal | None = None

    def result(self) -> Result:
        """Work out travel, steps and play.

        Returns:
            travel in mm and travel_inch; with slots: step in degrees and step_travel in mm; with
            a play: play_after; with limits: certain, steps_to_turn, way, play_at_pin, verdict.

        Raises:
            BenchrunError: The nut cannot be, or the limits run backwards.
        """
        lead = lead_of(self.thread, self.pitch, self.tpi, self.starts)
        step = None if self.slots is None else pin_step(self.slots, self.holes)
        angle = self._angle(step)
        outputs: dict[str, Amount] = {}
        workings: list[str] = []
        notes: list[str] = []
        if angle is not None:
            travel = lead * angle / 360
            outputs["travel"] = Amount(travel, "mm")
            outputs["travel_inch"] = Amount(travel / INCH, "in")
            workings.append(
                f"{said(lead, 'mm')} × {said(angle, 'deg')} ÷ 360° = {said(travel, 'mm')}"
            )
            if self.play is not None:
                outputs["play_after"] = Amount(self.play + travel, "mm")
                if self.play + travel < 0:
                    notes.append("minus means preload")
        if step is not None:
            outputs["step"] = Amount(step, "deg")
            outputs["step_travel"] = Amount(lead * step / 360, "mm")
            workings.append(
                f"pin positions every {said(step, 'deg')}: {said(lead * step / 360, 'mm')} each"
            )
            if self.low is not None or self.high is not None:
                self._band(lead * step / 360, outputs, workings, notes)
        elif self.low is not None or self.high is not None:
            raise BenchrunError("give the slots of the nut too, to see which position holds")
        if not outputs:
            raise BenchrunError("give turn, flats or steps, or the slots of the nut")
        return Result(outputs, tuple(workings), tuple(notes))

    def _angle(self, step: Decimal | None) -> Decimal | None:
        if sum(given is not None for given in (self.turn, self.flats, self.steps)) > 1:
            raise BenchrunError("give turn, flats or steps, one of them")
        angle = self.turn
        if self.flats is not None:
            angle = self.flats * _FLAT
        elif self.steps is not None:
            if step is None:
                raise BenchrunError("steps are counted in pin positions: give slots too")
            angle = self.steps * step
        if angle is not None:
            between("turn", angle, "deg", -7200, 7200, "up to twenty turns are meant")
        return angle

    def _band(
        self, step: Decimal, outputs: dict[str, Amount], workings: list[str], notes: list[str]
    ) -> None:
        if self.low is None or self.high is None:
            raise BenchrunError("give low and high: the least and the most play wanted")
        if self.low > self.high:
            raise BenchrunError(f"low {said(self.low, 'mm')} is above high {said(self.high, 'mm')}")
        band = self.high - self.low
        outputs["certain"] = Amount("yes" if step <= band else "no")
        if step > band:
            notes.append(
                f"one step of {said(step, 'mm')} is wider than the band of {said(band, 'mm')}: "
                "only a shim, a faced washer or a second hole makes a position inside certain"
            )
        if self.play is None:
            return
        wanted = (self.low + self.high) / 2 - self.play
        count = (wanted / step).to_integral_value()
        after = self.play + count * step
        inside = self.low <= after <= self.high
        way = "back off" if count > 0 else "tighten" if count < 0 else "leave it"
        outputs |= {
            "steps_to_turn": Amount(abs(count), ""),
            "way": Amount(way),
            "play_at_pin": Amount(after, "mm"),
            "verdict": Amount("inside" if inside else "no position inside"),
        }
        workings.append(
            f"{said(self.play, 'mm')} + {said(count, '')} × {said(step, 'mm')} = "
            f"{said(after, 'mm')}"
        )
        if not inside:
            notes.append("the nearest position is told; it is outside the band: do not fit it so")


NUT_TURN: Final = Calc(
    "nut_turn",
    "travel of an adjusting nut, and the play at each pin position",
    (
        Input("thread", "M20x1.5, 7/8 UNF; or pitch or tpi instead", kind="text"),
        Input("pitch", "pitch, instead of the thread", "mm"),
        Input("tpi", "threads an inch, instead of the thread"),
        Input("starts", "starts of the thread", default="1"),
        Input("turn", "turned: 60, 1/6 turn; + backs off, − tightens", "deg"),
        Input("flats", "flats of a hexagon turned, instead of turn"),
        Input("steps", "pin positions turned, instead of turn"),
        Input("slots", "slots of the nut"),
        Input("holes", "cross holes right through the stub", default="1"),
        Input("play", "measured now, the nut at a pin position", "mm"),
        Input("low", "least play wanted", "mm"),
        Input("high", "most play wanted", "mm"),
    ),
    (
        Output("travel", "mm", "of the nut along the stub; + is play gained"),
        Output("travel_inch", "in", "the same", fixed=True),
        Output("play_after", "mm", "play now and travel; minus is preload"),
        Output("step", "deg", "from one pin position to the next"),
        Output("step_travel", "mm", "travel of one step"),
        Output("certain", "", "whether some position must fall inside: yes or no"),
        Output("steps_to_turn", "", "steps to the position nearest the middle"),
        Output("way", "", "back off, tighten or leave it"),
        Output("play_at_pin", "mm", "play at that position"),
        Output("verdict", "", "inside, or no position inside"),
    ),
    NutTurn,
    {
        "thread": "M20x1.5", "turn": "60", "slots": "6", "holes": "2", "play": "0.02",
        "low": "0.10", "high": "0.20",
    },
    cautions=(
        "A turn gives travel, not play: from a preloaded start its first part only unloads. "
        "Measure the play with an indicator after the bearings were seated by turning.",
        "Where the maker wants torque, a castellated nut is tightened to the next hole and never "
        "backed off; wheel bearings go by their own instruction. Left-hand threads turn the other "
        "way.",
    ),
    sources=(
        "definition of lead; pin positions by listing every angle at which a pair of slots meets "
        "a hole",
    ),
    convention="play and travel are along the axle; + backs the nut off; the nut is one piece and "
    "its seat does not give",
)  # fmt: skip
