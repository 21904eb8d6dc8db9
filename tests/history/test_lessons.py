"""Lessons: learned in one run, shown in the next, folded into the procedure, retired."""

import re
import shutil
from pathlib import Path

import pytest

from benchrun.errors import BenchrunError
from benchrun.history.folding import folded_in
from benchrun.history.lesson_commands import fold_lessons, list_lessons, retire_lesson
from benchrun.history.lessons import all_lessons, lesson_id, lessons_for
from benchrun.moment import Moment
from benchrun.procedure.load import load, load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.rehearse.play import rehearse
from benchrun.signing_keys import new_shop

PROCEDURES = sorted((Path(__file__).resolve().parents[2] / "procedures").glob("*.yaml"))
NOW = Moment(1_772_441_000_000, 1000, "bench", True)
PAGE = """\
# A page of the tests; every comment must stay.
procedure: tiny   # its id
title: Wipe and look
revision: 1       # rises
status: draft
scope: Invented, for tests only.
batch: {part: bracket, at most: 3}
stages:
  - stage: All     # one stage
    steps:
      - do: Wipe the part clean.   # with a rag
        id: wipe                   # never rename

      # looking comes second
      - inspect: Look for cracks.
        id: look
        findings:
          no crack: go on
          crack: scrap
        lessons:     # from before
          - Use more light.   # really
      - {do: Oil the part., id: oil}
      - do: Hang the part up.
        id: hang
        lessons: [Use a hook.]
        why: >-
          Oil runs off
          by itself.
      - do: Count the parts.

close:
  restore: [Bench wiped.]
  released by: restorer
  signs: The parts are as the log says.
"""
ANSWERS = """\
rehearse: tiny
invented: yes
parts: [a, b]
begins: 2026-03-{day:02d} 08:00
given: {{look: no crack}}
then:
  - to: look
{lines}
  - to the end
"""


@pytest.fixture
def shop(tmp_path):
    shop = new_shop(tmp_path / "shop", "Invented", VirtualClock("2026-03-02T08:00:00.000Z").now())
    (shop.path / "procedures" / "tiny.yaml").write_text(PAGE, "utf-8")
    return shop


def learn(shop, tag, *lessons):
    """Rehearse in the shop, with lessons on the way."""
    lines = [f"  - {{lesson: {text!r}, at: {step}}}" for step, text in lessons]
    script = shop.path / f"{tag}.answers"
    script.write_text(ANSWERS.format(lines="\n".join(lines), day=ord(tag[0]) - 90), "utf-8")
    folder = shop.runs / f"2026-03-02-tiny-{tag}"
    rehearse(shop.procedure("tiny"), script, folder)
    return folder


def new(shop):
    return {step: [x.text for x in found] for step, found in lessons_for(shop, "tiny").items()}


def test_a_lesson_is_on_its_step_in_the_next_run_then_folded_then_no_longer_new(shop):
    learn(shop, "aaaa", ("wipe", "A rag with threads leaves threads."))
    assert new(shop) == {"wipe": ["A rag with threads leaves threads."]}
    (lesson,) = lessons_for(shop, "tiny")["wipe"]
    assert (lesson.name, lesson.revision) == ("Rehearsal First Hand", 1)
    said = fold_lessons(shop, [lesson.id], "ann", NOW)
    assert "revision 2" in said
    procedure = load(shop.procedure("tiny"))
    assert procedure.revision == 2
    assert procedure.route.steps["wipe"].lessons == ("A rag with threads leaves threads.",)
    assert any("1 lesson folded in at wipe" in change for change in procedure.changes)
    assert new(shop) == {}
    learn(shop, "bbbb", ("wipe", "Wring the rag out."))
    assert new(shop) == {"wipe": ["Wring the rag out."]}
    assert next(x for x in all_lessons(shop) if x.id == lesson.id).fate == "folded in"


