"""Movements in the shop: supplies used, parts sent away and taken back, costs, runs, photos."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping
from pathlib import Path

from benchrun.errors import BenchrunError, disk_said
from benchrun.pictures.files import take_picture
from benchrun.shop.amounts import read_money, read_positive
from benchrun.shop.file_writer import put_file, shop_lock
from benchrun.shop.folder import Shop
from benchrun.shop.parts import PARTS, Part, Trip
from benchrun.shop.row_editor import add_line, change_line
from benchrun.shop.settings import read_settings
from benchrun.shop.supplies import SUPPLIES, Supply
from benchrun.text import count as counted
from benchrun.text import shown, slug


def enter_in_book(
    shop: Shop, name: str, deed: str, amount: str, on: dt.date, run: str = "", why: str = ""
) -> Supply:
    """Enter in a supply's book what was done with it.

    Args:
        shop: The shop.
        name: The supply's id.
        deed: used, back, counted or strength; see `supplies.BookLine`.
        amount: How much, with its unit, as typed.
        on: The day.
        run: The id of the run that it was for.
        why: Anything else.

    Returns:
        The supply as it stands then.

    Raises:
        BenchrunError: There is no such supply, the amount does not fit, or the disk refused.
    """
    if deed != "counted":
        read_positive(amount)
    line = {"on": on.isoformat(), deed: amount.strip(), "run": run, "why": why}
    return add_line(shop.path, SUPPLIES, name, "book", _said(line))


def send_away(
    shop: Shop,
    name: str,
    to: str,
    on: dt.date,
    *,
    count: int = 1,
    due: dt.date | None = None,
    photo: Path | None = None,
    unsure: bool = False,
    note: str = "",
) -> Part:
    """Write down that a part goes away.

    Args:
        shop: The shop.
        name: The part's id.
        to: Where it goes.
        on: The day.
        count: How many pieces go.
        due: When they are due back.
        photo: A picture of what goes; it is copied into the shop without its position.
        unsure: Whether it is kept although it could not be looked into, or not in full.
        note: Anything else.

    Raises:
        BenchrunError: There is no such part, it is away already, or the disk refused.
    """
    part = PARTS.read(shop.path).named(name)
    if part.gone:
        raise BenchrunError(f"{name} is {part.whereabouts}: receive it first")
    if not to.strip():
        raise BenchrunError("say where it goes")
    if not 1 <= count <= 9999:
        raise BenchrunError("count: a whole number of pieces from 1 to 9999 is needed")
    if due is not None and due < on:
        raise BenchrunError(f"it is due back on {due}, before it goes on {on}")
    line = {
        "sent": on.isoformat(),
        "to": to,
        "count": str(count) if count != 1 else "",
        "due": due.isoformat() if due else "",
        "photo": keep_photo(shop, photo, unsure=unsure) if photo else "",
        "note": note,
    }
    return add_line(shop.path, PARTS, name, "away", _said(line))


def take_back(
    shop: Shop,
    name: str,
    on: dt.date,
    *,
    came: int | None = None,
    photo: Path | None = None,
    unsure: bool = False,
) -> Part:
    """Write down that a part is back; what did not come stays away, in a line of its own.

    Args:
        shop: The shop.
        name: The part's id.
        on: The day.
        came: How many pieces came back; None for all that went, not counted.
        photo: A picture of what came; it is copied into the shop without its position.
        unsure: Whether it is kept although it could not be looked into, or not in full.

    Raises:
        BenchrunError: There is no such part, it is not away, more came than went, or the disk
            refused.
    """
    with shop_lock(shop.path):
        part = PARTS.read(shop.path).named(name)
        trip = part.gone
        if trip is None:
            raise BenchrunError(f"{name} is not away: it is at {part.whereabouts}")
        if came is not None and not 1 <= came <= trip.count:
            raise BenchrunError(f"{trip.count} went: say how many came back, from 1 to that")
        if on < trip.sent:
            raise BenchrunError(f"back: {on} is before it was sent, {trip.sent}")
        at = part.away.index(trip)
        values = {
            "back": on.isoformat(),
            "came": str(came) if came is not None else "",
            "photo back": keep_photo(shop, photo, unsure=unsure) if photo else "",
        }
        if came is not None and came < trip.count:
            # What is still away goes first: broken off in between, too much is looked for.
            add_line(shop.path, PARTS, name, "away", _rest_of(trip, came))
        return change_line(shop.path, PARTS, name, "away", lambda _: at, _said(values))


def back_words(part: Part) -> str:
    """The words for a part taken back: where it is, or how much of it is not here yet."""
    if part.gone:
        rest = counted(part.gone.count, "piece")
        return f"{part.id}: {part.away[-2].came or 0} came back; {rest} {part.whereabouts}"
    return f"{part.id} is back: {part.whereabouts}"


def _rest_of(trip: Trip, came: int) -> dict[str, str]:
    rest = {
        "sent": trip.sent.isoformat(),
        "to": trip.to,
        "count": str(trip.count - came),
        "due": trip.due.isoformat() if trip.due else "",
        "photo": trip.photo,
    }
    return _said(rest)


def enter_cost(shop: Shop, name: str, what: str, price: str, on: dt.date) -> Part:
    """Write down what was paid for a part.

    Args:
        shop: The shop.
        name: The part's id.
        what: What for.
        price: The amount; without a currency the shop's own is meant.
        on: The day.

    Raises:
        BenchrunError: There is no such part, the price is none, or the disk refused.
    """
    own = read_settings(shop).currency
    typed = price.strip()
    money = read_money(f"{typed} {own}" if own and typed[-1:].isdigit() else typed)
    line = {"on": on.isoformat(), "what": what, "price": money.words}
    return add_line(shop.path, PARTS, name, "costs", line)


def enter_run(shop: Shop, name: str, run: str, photos: Iterable[str] = ()) -> Part:
    """Write down that a part went through a run; doing it twice is harmless.

    Args:
        shop: The shop.
        name: The part's id.
        run: The run's id.
        photos: The run's pictures of it, as paths from the shop's folder.

    Raises:
        BenchrunError: There is no such part, or the disk refused.
    """
    part = PARTS.read(shop.path).named(name)
    if run not in part.runs:
        part = add_line(shop.path, PARTS, name, "runs", run)
    for photo in photos:
        if photo not in part.photos:
            part = add_line(shop.path, PARTS, name, "photos", photo)
    return part


def keep_photo(shop: Shop, source: Path, *, unsure: bool = False) -> str:
    """Copy a picture into the shop, without the position that it may tell.

    Args:
        shop: The shop.
        source: The picture; any file will do.
        unsure: Whether it is kept although it could not be looked into, or not in full.

    Returns:
        Its path from the shop's folder.

    Raises:
        MayTell: It could not be looked into, and `unsure` is not said.
        BenchrunError: It cannot be read, is too large, or the disk refused.
    """
    content = take_picture(source, unsure=unsure).data
    try:
        (shop.path / "photos").mkdir(exist_ok=True)
    except OSError as error:
        raise BenchrunError(f"{shown(str(shop.path), 200)}: {disk_said(error)}") from None
    digest = hashlib.sha256(content).hexdigest()
    ending = slug(source.suffix, "bin", 8)
    target = shop.path / "photos" / f"{slug(source.stem, 'photo')}-{digest[:8]}.{ending}"
    with shop_lock(shop.path):
        if not target.exists():
            put_file(target, content, None)
    return f"photos/{target.name}"


def _said(line: Mapping[str, str]) -> dict[str, str]:
    """A line without what is empty."""
    return {key: value for key, value in line.items() if value}
