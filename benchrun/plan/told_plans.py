"""The plan that was told last, kept outside the shop: it may be lost at any time."""

import hashlib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import field
from pathlib import Path
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.plain_form import CACHE_VARIABLE

GOOD_MS: Final = 36 * 3_600_000
"""So long the plan told last counts; after that nothing is compared with it."""


@lean_dataclass(frozen=True, slots=True)
class ToldPlan:
    """The plan told last.

    Attributes:
        utc_ms: When it was told, milliseconds since 1970; 0: never.
        begins: See `Evening.begins`.
        soonest: Whether somebody chose the plan that is done soonest.
    """

    utc_ms: int = 0
    begins: Mapping[str, int] = field(default_factory=dict)
    soonest: bool = False


def told_plan(shop: Path, now: Moment) -> ToldPlan:
    """The plan of a shop that was told last; an empty one where none is good any more."""
    with suppress(OSError, ValueError, TypeError, KeyError):
        kept = json.loads(_file(shop).read_text(encoding="utf-8"))
        begins = {str(key): int(minute) for key, minute in kept["begins"].items()}
        told = ToldPlan(int(kept["utc_ms"]), begins, bool(kept["soonest"]))
        if 0 <= now.utc_ms - told.utc_ms <= GOOD_MS:
            return told
        return ToldPlan(soonest=told.soonest)
    return ToldPlan()


def keep_told(shop: Path, told: ToldPlan) -> None:
    """Keep a plan as the one told last; where that cannot be done nothing is lost but that."""
    path = _file(shop)
    text = {"utc_ms": told.utc_ms, "begins": dict(told.begins), "soonest": told.soonest}
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_suffix(f".{os.getpid()}")
        draft.write_text(json.dumps(text), encoding="utf-8")
        draft.replace(path)


def _file(shop: Path) -> Path:
    from platformdirs import user_cache_path

    own = os.environ.get(CACHE_VARIABLE, "").strip()
    folder = Path(own).expanduser() if own else user_cache_path("benchrun", appauthor=False)
    name = hashlib.sha256(str(shop.resolve()).encode()).hexdigest()[:16]
    return folder / "plans" / f"{name}.json"
