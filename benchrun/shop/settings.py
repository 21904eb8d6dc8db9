"""The shop's settings, in shop.yaml."""

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.procedure.files import read_file
from benchrun.shop.book_row import BookFault, BookRow, map_of, read_id
from benchrun.shop.file_writer import put_file
from benchrun.shop.folder import LONGEST_TITLE, Shop, with_format
from benchrun.shop.hours import (
    NO_HOURS,
    Hours,
    days_of,
    names_of_days,
    names_of_week,
    people_of_days,
    people_of_week,
    week_of,
)
from benchrun.shop.yaml_editor import with_value
from benchrun.shop.yaml_text import scalar
from benchrun.text import shown

SETTINGS: Final = MappingProxyType(
    {
        "title": "what the shop is called",
        "currency": "what a price without a currency is in: EUR",
        "remind days": "how many days ahead the board tells what falls due; 14 unless said",
        "least ratio": "how many times finer than a tolerance an instrument must be; 4 unless said",
        "watched folder": "where a phone's pictures arrive; the newest one goes into a run",
        "hours": "when somebody is in the shop: Tue Thu 19:00-22:30, Sat 9:00-16:00 with ada-brook",
        "people": "how many work at the same time on an evening; 1 unless said",
        "other hours": "on single days: 2026-12-24 closed, 2026-12-06 10:00-14:00 2 people",
        "works alone": "yes where one person does all: they check their own work the next day",
    }
)
"""The settings, each with what stands there."""
_FORMAT_WITH_NAMES: Final = 2
"""The form of a shop.yaml whose hours name people: a program that is too old for it says so."""
_FILE: Final = "shop.yaml"
_KEYS: Final = ("signs as", *SETTINGS)


@lean_dataclass(frozen=True, slots=True)
class Settings:
    """The settings of a shop.

    Attributes:
        currency: What a price without one is in, three capital letters; empty for none.
        remind_days: How many days ahead something due is told.
        least_ratio: How many times finer than a tolerance an instrument must be.
        watched: The folder into which a phone's pictures come; None for none.
        hours: When somebody is in the shop.
        people: How many work at the same time then.
        alone: Whether one person does all the work.
        faults: What is wrong in the file; the usual values stand in for those.
    """

    currency: str = ""
    remind_days: int = 14
    least_ratio: int = 4
    watched: Path | None = None
    hours: Hours = NO_HOURS
    people: int = 1
    alone: bool = False
    faults: tuple[BookFault, ...] = ()


def read_settings(shop: Shop) -> Settings:
    """The settings of a shop; what is missing or wrong has its usual value."""
    try:
        data, faults = map_of(read_file(shop.path / _FILE), _FILE, _KEYS)
    except BenchrunError as error:
        return Settings(faults=(BookFault(_FILE, 1, 1, error.message),))
    if data is None:
        return Settings(faults=faults)
    return _settings(BookRow(_FILE, data, _KEYS))


def _settings(row: BookRow) -> Settings:
    usual = Settings()
    row.take("signs as", read_id, "")
    week = row.take("hours", _week, usual.hours)
    days = row.take("other hours", _days, usual.hours)
    return Settings(
        currency=row.take("currency", _currency, usual.currency),
        remind_days=row.take("remind days", lambda text: _whole(text, 0, 366), usual.remind_days),
        least_ratio=row.take("least ratio", lambda text: _whole(text, 1, 100), usual.least_ratio),
        watched=row.take("watched folder", _folder, usual.watched),
        hours=Hours(
            week.week,
            days.days,
            week.week_people,
            days.day_people,
            week.week_names,
            days.day_names,
        ),
        people=row.take("people", lambda text: _whole(text, 1, 100), usual.people),
        alone=row.take("works alone", _yes_or_no, usual.alone),
        faults=tuple(row.faults),
    )


def _week(text: str) -> Hours:
    return Hours(week_of(text), week_people=people_of_week(text), week_names=names_of_week(text))


def _days(text: str) -> Hours:
    return Hours(days=days_of(text), day_people=people_of_days(text), day_names=names_of_days(text))


def hours_of(shop: Shop) -> Hours:
    """When a shop is attended; read again only when its settings changed."""
    try:
        stat = (shop.path / _FILE).stat()
    except OSError:
        return Hours()
    return _hours_in(shop, stat.st_mtime_ns, stat.st_size)


@lru_cache(maxsize=4)
def _hours_in(shop: Shop, _changed_ns: int, _size: int) -> Hours:
    return read_settings(shop).hours if _may_tell_hours(shop) else NO_HOURS


def _may_tell_hours(shop: Shop) -> bool:
    """Whether some line that is no comment could hold hours: else what reads YAML is not loaded."""
    try:
        content = read_file(shop.path / _FILE)
    except BenchrunError:
        return False
    rows = content.decode("utf-8", "replace").splitlines()
    told = any("hours" in row for row in rows if not row.lstrip().startswith("#"))
    return told or b"\\" in content or b"\0" in content  # spelled otherwise


def settings_in_words(shop: Shop) -> dict[str, str]:
    """The text in shop.yaml for each setting; empty where there is none, or it is no text."""
    try:
        data, _ = map_of(read_file(shop.path / _FILE), _FILE, _KEYS)
    except BenchrunError:
        data = None
    texts = {key: data.get(key, "") if data is not None else "" for key in SETTINGS}
    return {key: value if isinstance(value, str) else "" for key, value in texts.items()}