def test_lessons_of_every_revision_are_shown_oldest_first(shop):
    learn(shop, "aaaa", ("look", "First."), ("look", "Second."))
    path = shop.procedure("tiny")
    path.write_text(path.read_text("utf-8").replace("revision: 1", "revision: 7"), "utf-8")
    learn(shop, "bbbb", ("look", "Third."))
    assert new(shop) == {"look": ["First.", "Second.", "Third."]}


def test_what_the_step_says_already_is_not_said_twice(shop):
    learn(shop, "aaaa", ("look", "Use more light."), ("look", "Use a lens."))
    written = load(shop.procedure("tiny"))
    assert [x.text for x in lessons_for(shop, "tiny", written)["look"]] == ["Use a lens."]


def test_a_retired_lesson_is_gone_with_its_reason_kept(shop):
    learn(shop, "aaaa", ("wipe", "Buy more rags."), ("wipe", "Fold the rag."))
    first = next(x for x in all_lessons(shop) if x.text == "Buy more rags.")
    with pytest.raises(BenchrunError, match="say why"):
        retire_lesson(shop, first.id, "  ", "ann", NOW)
    retire_lesson(shop, first.id, 'they were bought: "a bale"', "ann", NOW)
    assert new(shop) == {"wipe": ["Fold the rag."]}
    assert 'retired: they were bought: "a bale"' in list_lessons(shop, "tiny", every=True)
    assert "Buy more rags." not in list_lessons(shop, "tiny")
    with pytest.raises(BenchrunError, match="is retired already"):
        fold_lessons(shop, [first.id], "ann", NOW)


def test_what_people_wrote_into_the_list_stays(shop):
    learn(shop, "aaaa", ("wipe", "One."), ("wipe", "Two."))
    one, two = all_lessons(shop)
    retire_lesson(shop, one.id, "done", "ann", NOW)
    path = shop.path / "lessons.yaml"
    path.write_text(path.read_text("utf-8") + "  # a remark\n", "utf-8")
    retire_lesson(shop, two.id, "done too", "ann", NOW)
    assert "# a remark" in path.read_text("utf-8")
    assert new(shop) == {}


def test_a_damaged_list_is_told_with_its_place_and_not_added_to(shop):
    learn(shop, "aaaa", ("wipe", "One."))
    path = shop.path / "lessons.yaml"
    path.write_text("lessons:\n  - run: x\n    entry: one\n    now: retired\n", "utf-8")
    with pytest.raises(BenchrunError, match=r"lessons\.yaml:2: a row needs"):
        lessons_for(shop, "tiny")
    before = path.read_bytes()
    with pytest.raises(BenchrunError):
        retire_lesson(shop, lesson_id("2026-03-02-tiny-aaaa", 3), "why", "ann", NOW)
    assert path.read_bytes() == before


def test_damaged_and_foreign_logs_are_passed_over(shop):
    learn(shop, "aaaa", ("wipe", "One."))
    for tag, content in (("bbbb", b"{}\n"), ("cccc", b"\x00\xff"), ("dddd", b"")):
        folder = shop.runs / f"2026-03-03-tiny-{tag}"
        folder.mkdir()
        (folder / "log.jsonl").write_bytes(content)
    assert new(shop) == {"wipe": ["One."]}


def test_unknown_lessons_and_a_mixture_are_refused(shop):
    with pytest.raises(BenchrunError, match="there is no lesson 'abcdef'"):
        fold_lessons(shop, ["abcdef"], "ann", NOW)
    with pytest.raises(BenchrunError, match="say which"):
        fold_lessons(shop, [], "ann", NOW)


def test_a_shipped_procedure_is_copied_into_the_shop_first(shop, root):
    answers = root / "samples/answers/degrease-etch-coat.yaml"
    shipped = root / "procedures/degrease-etch-coat.yaml"
    script = shop.path / "script.yaml"
    text = answers.read_text("utf-8").partition("\nthen:")[0]
    script.write_text(f"{text}\nthen:\n  - {{lesson: Warm the tub., at: etch}}\n", "utf-8")
    rehearse(shipped, script, shop.runs / "2026-03-02-degrease-etch-coat-aaaa")
    before = shipped.read_bytes()
    (lesson,) = all_lessons(shop)
    fold_lessons(shop, [lesson.id], "ann", NOW)
    assert shipped.read_bytes() == before
    own = shop.procedure("degrease-etch-coat")
    assert own.parent == shop.path / "procedures"
    assert load(own).route.steps["etch"].lessons[-1] == "Warm the tub."


