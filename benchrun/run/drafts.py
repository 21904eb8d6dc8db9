"""Drafts: a marker or a run in the making, written to in place until it is published.

One entry changes a dozen things of a part. A draft is a copy that nobody else has yet, so that
these are written into it one after the other; put into a run, or given back by fold, it is
published and never changes again. What it holds is shared with the marker or the run that it was
copied from: a table is put in its place changed, never changed itself.

A draft is a marker or a run like any other to whoever reads it. That only drafts are written to,
and which fields of them, is seen to by the type checker.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from benchrun.run.state import Marker, Run

if TYPE_CHECKING:
    from benchrun.moment import Mark, Timeline
    from benchrun.run.state import (
        Decision,
        EndMark,
        LoadPlace,
        Question,
        Room,
        Soak,
        Status,
        Tick,
        ToolCount,
        Unsigned,
        Use,
        Value,
        ValueKey,
        WindowClock,
    )

    class MarkerDraft(Marker):
        """A copy of a marker that may still be written to."""

        index: int
        passes: tuple[int, ...]
        status: Status
        soak: Soak | None
        load: LoadPlace | None
        ready_since: tuple[int, Mark] | None
        place: str
        values: Mapping[ValueKey, Value]
        windows: Mapping[str, WindowClock]
        questions: tuple[Question, ...]
        decisions: Mapping[str, Decision]
        counts: Mapping[str, int]
        left: Mapping[int, int]
        carried: tuple[int, int | None]
        ahead: frozenset[int]
        coats: Mapping[str, tuple[tuple[int, ...], ...]]
        ended: Mapping[str, EndMark]
        doers: Mapping[str, Mark]
        last: int
        touched: int
        mates: int
        fixed: bool
        before: tuple[Marker, ...]
        earlier: Mapping[ValueKey, tuple[Value, ...]]
        begun: tuple[str, tuple[int, ...]] | None

    class RunDraft(Run):
        """A copy of a run that may still be written to."""

        n: int
        parts: tuple[str, ...]
        markers: Mapping[str, Marker]
        timeline: Timeline
        stopped: str
        ended: bool
        unsigned: Unsigned | None
        about: Mapping[str, object]
        used: Mapping[int, tuple[Use, ...]]
        format: int
        photographed: frozenset[tuple[str, str]]
        ticks: Mapping[tuple[str, int], Tick]
        rooms: tuple[Room, ...]
        set_ups: Mapping[str, int]
        worked: Mark | None
        figures: Mapping[str, Value]
        figures_before: Mapping[int, Mapping[str, Value]]
        tools_out: tuple[ToolCount, ...]
        counted_back: Mapping[int, tuple[ToolCount, ...]]

else:
    MarkerDraft, RunDraft = Marker, Run


def _marker_copier() -> Callable[[Marker], MarkerDraft]:
    """A function that copies a marker, written out field by field, as a loop over them is slow."""
    sets = "".join(f" new.{one.name} = old.{one.name}\n" for one in fields(Marker))
    known: dict[str, Any] = {"Marker": Marker, "make": object.__new__}
    exec(f"def copied(old):\n new = make(Marker)\n{sets} return new", known)  # noqa: S102  # our own field names
    copied: Callable[[Marker], MarkerDraft] = known["copied"]
    return copied


_copied = _marker_copier()


def marker_draft(marker: Marker) -> MarkerDraft:
    """A copy of a marker, to be written to."""
    return _copied(marker)


def run_draft(run: Run) -> RunDraft:
    """A copy of a run, to be written to."""
    draft: RunDraft = object.__new__(RunDraft)
    draft.__dict__ = run.__dict__.copy()
    return draft