def set_keys(shop: Shop, values: Mapping[str, str]) -> None:
    """Set keys of shop.yaml; nothing is written unless the file then reads without a new fault.

    To be called while the shop is held with `alone`. See `enrol.change_settings` for the title.

    Raises:
        BenchrunError: The file is not sound, a value will not do, or it cannot be written.
    """
    path = shop.path / _FILE
    before = read_file(path)
    data, faults = map_of(before, _FILE, _KEYS)
    if data is None:
        raise BenchrunError(f"{faults[0].words}. Put that right first")
    text = before.decode("utf-8-sig")
    for key, value in values.items():
        if key == "title" and not value:
            raise BenchrunError("title: the shop needs one")
        if key == "title" and len(value) > LONGEST_TITLE:
            raise BenchrunError(f"title: at most {LONGEST_TITLE} letters, found {len(value)}")
        text = with_value(text, (key,), value)
    content = text.encode()
    known = {fault.text for fault in _settings(BookRow(_FILE, data, _KEYS)).faults}
    changed, _ = map_of(content, _FILE, _KEYS)
    after = _settings(BookRow(_FILE, changed, _KEYS)) if changed is not None else Settings()
    if new := [fault.text for fault in after.faults if fault.text not in known]:
        raise BenchrunError(new[0])
    if after.hours.named:
        content = with_format(text, _FORMAT_WITH_NAMES).encode()
    put_file(path, content, before)


def _currency(text: str) -> str:
    if len(text) == 3 and text.isascii() and text.isupper() and text.isalpha():
        return text
    raise BenchrunError(f"{shown(text, 20)!r} is no currency: three capital letters, such as EUR")


def _yes_or_no(text: str) -> bool:
    if text in ("yes", "no"):
        return text == "yes"
    raise BenchrunError(f"{shown(text, 20)!r} must be yes or no")


def _whole(text: str, low: int, high: int) -> int:
    if text.isascii() and text.isdigit() and len(text) < 5 and low <= int(text) <= high:
        return int(text)
    raise BenchrunError(f"{shown(text, 20)!r} must be a whole number from {low} to {high}")


def has_watched_folder(shop: Shop) -> bool:
    """Whether a folder is watched for pictures."""
    try:
        watched_folder(shop)
    except BenchrunError:
        return False
    return True


def watched_folder(shop: Shop) -> Path:
    """The folder into which a phone's pictures come.

    Raises:
        BenchrunError: The shop has none, or what it says of it is wrong.
    """
    settings = read_settings(shop)
    if settings.watched is not None:
        return settings.watched
    for fault in settings.faults:
        if fault.text.startswith("watched folder"):
            raise BenchrunError(f"{fault.file}: {fault.text}")
    raise BenchrunError(
        "no folder is watched for new pictures; shop.yaml names one, as watched folder: ~/Pictures"
    )


def _folder(text: str) -> Path | None:
    try:
        path = Path(text).expanduser()
    except RuntimeError:
        path = Path(text)
    if not path.is_absolute():
        raise BenchrunError(f"{shown(text, 80)!r} must be a whole path, from / or ~ on")
    return path


def shop_file(title: str, signs_as: str) -> str:
    """The contents of shop.yaml of a new shop."""
    return f"{SHOP_FILE}\nformat: 1\ntitle: {scalar(title)}\nsigns as: {signs_as}\n"


SHOP_FILE: Final = """\
# A shop: everything that this workshop keeps for benchrun, in plain files.
#
#   people.yaml       who works here, with their roles
#   instruments.yaml  what it measures with, and until when that is vouched for
#   supplies.yaml     what is used up: cans, bottles, baths
#   vessels.yaml      tubs, ovens and rails
#   parts.yaml        parts, and the vehicles or jobs they belong to
#   routes.yaml       which procedures a kind of part goes through, in order
#   words.yaml        verbs that your procedures have beside those that come along
#   signers           the public keys that this shop trusts (OpenSSH allowed signers)
#   keys/             private keys made here; keep this folder to yourself
#   procedures/       your own procedures; one with the id of a shipped one takes its place
#   runs/             one folder a run: log.jsonl is the record, nothing else counts
#   photos/           pictures of parts that were sent away
#   register.jsonl    which runs were opened and closed, chained like a log
#
# The .yaml files are yours: change them here or with benchrun, which keeps your comments and your
# order. Nothing in runs/ or register.jsonl may be edited: verify would tell.
#
# Settings, each with its usual value:
#
#   currency: EUR     what a price without a currency is in (none)
#   remind days: 14   how many days ahead the board tells what falls due
#   least ratio: 4    how many times finer than a tolerance an instrument must be
#   watched folder: ~/from the phone
#                     where a phone's pictures arrive; the newest one goes into a run (none)
#   hours: Tue Thu 19:00-22:30, Sat 9:00-16:00
#                     when somebody is in the shop; what would close in the dark is told (none)
#   other hours: 2026-12-24 closed, 2026-12-06 10:00-14:00 2 people
#                     the same for single days, and how many work then (none)
#   people: 2         how many work at the same time on an evening (1)
#   works alone: yes  one person does all the work: where another person should check it, the same
#                     one does, on the next day, and the record says so (no)
#
# The title is what the shop is called; change it as you like. `signs as` stands behind the @ in
# every signature (somebody@{signs as}) and must stay as it is: `signers` and old runs name it.
# `format` is the number of the form of these files; a benchrun that is too old for it says so.
"""
