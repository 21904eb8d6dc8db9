"""Sizes of a thread, its tap drill, and its pitch diameter over three wires."""

from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.amount import Amount, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive
from benchrun.shopmath.threads import (
    BRITISH_ASSOCIATION,
    CYCLE,
    METRIC,
    UNIFIED,
    WHITWORTH,
    Profile,
    Thread,
    thread_of,
)
from benchrun.shopmath.trig import cosine, sine, tangent

_SHARP_60: Final = 3 * Decimal(3).sqrt() / 4  # full depth of both sides of 60°, in pitches
_LEAST_DEPTH: Final = 55
_USUAL: Final = (65, 85)
# Least and greatest wire in pitches: a gauge maker's pages. Others stay near the best wire.
_WIRES: Final = {
    METRIC: (Decimal("0.505182"), Decimal("1.010362")),
    UNIFIED: (Decimal("0.505182"), Decimal("1.010362")),
    WHITWORTH: (Decimal("0.50568"), Decimal("0.82573")),
}
_NEAR_BEST: Final = Decimal("0.1")


def full_depth(form: Profile) -> Decimal:
    """Diameter of a thread of 100 % depth less its core, in pitches, as drill charts count it."""
    return _SHARP_60 if form in (METRIC, UNIFIED) else form.bore


def thread_data(thread: str, drill: Decimal | None = None, depth: Decimal = Decimal(75)) -> Result:
    """Sizes of a thread, the drill for a depth, and the depth that a drill leaves.

    depth % = (major − drill) / (1.299038 P) for 60°, / (1.280654 P) for 55°.

    Args:
        thread: `M10x1.5`, `1/2 UNF`, `3/8 BSF`, `2 BA`.
        drill: Tap drill, mm.
        depth: Depth of thread wanted, %.

    Returns:
        pitch, major, pitch_diameter, minor_external, minor_internal, drill_for_depth mm, angle
        degrees, per_inch, stress_area mm²; with a drill depth % and verdict.

    Raises:
        BenchrunError: The thread fits two series, or the drill leaves no thread.
    """
    cut = thread_of(thread)
    between("depth", depth, "%", 30, 100, "depths of thread lie between")
    whole = full_depth(cut.form) * cut.pitch
    outputs = {
        "pitch": Amount(cut.pitch, "mm"),
        "per_inch": Amount(Decimal("25.4") / cut.pitch, ""),
        "major": Amount(cut.diameter, "mm"),
        "pitch_diameter": Amount(cut.pitch_diameter, "mm"),
        "minor_external": Amount(cut.root_diameter, "mm"),
        "minor_internal": Amount(cut.bore_diameter, "mm"),
        "angle": Amount(cut.form.angle, "deg"),
        "stress_area": Amount(cut.stress_area, "mm²"),
        "drill_for_depth": Amount(cut.diameter - whole * depth / 100, "mm"),
    }
    workings = [
        f"{said(cut.diameter, 'mm')} − {said(whole, 'mm')} × {said(depth, '%')} = "
        f"{said(outputs['drill_for_depth'].number, 'mm')} drill"
    ]
    if drill is not None:
        positive("drill", drill, "mm")
        if drill >= cut.diameter:
            raise BenchrunError(
                f"drill {said(drill, 'mm')} is not below the thread's {said(cut.diameter, 'mm')}: "
                "it leaves no thread"
            )
        share = (cut.diameter - drill) / whole * 100
        outputs["depth"] = Amount(share, "%")
        outputs["verdict"] = Amount(_verdict(share))
        workings.append(
            f"({said(cut.diameter, 'mm')} − {said(drill, 'mm')}) ÷ {said(whole, 'mm')} = "
            f"{said(share, '%')} of the depth"
        )
    notes = (
        f"{cut.name}, {cut.form.angle}°; a thread of 55° never mates with one of 60°, though the "
        "pitch is the same",
    )
    return Result(outputs, tuple(workings), notes, (), (cut.form.source,))


def _verdict(share: Decimal) -> str:
    if share > 100:
        return "smaller than the core: the tap breaks"
    if share > _USUAL[1]:
        return "deep: the tap runs tight"
    if share >= _USUAL[0]:
        return "usual"
    return "shallow" if share >= _LEAST_DEPTH else "too shallow"


def best_wire(cut: Thread) -> Decimal:
    """The wire in mm that touches at the pitch diameter: P / (2 cos a), a half the angle."""
    return cut.pitch / (2 * cosine(cut.form.angle / 2))


def over_wires(cut: Thread, wire: Decimal, pitch_diameter: Decimal) -> Decimal:
    """Size over three wires in mm: E + w (1 + 1/sin a) − (P/2) cot a, a half the angle."""
    half = cut.form.angle / 2
    return pitch_diameter + wire * (1 + 1 / sine(half)) - cut.pitch / (2 * tangent(half))


