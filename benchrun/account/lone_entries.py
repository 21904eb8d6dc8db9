"""The words of entries that need to know no other: ticks, notes, photos, seals, the start."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Final

from benchrun.account.facts import RemarkFacts
from benchrun.account.papers import remark_words
from benchrun.account.start import conditions_of
from benchrun.part_names import part_names
from benchrun.run import entries as e
from benchrun.text import span
from benchrun.wording import CLOSE_DONE, CLOSE_LISTS


def closed_words(data: e.Closed, remarks: Iterable[RemarkFacts]) -> Iterator[str]:
    """A close: its statement, what is signed over, which parts it leaves and why."""
    yield f"to be closed, and signed: {data.says}"
    yield from (f"  signed over {remark_words(one)}" for one in data.remarks)
    for remark in remarks:
        yield f"  {part_names(remark.parts)}: {remark.words}: {remark.reason}"


def _sealed(data: e.Sealed) -> Iterator[str]:
    yield f"sealed ({data.why})"
    if data.program:
        yield f"  by {data.program}"
    yield from (f"  {note}" for note in data.notes)


def _photo(data: e.Photo) -> Iterator[str]:
    yield f"photo {data.file} {data.text}"
    if data.position.words:
        yield f"  {data.position.words}"


def _beat(data: e.Beat) -> Iterator[str]:
    """Sleep and steps of the clock; nothing of mere beats."""
    if data.slept:
        yield f"the machine slept for {span(data.slept)}"
    if data.stepped:
        yield f"the wall clock was set by {data.stepped / 1000:+.0f} s"


def _set_aside(data: e.Recovered) -> Iterator[str]:
    return (f"set aside when opened: {file.file}, {file.bytes} bytes" for file in data.files)


def opened_words(data: e.Opened) -> Iterator[str]:
    """With which parts a run was opened."""
    yield f"opened with {part_names(tuple(spec.part for spec in data.parts))}"


def _ticked(data: e.Ticked) -> str:
    state = CLOSE_DONE.get(data.sort, "done")
    return f"{CLOSE_LISTS.get(data.sort, data.sort)}, {state}: {data.text}"


def readied_words(data: e.Opened) -> Iterator[str]:
    """The conditions that were checked and the tools that went out before the start."""
    for one in conditions_of(data.about.get("conditions")):
        when = f", {one.by} {one.utc[11:16]}" if one.utc else ""
        yield f"  checked before the start{when}: {one.says}"
    if data.tools_out:
        first = data.tools_out[0]
        when = f", {first.who} {first.utc[11:16]}" if first.utc else ""
        yield f"  tools out{when}: {counts_words(data.tools_out)}"


def counts_words(counts: Iterable[e.ToolCount]) -> str:
    """Tools with their numbers: `2 × drift, 1 × puller`."""
    return ", ".join(f"{one.number} × {one.tool}" for one in counts)


ALONE: Final[Mapping[type, Callable[[Any], Iterable[str]]]] = {
    e.Begun: lambda data: (f"{part_names(data.parts)}: begun",),
    e.Tended: lambda data: (f"{part_names(data.parts)}: tended",),
    e.Note: lambda data: (f"{data.KIND}: {data.text}",),
    e.Lesson: lambda data: (f"{data.KIND}: {data.text}",),
    e.Ticked: lambda data: (_ticked(data),),
    e.GotBack: lambda data: (f"{part_names(data.parts)}: back again",),
    e.Resumed: lambda _: ("run resumed",),
    e.Sealed: _sealed,
    e.Photo: _photo,
    e.Beat: _beat,
    e.Recovered: _set_aside,
}
"""The words of an entry that needs to know no other, by its type."""
