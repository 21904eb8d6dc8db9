"""Drafts: a marker or a run in the making, written to in place until it is published.

One entry changes a dozen things of a part. A draft is a copy that nobody else has yet, so that
these are written into it one after the other; put into a run, or given back by fold, it is
published and never changes again. What it holds is shared with the marker or the run that it was
copied from: a table is put in its place changed, never changed itself.
"""

from typing import Any, NewType

from benchrun.run.state import Marker, Run

MarkerDraft = NewType("MarkerDraft", Marker)
"""A copy of a marker that may still be written to; it is read as any marker is."""

RunDraft = NewType("RunDraft", Run)
"""A copy of a run that may still be written to; it is read as any run is."""


def marker_draft(marker: Marker) -> MarkerDraft:
    """A copy of a marker, to be written to by `set_fields`."""
    new: Any = object.__new__(Marker)
    new.__dict__ = marker.__dict__.copy()
    draft: MarkerDraft = new
    return draft


def run_draft(run: Run) -> RunDraft:
    """A copy of a run, to be written to by `set_fields`."""
    new: Any = object.__new__(Run)
    new.__dict__ = run.__dict__.copy()
    draft: RunDraft = new
    return draft


def set_fields(draft: MarkerDraft | RunDraft, **fields: Any) -> None:
    """Write some fields of a draft.

    Raises:
        TypeError: One is none of its fields.
    """
    own = draft.__dict__
    known = len(own)
    own.update(fields)
    if len(own) != known:
        raise TypeError(f"{', '.join(fields)}: a field that {type(draft).__name__} has not")