def three_wire(thread: str, wire: Decimal | None = None, reading: Decimal | None = None) -> Result:
    """Size over three wires of a thread, or its pitch diameter from a reading over them.

    Args:
        thread: `M10x1.5`, `1/2 UNF`, `1 5/8-11 Whit`.
        wire: Diameter of the wires, mm; the best wire when not given.
        reading: Size over the wires as measured, mm.

    Returns:
        best_wire, least_wire, most_wire, wire, over_wires and basic_pitch_diameter mm; with a
        reading pitch_diameter mm, difference µm and verdict.

    Raises:
        BenchrunError: The wire does not touch the flanks, or the reading is of another thread.
    """
    cut = thread_of(thread)
    best = best_wire(cut)
    least, most = (
        (_WIRES[cut.form][0] * cut.pitch, _WIRES[cut.form][1] * cut.pitch)
        if cut.form in _WIRES
        else (best * (1 - _NEAR_BEST), best * (1 + _NEAR_BEST))
    )
    size = best if wire is None else wire
    if not least <= size <= most:
        raise BenchrunError(
            f"wire {said(size, 'mm')} does not seat in {cut.name}: {said(least, 'mm')} to "
            f"{said(most, 'mm')}, best {said(best, 'mm')}"
        )
    basic = over_wires(cut, size, cut.pitch_diameter)
    outputs = {
        "best_wire": Amount(best, "mm"),
        "least_wire": Amount(least, "mm"),
        "most_wire": Amount(most, "mm"),
        "wire": Amount(size, "mm"),
        "over_wires": Amount(basic, "mm"),
        "basic_pitch_diameter": Amount(cut.pitch_diameter, "mm"),
    }
    half = cut.form.angle / 2
    factor, less = 1 + 1 / sine(half), cut.pitch / (2 * tangent(half))
    workings = [
        f"{said(cut.pitch_diameter, 'mm')} + {said(factor, '')} × {said(size, 'mm')} − "
        f"{said(less, 'mm')} = {said(basic, 'mm')} over the wires"
    ]
    if reading is not None:
        measured = reading - factor * size + less
        if abs(measured - cut.pitch_diameter) > cut.pitch / 4:
            raise BenchrunError(
                f"{said(reading, 'mm')} over the wires is not near {cut.name}, "
                f"{said(basic, 'mm')}: look at the thread, the wires and the reading"
            )
        gap = measured - cut.pitch_diameter
        outputs["pitch_diameter"] = Amount(measured, "mm")
        outputs["difference"] = Amount(gap * 1000, "µm")
        outputs["verdict"] = Amount("over basic" if gap > 0 else "basic" if gap == 0 else
                                    "under basic")  # fmt: skip
        workings.append(
            f"{said(reading, 'mm')} − {said(factor, '')} × {said(size, 'mm')} + "
            f"{said(less, 'mm')} = {said(measured, 'mm')} pitch diameter"
        )
    notes = [
        f"{cut.name}, {cut.form.angle}°; the lead angle and the measuring force are not in it",
        "the thread's class decides whether a difference from basic is right",
    ]
    if cut.form in (CYCLE, BRITISH_ASSOCIATION):
        notes.append("no published limits of wires for this form: only near the best one")
    return Result(outputs, tuple(workings), tuple(notes), (), (cut.form.source,))


THREAD_DATA: Final = Calc(
    "thread_data",
    "sizes of a thread and its tap drill",
    (
        Input("thread", "M10x1.5, 1/2 UNF, 3/8 BSF, 2 BA", kind="text", needed=True),
        Input("drill", "tap drill, to see the depth that it leaves", "mm"),
        Input("depth", "depth of thread wanted", "%", default="75"),
    ),
    (
        Output("pitch", "mm", "from crest to crest"),
        Output("per_inch", "", "threads an inch"),
        Output("major", "mm", "nominal outside"),
        Output("pitch_diameter", "mm", "basic pitch (effective) diameter"),
        Output("minor_external", "mm", "core of the screw"),
        Output("minor_internal", "mm", "basic bore of the nut"),
        Output("angle", "deg", "between the flanks"),
        Output("stress_area", "mm²", "of the screw in tension"),
        Output("drill_for_depth", "mm", "drill for the depth wanted"),
        Output("depth", "%", "depth of thread that the drill leaves"),
        Output("verdict", "", "usual, shallow, deep or too shallow"),
    ),
    thread_data,
    {"thread": "3/8 BSF", "drill": "8.2"},
    cautions=(
        "A tap breaks in a small hole and strips in a large one: try on scrap, cut with oil, eye "
        "protection. Compare with the tap maker's drill.",
    ),
    sources=(
        "depth by drill charts: 1.299038 P is a full 60° thread, 1.280654 P a full Whitworth one; "
        "65 to 85 % usual: common practice, no source",
    ),
    convention="diameters, not radii; depth is the share of a full thread on both sides",
)
THREE_WIRE: Final = Calc(
    "three_wire",
    "size over three wires, or the pitch diameter from it",
    (
        Input("thread", "M10x1.5, 1/2 UNF, 1 5/8-11 Whit", kind="text", needed=True),
        Input("wire", "diameter of the wires; the best when not given", "mm"),
        Input("reading", "measured over the wires", "mm"),
    ),
    (
        Output("best_wire", "mm", "touches at the pitch diameter"),
        Output("least_wire", "mm", "thinner sinks below the crests"),
        Output("most_wire", "mm", "thicker rides on the crests"),
        Output("wire", "mm", "as reckoned with"),
        Output("over_wires", "mm", "for the basic size"),
        Output("basic_pitch_diameter", "mm", "basic pitch (effective) diameter"),
        Output("pitch_diameter", "mm", "from the reading"),
        Output("difference", "µm", "from basic; minus is under"),
        Output("verdict", "", "over basic, basic or under basic"),
    ),
    three_wire,
    {"thread": "M10x1.5", "wire": "0.866", "reading": "10.31"},
    cautions=(
        "Wires slip: hold them lightly, never with a running spindle; clean thread and anvils.",
    ),
    sources=(
        "M = E + w (1 + 1/sin a) − (P/2) cot a: F. D. Jones, Turning and Boring, p. 88, for 55°; "
        "limits of wires: a gauge maker's page",
    ),
    convention="the reading is over all three wires; one wire size for all",
)
