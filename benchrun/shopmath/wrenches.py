"""The setting of a torque wrench with an extension."""

import math
from decimal import Decimal
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.shopmath.amount import Amount, rounded_to, said
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.refusals import between, positive


def torque_setting(
    target: Decimal, wrench: Decimal, extension: Decimal, angle: Decimal = Decimal(0)
) -> Result:
    """The setting of a torque wrench that turns the nut through an extension (crow-foot).

    setting = target × wrench / (wrench + extension × cos angle).

    Args:
        target: Torque wanted at the nut, N m.
        wrench: From the middle of the hand grip to the square drive, mm.
        extension: From the square drive to the nut, mm.
        angle: Between the extension and the wrench's line, degrees: 0 straight on, 90 across,
            180 folded back.

    Returns:
        setting in N m.

    Raises:
        BenchrunError: The angle is over 180, or the extension folds back past the hand.
    """
    positive("target", target, "N m")
    positive("wrench", wrench, "mm")
    if extension < 0:
        raise BenchrunError(f"extension is {said(extension, 'mm')}: it is not less than nothing")
    between("angle", angle, "deg", 0, 180, "between straight on and folded back")
    reach = extension * Decimal(repr(math.cos(math.radians(float(angle)))))
    # At 90° the cosine's float noise would leave a last digit that is no length.
    lever = wrench + rounded_to(reach, 12)
    if lever <= 0:
        raise BenchrunError("an extension folded back past the hand turns the nut the wrong way")
    setting = target * wrench / lever
    return Result(
        {"setting": Amount(setting, "N m")},
        workings=(
            f"{said(target, 'N m')} × {said(wrench, 'mm')} ÷ ({said(wrench, 'mm')} + "
            f"{said(extension, 'mm')} × cos {said(angle, 'deg')}) = {said(setting, 'N m')}",
        ),
        notes=("hold the grip at its middle: the length counts from there",),
    )


TORQUE_SETTING: Final = Calc(
    "torque_setting",
    "what to set on a torque wrench with an extension",
    (
        Input("target", "torque at the nut", "N m", needed=True),
        Input("wrench", "middle of the grip to the square drive", "mm", needed=True),
        Input("extension", "square drive to the nut", "mm", needed=True),
        Input("angle", "0 straight on, 90 across", "deg", default="0"),
    ),
    (Output("setting", "N m", "to set on the wrench"),),
    torque_setting,
    {"target": "80", "wrench": "400", "extension": "50", "angle": "0"},
    cautions=("Lock the angle: an extension that swings changes the torque.",),
    sources=("moment about the nut; agrees with a military manual on torque wrenches (TM 9-254)",),
)
