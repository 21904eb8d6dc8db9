"""The front of a record: what was done, was it in limits, by whose authority, may it be trusted."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from benchrun.account.facts import PartFacts, QuestionFacts, RunFacts
from benchrun.approvals import level_words
from benchrun.lean_dataclass import lean_dataclass
from benchrun.part_names import part_names
from benchrun.report.authority import (
    authority_section,
    released_words,
    unreleased_words,
    waived_words,
)
from benchrun.report.close_lines import close_words
from benchrun.report.conformity import (
    book_words,
    conformity_section,
    instrument_doubts,
    standing,
    typed_limits,
)
from benchrun.report.doc import (
    Block,
    Cell,
    Fields,
    Para,
    Section,
    Sheet,
    Table,
    table_of,
)
from benchrun.report.proof import shop_head, texts_of, trust_words
from benchrun.report.room import PAGE, height_of, height_of_card
from benchrun.report.wording import MANY, job_parts_words, parts_words
from benchrun.text import count, listed
from benchrun.wording import STATES, minute_words

_MOST: Final = 12
_FEW: Final = 6
_SOME: Final = 4
_MOST_OUT: Final = 6
_SPARE: Final = 10.0  # points by which the height of a front may be misjudged
_MOST_RUNS: Final = 8
_MOST_FAULTS: Final = 3
_MOST_RECEIPT: Final = 4
_NO_LOOK: Final = "no look on receipt is recorded"
_FELL: Final = ("withdrawn", "undone")
ONLY_THESE: Final = "these parts only, as they were when the work was done; whole with its annexes"


@lean_dataclass(frozen=True, slots=True)
class Issue:
    """The issue of a record: its title, its time, for whom.

    Attributes:
        title: What a job is called; empty for a plain title.
        at: When it is issued, RFC 3339; empty where nobody says.
        owner: For whom, or empty.
        table: Which of its tables a form for machines holds.
    """

    title: str = ""
    at: str = ""
    owner: str = ""
    table: str = "readings"


def front_sheet(runs: Sequence[RunFacts], issue: Issue) -> Sheet:
    """The first page of a record of one run or of the runs of a job."""
    title = issue.title or (runs[0].title if len(runs) == 1 else "Job record")
    rehearsed = all(run.rehearsal for run in runs)
    over = "Rehearsal, not work" if rehearsed else "Record of work and inspection"
    done = Section("What was done, and the result", (_results(runs),))
    after = (_out_section(runs), authority_section(runs), _trust_section(runs))
    sheet = Sheet(title, over, _card(runs, issue), tuple(_words(runs)))
    room = PAGE - _SPARE - height_of_card(sheet) - sum(map(height_of, (done, *after)))
    return replace(sheet, sections=(done, conformity_section(runs, room), *after))


def _card(runs: Sequence[RunFacts], issue: Issue) -> Fields:
    shops = listed(list(dict.fromkeys(run.shop for run in runs)))
    ended = "" if all(run.closed for run in runs) else "; not all closed"
    ended = "; not closed" if len(runs) == 1 and ended else ended
    last = minute_words(max(run.last for run in runs))
    return Fields(
        (
            ("Record of", _runs_words(runs)),
            ("Issued", f"{minute_words(issue.at)} UTC by {shops}" if issue.at else shops),
            ("For", issue.owner),
            ("Parts", _parts_field(_parts(runs))),
            ("Relates to", ONLY_THESE),
            ("As received", _receipt(runs) or ("" if len(runs) > 1 else _NO_LOOK)),
            ("Procedure", _procedure_words(runs[0]) if len(runs) == 1 else ""),
            ("Work", f"{minute_words(min(run.began for run in runs))} to {last} UTC{ended}"),
            ("Worked by", names(name for run in runs for name in hands(run))),
            ("Released by", released_words(runs)),
            ("Head of the shop", shop_head(runs[-1])),
        )
    )


def _parts(runs: Sequence[RunFacts]) -> list[PartFacts]:
    """Each part once, as its last run left it, with the numbers that any run knows."""
    last: dict[str, PartFacts] = {}
    for part in (part for run in runs for part in run.parts):
        before = last.get(part.part)
        identity = part.identity or (before.identity if before else "")
        last[part.part] = replace(part, identity=identity)
    return list(last.values())


def _runs_words(runs: Sequence[RunFacts]) -> str:
    """The id of a run; of a job the number, the id and the revision of each."""
    if len(runs) == 1:
        return runs[0].run
    revisions = [_revision(run) for run in runs]
    alike = len(set(revisions)) == 1
    said = [
        f"{number}: {run.run}" if alike else f"{number}: {run.run} (revision {revision})"
        for number, (run, revision) in enumerate(zip(runs, revisions, strict=True), 1)
    ]
    more = [f"{len(said) - _MOST_RUNS} more, see The runs"] if len(said) > _MOST_RUNS else []
    each = f" (each revision {revisions[0]})" if alike else ""
    return "; ".join((*said[:_MOST_RUNS], *more)) + each


def _procedure_words(run: RunFacts) -> str:
    said = f"{run.title}, {run.procedure} revision {_revision(run)}"
    edition = ", ".join(filter(None, (said, run.dated, level_words(run.use))))
    return f"{edition}. {run.approval}" if run.approval else edition


def _revision(run: RunFacts) -> str:
    return f"{run.revision}" if run.status == "approved" else f"{run.revision}, {run.status}"


def _parts_field(parts: Sequence[PartFacts]) -> str:
    if len(parts) > MANY:
        return f"{len(parts)}: {part_names([part.part for part in parts])}"
    return listed([_with_numbers(part) for part in parts], most=MANY)


def _with_numbers(part: PartFacts) -> str:
    return f"{part.part} ({part.known_as})" if part.known_as else part.part


def _receipt(runs: Sequence[RunFacts]) -> str:
    """The notes and findings on the parts before the first work on them, in few words."""
    first = runs[0]
    worked = min((act.n for act in first.acts if act.kind in ("in", "out")), default=None)
    stage = next((act.stage for act in first.acts if act.stage), "")
    steps = {act.step for act in first.acts if act.stage == stage}
    found: dict[str, list[str]] = {}
    for finding in first.findings:
        if finding.step in steps and not finding.taken_back:
            said = f"{finding.text.removesuffix('.')}: {finding.found}"
            found.setdefault(said, []).append(finding.part)
    batch = [part.part for part in first.parts]
    words = [note.text for note in first.notes if worked is not None and note.n < worked]
    words += [
        word if set(parts) == set(batch) else f"{word} ({parts_words(dict.fromkeys(parts), batch)})"
        for word, parts in found.items()
    ]
    return "; ".join(words[:_MOST_RECEIPT])


def names(people: Iterable[str]) -> str:
    """Names of people, each once, in the order in which they come up."""
    return listed(tuple(dict.fromkeys(people)), most=_MOST) or "nobody"


def hands(facts: RunFacts) -> tuple[str, ...]:
    """The names of those who entered work, the one who began it first."""
    by = dict.fromkeys(act.by for act in facts.acts if act.by != "station")
    return tuple(facts.name_of(person) for person in by)


def _words(runs: Sequence[RunFacts]) -> Iterator[Para]:
    """Warnings before all else, then the result in a sentence."""
    rehearsed = sum(bool(run.rehearsal) for run in runs)
    if rehearsed == len(runs) == 1:
        yield Para(f"A rehearsal by a script, nothing was worked: {runs[0].rehearsal}", "bad")
    elif rehearsed:
        which = "Every run" if rehearsed == len(runs) else f"{rehearsed} of {len(runs)} runs"
        verb = "is a rehearsal" if rehearsed in (1, len(runs)) else "are rehearsals"
        yield Para(f"{which} {verb} by a script: nothing in it was worked.", "bad")
    lacks = {n: unreleased_words(run) for n, run in enumerate(runs, 1) if not run.rehearsal}
    why = [f"run {n}, {words}" if len(runs) > 1 else words for n, words in lacks.items() if words]
    if why:
        yield Para(f"Not released: {'; '.join(why)}.", "bad")
    waived = {n: waived_words(run) for n, run in enumerate(runs, 1)}
    told = [f"run {n}, {words}" if len(runs) > 1 else words for n, words in waived.items() if words]
    if told:
        yield Para(f"Hold waived: {'; '.join(told)}.", "doubt")
    still = [run for run in runs if not run.closed]
    if still and len(runs) == 1:
        at = minute_words(runs[0].last)
        yield Para(f"The run is open. This is its state at {at} UTC.", "doubt")
    for run in runs:
        if run.stopped:
            yield Para(f"The run is stopped: {run.stopped}", "bad")
    yield from close_words(runs)
    yield from book_words(runs)
    yield Para(result_words(_parts(runs)))
    yield _record_words(runs)
    instruments = len(list(instrument_doubts(runs)))
    weighed = [count(instruments, "doubt of an instrument", "doubts of instruments")]
    weighed = [*(weighed if instruments else []), *([odd_counts(runs)] if odd_counts(runs) else [])]
    if weighed:
        yield Para(f"To be weighed: {', '.join(weighed)}; see May it be trusted.", "doubt")


def result_words(parts: Sequence[PartFacts]) -> str:
    """The outcome of the parts, in one sentence."""
    batch = [part.part for part in parts]
    states: dict[str, list[str]] = {}
    for part in parts:
        states.setdefault(part.status, []).append(part.part)
    if len(states) == 1:
        who = parts_words(batch, batch)
        state = next(iter(states))
        words = STATES.get(state, state)
        if len(parts) == 1:  # a tag is written as it is stamped, so that it heads no sentence
            return f"Part {who} is {words}."
        return f"{who[:1].upper()}{who[1:]} are {words}."
    said = [
        f"{len(named)} {STATES.get(state, state)} ({listed(named, most=_SOME)})"
        for state, named in states.items()
    ]
    return f"Of {count(len(parts), 'part')}: {', '.join(said)}."


def _results(runs: Sequence[RunFacts]) -> Table:
    """One row a part; very many that came out alike share one."""
    parts = _parts(runs)
    batch = [part.part for part in parts]
    worked_in, verdicts = _runs_of(runs), _judged(runs)
    rows: dict[tuple[str, str, str, str, str], list[PartFacts]] = {}
    for part in parts:
        alone = part.part if len(parts) <= _FEW else ""
        # Where a part of a job stands is told in the annex of its run.
        stands = part.stands if len(runs) == 1 else ""
        why = "; ".join(dict.fromkeys(w for w in (part.reason, stands, *part.questions) if w))
        tag = part.part
        key = (alone, worked_in.get(tag, ""), verdicts.get(tag, ""), part.status, why)
        rows.setdefault(key, []).append(part)
    table_rows = [
        (
            parts_words((part.part for part in group), batch),
            group[0].known_as if len(group) == 1 else "",
            worked,
            judged,
            _result(status, why, judged),
        )
        for (_, worked, judged, status, why), group in rows.items()
    ]
    return table_of(("Part", "Numbers", "Work", "Characteristics", "Result"), table_rows)


STATUS_MARKS: Final = {"done": "", "scrap": "bad"}
"""The marks of the states of a part; any other is in doubt."""


def _judged(runs: Sequence[RunFacts]) -> dict[str, str]:
    """How the characteristics of each part stand, in words."""
    said: dict[str, list[str]] = {}
    for run in runs:
        for reading in standing(run):
            said.setdefault(reading.part, []).append(reading.verdict)
    words = ("inside", "in doubt", "outside")
    return {
        part: ", ".join(f"{of.count(word)} {word}" for word in words if word in of)
        for part, of in said.items()
    }


def _runs_of(runs: Sequence[RunFacts]) -> dict[str, str]:
    """Which runs of a job each part went through; nothing where there is only one run."""
    if len(runs) == 1:
        return {}
    through: dict[str, list[str]] = {}
    for number, run in enumerate(runs, 1):
        for part in run.parts:
            through.setdefault(part.part, []).append(str(number))
    return {
        part: f"{'run' if len(numbers) == 1 else 'runs'} {listed(numbers, most=20)}"
        for part, numbers in through.items()
    }


def _result(status: str, why: str, judged: str) -> Cell:
    words = "not finished" if status == "in play" else STATES.get(status, status)
    if status == "done" and "outside" in judged:
        return Cell(f"{words}, with a value outside that was accepted", mark="bad")
    if status == "done" and "in doubt" in judged:
        return Cell(f"{words}, with a value in doubt that was accepted", mark="doubt")
    return Cell(f"{words}: {why}" if why else words, mark=STATUS_MARKS.get(status, "doubt"))


def _out_section(runs: Sequence[RunFacts]) -> Section:
    """The section on what was out, late or found, and what was done about it."""
    rows: list[tuple[Cell | str, ...]] = []
    for run in runs:
        same: dict[tuple[str, str, str, str], list[QuestionFacts]] = {}
        for question in run.questions:
            if question.answer not in _FELL:
                key = (question.says, question.answer, question.reason, question.by)
                same.setdefault(key, []).append(question)
        for (says, answer, reason, by), group in same.items():
            parts = dict.fromkeys(question.part for question in group)
            decided = f"{answer}: {reason}" if answer and reason else answer or "STILL OPEN"
            rows.append(
                (
                    job_parts_words(parts, run, runs),
                    str(group[0].number or ""),
                    says,
                    Cell(decided, mark="" if answer else "bad"),
                    run.name_of(by) if by else "",
                )
            )
    title = "What was out, and what was done about it"
    if not rows:
        return Section(title, (Para("Nothing was out of limits, late, or found wanting."),))
    blocks: list[Block] = [
        table_of(("Part", "Step", "What was out", "What was done", "By"), rows[:_MOST_OUT], (1,))
    ]
    if len(rows) > _MOST_OUT:
        blocks.append(Para(f"{len(rows) - _MOST_OUT} more in the annexes.", "doubt"))
    return Section(title, tuple(blocks))


def _trust_section(runs: Sequence[RunFacts]) -> Section:
    """The reasons to trust it less: the record, the instruments, the limits, what is in doubt."""
    blocks: list[Block] = list(_record_doubts(runs))
    blocks += [Para(words, "doubt") for words in instrument_doubts(runs)]
    typed = typed_limits(runs)
    blocks += [Para(typed, "doubt")] if typed else []
    blocks.append(_odd_words(runs))
    return Section("May it be trusted", tuple(blocks))


def _record_words(runs: Sequence[RunFacts]) -> Para:
    """Whether the record itself can be trusted, in a sentence for the top of the page."""
    if len(runs) == 1:
        return trust_words(runs[0])
    whole = sum(bool(run.verdict and run.verdict.get("whole")) for run in runs)
    unread = sum(run.verdict is None for run in runs)
    mark = "" if whole == len(runs) else "doubt" if whole + unread == len(runs) else "bad"
    words = f"{whole} of {count(len(runs), 'record')} checked and whole"
    still = sum(not run.closed for run in runs)
    if still:
        words += f"; {count(still, 'run')} of {len(runs)} not closed yet"
        mark = mark or "doubt"
    strange = _strangers(runs)
    unknown = f"; the shop does not know the key of {listed(strange)}" if strange else ""
    return Para(f"{words}{unknown}.", mark or ("doubt" if strange else ""))


def _record_doubts(runs: Sequence[RunFacts]) -> Iterator[Para]:
    """Why the records themselves may not be trusted: the first faults, and keys not known."""
    faults = [
        f"run {number}, {fault}" if len(runs) > 1 else fault
        for number, run in enumerate(runs, 1)
        for fault in texts_of(run.verdict or {}, "faults")
    ]
    for fault in faults[:_MOST_FAULTS]:
        yield Para(f"DAMAGED: {fault}.", "bad")
    if len(faults) > _MOST_FAULTS:
        yield Para(f"{count(len(faults) - _MOST_FAULTS, 'more fault')}, see Proof.", "bad")
    if unchecked := [run for run in runs if run.verdict is None]:
        of = "the record" if len(runs) == 1 else count(len(unchecked), "record")
        yield Para(f"Nobody checked {of} when this was written.", "doubt")
    if strangers := _strangers(runs):
        yield Para(
            f"The shop does not know the key of {listed(strangers)}: who signed is not proven.",
            "doubt",
        )


def _strangers(runs: Sequence[RunFacts]) -> list[str]:
    return sorted(
        {
            str(who)
            for run in runs
            for who, known in (run.verdict or {}).get("known", {}).items()
            if known is False
        }
    )


def odd_counts(runs: Sequence[RunFacts]) -> str:
    """How many deviations, corrections, doubts and open questions there are; empty for none."""
    counts = (
        (sum(len(run.deviations) for run in runs), "deviation"),
        (sum(len(run.corrections) for run in runs), "correction"),
        (sum(len(run.doubts) for run in runs), "doubt"),
        (sum(run.open_questions for run in runs), "open question"),
    )
    return listed([count(number, word) for number, word in counts if number])


def _odd_words(runs: Sequence[RunFacts]) -> Para:
    odd = odd_counts(runs)
    if not odd:
        return Para("No deviations, no corrections, nothing in doubt.")
    return Para(
        f"{odd}: each with its reason in the annex, Deviations, corrections and doubts.",
        "doubt",
    )
