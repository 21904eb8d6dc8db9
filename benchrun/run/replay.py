"""The command that an entry answers to, so that verifying can decide again and compare."""

from dataclasses import replace
from typing import Any, cast

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
    """Rebuild the command from what entry `n` says."""
    seen = n - 1
    match data:
        case e.Opened():
            return c.Open(data.parts, data.about)
        case e.Added():
            return c.Add(data.part, data.step, data.waited, data.reason)
        case e.Did():
            return _did(data, seen)
        case e.WentIn():
            return c.PutIn(data.step, data.parts, seen, data.reason, data.ago, data.uses)
        case e.CameOut():
            return c.Lift(data.parts, seen, data.reason, data.ago)
        case e.Tended():
            return c.Tend(data.parts, seen)
        case e.Skipped():
            return c.Skip(data.step, data.parts, seen, data.reason)
        case e.Answered():
            questions = {part: outcome.settles for part, outcome in data.each.items()}
            return c.Settle(data.parts, seen, questions, data.code, data.reason)
    return _other(data, seen)


def _did(data: e.Did, seen: int) -> c.Do:
    values = [outcome.value for outcome in data.each.values() if outcome.value is not None]
    typed = values[0].typed if values else ""
    finding = values[0].word if values else ""
    return c.Do(
        data.step,
        data.parts,
        seen,
        typed,
        finding,
        data.tool,
        data.reason,
        sure=True,
        uses=data.uses,
    )


def _other(data: e.Data, seen: int) -> c.Command:
    match data:
        case e.Moved():
            return c.Put(data.parts, seen, data.to, data.reason)
        case e.GotBack():
            return c.GetBack(data.parts, seen, data.reason)
        case e.Asked(says=""):
            return c.FindLate(data.step, data.parts, seen)
        case e.Asked():
            return c.Raise(data.parts, seen, data.says)
        case e.Corrected():
            typed, word = data.given.typed, data.given.word
            return c.Correct(
                data.of, data.part, data.reason, typed, word, data.place, data.tool, seen
            )
        case e.Retracted():
            return c.Retract(data.of, seen, data.reason)
    return _whole_run(data)


def _whole_run(data: e.Data) -> c.Command:
    match data:
        case e.Stopped():
            return c.Stop(data.reason)
        case e.Resumed():
            return c.Resume(data.reason)
        case e.Closed():
            return c.Close(data.reasons, data.says)
    return _kept(data)


def _kept(data: e.Data) -> c.Command:
    match data:
        case e.Signed():
            return c.SignOff(data.who, data.sshsig)
        case e.Sealed():
            return c.KeepSeal(data.sshsig, data.who, data.why)
        case e.Note():
            return c.KeepNote(data.text, data.step, data.parts)
        case e.Photo():
            return _photo(data)
        case e.Lesson():
            return c.KeepLesson(data.text, data.step)
        case e.Beat():
            return c.KeepBeat(data.slept, data.stepped)
        case e.Recovered():
            return c.KeepRecovered(data.files)
        case e.Doubted():
            return c.KeepDoubt(data.findings, data.reason)
    raise TypeError(f"no command is behind {data!r}")


def _photo(data: e.Photo) -> c.KeepPhoto:
    return c.KeepPhoto(
        data.file, data.sha256, data.bytes, data.step, data.text, data.parts, data.position
    )