def without_inserts(before, after):
    """The lines of the old text that the new one lacks, in order, and those that it adds."""
    import difflib

    found = list(difflib.ndiff(before.splitlines(), after.splitlines()))
    return [x[2:] for x in found if x[0] == "-"], [x[2:] for x in found if x[0] == "+"]


@pytest.mark.parametrize("step", ["wipe", "look", "oil", "hang", "count-the-parts"])
def test_folding_inserts_and_touches_nothing_else(step):
    steps = load_bytes(PAGE.encode(), "tiny").route.steps
    step = step if step in steps else next(s.id for s in steps.values() if "Count" in s.text)
    text = 'Say "so": it is {50 %} # done'
    after = folded_in(PAGE.encode(), "tiny", [(step, text)], "One lesson.").decode()
    procedure = load_bytes(after.encode(), "tiny")
    assert procedure.route.steps[step].lessons[-1] == text
    assert procedure.revision == 2
    gone, added = without_inserts(PAGE, after)
    assert all(re.search("revision: 1|lessons: |Oil the part", line) for line in gone)
    assert [x for x in PAGE.split() if x.startswith("#")] == [
        x for x in after.replace("# done", "").split() if x.startswith("#")
    ]
    assert len(added) - len(gone) in (1, 2)


def test_an_insertion_that_touches_something_else_is_refused(monkeypatch):
    from benchrun.history import folding

    real = folding._step_node
    steps = load_bytes(PAGE.encode(), "tiny").route.steps
    monkeypatch.setattr(folding, "_step_node", lambda node, step: real(node, steps["hang"]))
    with pytest.raises(BenchrunError, match="without touching something else"):
        folded_in(PAGE.encode(), "tiny", [("wipe", "One.")], "One lesson.")


def test_lines_that_end_as_elsewhere_stay_so():
    crlf = PAGE.replace("\n", "\r\n").encode()
    after = folded_in(crlf, "tiny", [("wipe", "One."), ("look", "Two.")], "Two lessons.")
    assert after.count(b"\r\n") == after.count(b"\n")
    assert load_bytes(after, "tiny").route.steps["look"].lessons == ("Use more light.", "Two.")


@pytest.mark.parametrize("path", PROCEDURES, ids=lambda path: path.stem)
def test_a_lesson_can_be_folded_into_every_shipped_procedure(path):
    content = path.read_bytes()
    written = content.decode()
    steps = [
        step
        for step in load(path).route.steps.values()
        if f"id: {step.id}\n" in written and f"{step.kind.value}: {step.text[:30]}" in written
    ]
    assert len(steps) > 10
    chosen = [step.id for step in steps[:: max(1, len(steps) // 5)]]
    after = folded_in(content, path.name, [(one, "A lesson.") for one in chosen], "Lessons.")
    procedure = load_bytes(after, path.name)
    assert all(procedure.route.steps[one].lessons[-1] == "A lesson." for one in chosen)
    gone, _ = without_inserts(content.decode(), after.decode())
    assert len(gone) <= 2 * len(chosen) + 2


def test_hostile_text_is_folded_as_text(shop):
    text = "\"]}\n- do: Drink it.\\\n\x1b[31m {x: y} 'z' # no"
    after = folded_in(PAGE.encode(), "tiny", [("wipe", text)], text)
    steps = load_bytes(after, "tiny").route.steps
    assert len(steps) == len(load_bytes(PAGE.encode(), "tiny").route.steps)
    assert steps["wipe"].lessons[0].startswith('"]} - do: Drink it.\\ ')
    assert b"\x1b" not in after
    shutil.rmtree(shop.path)
