"""The command that an entry answers to, so that verifying can decide again and compare."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final, cast

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.state import Question


def same_outcome(decided: e.Data, kept: e.Data) -> bool:
    """Whether an entry says what the rules come to, in whatever words its questions are put.

    A later program may word a question or an answer better; what is asked, about what, and which
    answers are taken must be the same.
    """
    return decided == kept or _wordless(decided) == _wordless(kept)


def _wordless(data: e.Data) -> e.Data:
    each: dict[str, e.Outcome] | None = getattr(data, "each", None)
    if not each:
        return data
    bare = {
        part: replace(outcome, asks=tuple(map(_without_words, outcome.asks)))
        for part, outcome in each.items()
    }
    return cast("e.Data", replace(cast("Any", data), each=bare))


def _without_words(question: Question) -> Question:
    answers = tuple(replace(answer, text="") for answer in question.answers)
    return replace(question, says="", answers=answers)


def command_of(n: int, data: e.Data) -> c.Command:
    """The command that entry `n` answers to, rebuilt from what it says.

    Raises:
        TypeError: No command is behind an entry of this kind.
    """
    make = _COMMANDS.get(type(data))
    if make is None:
        raise TypeError(f"no command is behind {data!r}")
    return make(n - 1, data)


def _did(seen: int, data: e.Did) -> c.Do:
    typed = finding = ""
    for outcome in data.each.values():
        if outcome.value is not None:
            typed, finding = outcome.value.typed, outcome.value.word
            break
    return c.Do(
        data.step,
        data.parts,
        seen,
        typed,
        finding,
        data.tool,
        data.reason,
        data.uses,
        data.remarks,
        data.vessel,
        data.carried,
        data.waived,
        data.tools_back,
    )


def _answered(seen: int, data: e.Answered) -> c.Settle:
    questions = {part: outcome.settles for part, outcome in data.each.items()}
    return c.Settle(data.parts, seen, questions, data.code, data.reason)


def _asked(seen: int, data: e.Asked) -> c.Command:
    if data.says:
        return c.Raise(data.parts, seen, data.says)
    return c.FindLate(data.step, data.parts, seen)


def _corrected(seen: int, data: e.Corrected) -> c.Correct:
    typed, word = data.given.typed, data.given.word
    return c.Correct(
        data.of,
        data.part,
        data.reason,
        typed,
        word,
        data.place,
        data.tool,
        seen,
        data.document,
        data.page,
    )


def _photo(_seen: int, data: e.Photo) -> c.KeepPhoto:
    return c.KeepPhoto(
        data.file, data.sha256, data.bytes, data.step, data.text, data.parts, data.position
    )


_COMMANDS: Final[Mapping[type, Callable[[int, Any], c.Command]]] = {
    e.Opened: lambda seen, d: c.Open(d.parts, d.about, d.figures, d.tools_out),
    e.Figured: lambda seen, d: c.KeepFigure(d.figure),
    e.Added: lambda seen, d: c.Add(d.part, d.step, d.waited, d.reason),
    e.Did: _did,
    e.WentIn: lambda seen, d: c.PutIn(d.step, d.parts, seen, d.reason, d.ago, d.uses, d.vessel),
    e.CameOut: lambda seen, d: c.Lift(d.parts, seen, d.reason, d.ago),
    e.Told: lambda seen, d: c.Tell(d.step, d.parts, seen, d.reason, d.vessel),
    e.Witnessed: lambda seen, d: c.EndNotice(d.parts, seen, d.end, d.name, d.behalf),
    e.Tended: lambda seen, d: c.Tend(d.parts, seen),
    e.Begun: lambda seen, d: c.Begin(d.step, d.parts, seen, d.reason),
    e.Skipped: lambda seen, d: c.Skip(d.step, d.parts, seen, d.reason),
    e.Answered: _answered,
    e.Moved: lambda seen, d: c.Put(d.parts, seen, d.to, d.reason),
    e.GotBack: lambda seen, d: c.GetBack(d.parts, seen, d.reason),
    e.Asked: _asked,
    e.Corrected: _corrected,
    e.Retracted: lambda seen, d: c.Retract(d.of, seen, d.reason),
    e.Stopped: lambda seen, d: c.Stop(d.reason),
    e.Resumed: lambda seen, d: c.Resume(d.reason),
    e.CountedBack: lambda seen, d: c.CountBack(d.tools_back, d.reason),
    e.Ticked: lambda seen, d: c.TickLine(d.sort, d.line, d.done, d.reason),
    e.Closed: lambda seen, d: c.Close(d.reasons, d.says, d.remarks),
    e.Signed: lambda seen, d: c.SignOff(d.who, d.sshsig),
    e.Sealed: lambda seen, d: c.KeepSeal(d.sshsig, d.who, d.why),
    e.Note: lambda seen, d: c.KeepNote(d.text, d.step, d.parts),
    e.Photo: _photo,
    e.Lesson: lambda seen, d: c.KeepLesson(d.text, d.step),
    e.Beat: lambda seen, d: c.KeepBeat(d.slept, d.stepped),
    e.Recovered: lambda seen, d: c.KeepRecovered(d.files),
    e.Doubted: lambda seen, d: c.KeepDoubt(d.findings, d.reason),
}
