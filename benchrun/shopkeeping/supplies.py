"""Supplies from the command line: used, counted or measured; whether a paint suffices."""

from decimal import Decimal

from benchrun.moment import Moment
from benchrun.quantity import read
from benchrun.shop.amounts import StockAmount, day_of
from benchrun.shop.folder import Shop
from benchrun.shop.movements import enter_in_book
from benchrun.shop.supplies import SUPPLIES, paint_needed
from benchrun.shop_use.book_words import amiss_with
from benchrun.shop_use.supplies import sum_up_old_uses
from benchrun.shopmath.amount import said


def enter(
    shop: Shop, name: str, deed: str, amount: str, now: Moment, run: str = "", why: str = ""
) -> str:
    """Enter in a supply's book: used, back, counted or strength.

    Returns:
        What is left, and what is amiss, in a line.

    Raises:
        BenchrunError: There is no such supply, or the amount does not fit.
    """
    thing_words = enter_in_book(shop, name, deed, amount, day_of(now), run, why)
    sum_up_old_uses(shop)
    today = day_of(now)
    good = f"good until {thing_words.good_until}" if thing_words.good_until else "good"
    state = amiss_with(thing_words, today) or good
    return f"{thing_words.id}: {deed} {amount.strip()}; {thing_words.left.words} left; {state}"


def enough(shop: Shop, name: str, area: str, dft: str, coats: int, loss: str, thinner: str) -> str:
    """Whether a paint suffices for an area: what is needed against what is left.

    Args:
        shop: The shop.
        name: The paint's id.
        area: As typed: `0.8 m2`.
        dft: Dry film of one coat, as typed: `75 um`.
        coats: How many coats.
        loss: Share lost in brush and pot, as typed: `20 %`.
        thinner: Thinner added to the paint's volume, as typed: `10 %`.

    Raises:
        BenchrunError: There is no such paint, it has no solids, or a figure will not do.
    """
    paint = SUPPLIES.read(shop.path).named(name)
    needed = paint_needed(
        paint,
        read(area, "m²").to("m²"),
        read(dft, "µm").to("µm"),
        coats,
        loss=_share(loss),
        thinner=_share(thinner),
    )
    lacking = needed.to(paint.left.unit) - paint.left.value
    missing = StockAmount(lacking, paint.left.unit).words
    answer = f"short by {missing}" if lacking > 0 else "that suffices"
    wanted = said(needed.value, needed.unit)
    return f"{paint.name} ({paint.id}): {wanted} needed, {paint.left.words} left: {answer}"


def _share(text: str) -> Decimal:
    return read(text, "%").to("%")
