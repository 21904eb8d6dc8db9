"""Report, history, the text of a run and the notes of verifying tell one and the same of a log."""

import gc
import shutil
from pathlib import Path

import pytest

from benchrun.account.deviations import deviations_in, may_tell
from benchrun.account.entry_words import EntryWords
from benchrun.account.gather import gather
from benchrun.account.questions import asked_in
from benchrun.account.walk import facts_of
from benchrun.history.index import History
from benchrun.load_run import folded, read_kept
from benchrun.part_names import part_names
from benchrun.procedure.yamlread import read_yaml
from benchrun.record.folder import RunFolder
from benchrun.rehearse.play import rehearse
from benchrun.run.state import Status
from benchrun.verify import verify

ROOT = Path(__file__).resolve().parents[2]
REHEARSE = ROOT / "tests" / "rehearse"
ANSWERS = sorted((ROOT / "samples" / "answers").glob("*.yaml"))
CASES = sorted((REHEARSE / "cases").glob("*.yaml"))
KEPT = [
    *sorted((ROOT / "samples" / "shop" / "runs").iterdir()),
]
# A stopped run, a power cut and a value read again are told in every run of the tests.
USUAL = {"degrease-etch-coat.stopped-overnight", "degrease-etch-coat.power-cut"}


def scripts():
    for path in CASES:
        procedure = read_yaml(path.read_bytes())["rehearse"]
        page = REHEARSE / "procedures" / f"{procedure}.yaml"
        yield pytest.param(page, path, id=f"case-{path.stem}")
    for path in ANSWERS:
        page = ROOT / "procedures" / f"{path.name.partition('.')[0]}.yaml"
        marks = [] if path.stem in USUAL else [pytest.mark.long]
        yield pytest.param(page, path, id=path.stem, marks=marks)


@pytest.mark.parametrize(("procedure", "answers"), list(scripts()))
def test_a_rehearsal_is_told_alike_by_all_who_tell_of_it(procedure, answers, tmp_path):
    run = tmp_path / "runs" / "2026-03-02-told-aaaa"
    run.parent.mkdir()
    rehearse(procedure, answers, run)
    told_alike(run, tmp_path)


@pytest.mark.parametrize("run", KEPT, ids=lambda path: path.name)
def test_a_log_of_an_older_program_is_told_alike_and_verifies_as_ever(run, tmp_path):
    copy = tmp_path / "runs" / run.name
    shutil.copytree(run, copy)
    told_alike(copy, tmp_path)
    assert verify(run).whole


def test_a_log_that_was_told_leaves_nothing_that_only_a_search_for_circles_frees():
    procedure, entries = read_kept(RunFolder(KEPT[0]))
    facts_of(procedure, entries)
    gc.collect()
    gc.disable()
    try:
        assert facts_of(procedure, entries).entries == len(entries)
        assert gc.collect() == 0
    finally:
        gc.enable()


def told_alike(run, shop):
    facts = gather(run)
    procedure, entries = read_kept(RunFolder(run))
    with History(shop) as history:
        assert history.refresh().skipped == {}
        assert in_history(history.store, "deviations") == deviations_of(facts)
        assert in_history(history.store, "readings") == readings_of(facts)
        assert in_history(history.store, "parts") == parts_of(facts)
    in_the_text(facts, procedure, entries)
    notes = verify(run).doubts
    for remark in facts.deviations:
        assert any(note_of(remark, note) for note in notes), (remark, notes)
    state = folded(procedure, entries)
    for marker, part in zip(state.each(), facts.parts, strict=True):
        closed = state.ended and marker.status is Status.PLAY
        assert part.status == ("not done" if closed else marker.status.value)


def note_of(remark, note):
    words = note.startswith(f"entry {remark.n}: ") and remark.words[:250] in note
    return words and remark.reason[:150] in note


def deviations_of(facts):
    return sorted(
        (one.n, one.step, one.what, one.reason, part_names(one.parts)) for one in facts.deviations
    )


def readings_of(facts):
    values = [
        (one.n, one.part, one.place, one.value, one.verdict, one.low, one.high)
        for one in facts.readings
        if not one.taken_back
    ]
    values += [
        (one.n, one.part, "", one.found, one.found, "", "")
        for one in facts.findings
        if not one.taken_back
    ]
    return sorted(values)


def parts_of(facts):
    return sorted((one.part, one.status) for one in facts.parts)


QUERIES = {
    "deviations": "SELECT d.n, coalesce(s.step, ''), d.what, d.reason, d.parts "
    "FROM deviations AS d LEFT JOIN steps AS s ON s.id = d.step",
    "readings": "SELECT r.n, p.text, coalesce(place.text, ''), coalesce(r.number, w.text), "
    "coalesce(v.text, ''), r.low, r.high FROM readings AS r JOIN words AS p ON p.id = r.part "
    "LEFT JOIN words AS place ON place.id = r.place LEFT JOIN words AS v ON v.id = r.verdict "
    "LEFT JOIN words AS w ON w.id = r.word",
    "parts": "SELECT w.text, CASE WHEN s.status = 'in play' AND r.closed > 0 THEN 'done' "
    "ELSE s.status END FROM states AS s JOIN words AS w ON w.id = s.part, runs AS r "
    "WHERE s.n = (SELECT max(n) FROM states WHERE part = s.part)",
}


def in_history(store, what):
    return sorted(tuple(row) for row in store.execute(QUERIES[what]))


def in_the_text(facts, procedure, entries):
    wording = EntryWords(procedure, entries)
    said = {entry.n: " ".join(wording.words(entry)) for entry in entries}
    for remark in facts.deviations:
        assert remark.what in said[remark.n], remark
        assert remark.reason in said[remark.n], remark
    for question in facts.questions:
        assert question.says in said[question.n]
        if question.answer not in ("", "withdrawn", "undone"):
            assert question.answer in said[question.settled]
            assert question.reason in said[question.settled]
    for reading in facts.readings:
        if reading.corrected_by is None and reading.verdict:
            assert reading.verdict in said[reading.n]


@pytest.mark.parametrize("run", KEPT, ids=lambda path: path.name)
def test_the_quick_look_passes_over_nothing_that_deviates_or_asks(run):
    procedure, entries = read_kept(RunFolder(run))
    step_of, asked = procedure.route.steps.get, {}
    for entry, line in zip(entries, RunFolder(run).read().lines, strict=True):
        tells = [*asked_in(entry.data, step_of), *deviations_in(entry, step_of, asked.get)]
        assert not tells or may_tell(line.kind, line.data)
        asked |= {one.id: one for one in asked_in(entry.data, step_of)}
