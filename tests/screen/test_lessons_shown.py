"""Lessons of past runs stand on their step and, lately added, on the board."""

import shutil

import pytest
from screen_bench import press, settled, show_run, until

from benchrun.history.lesson_commands import fold_lessons
from benchrun.history.lessons import all_lessons
from benchrun.procedure.load import load
from benchrun.rehearse.play import rehearse
from benchrun.run import commands as c

DAY = 86_400_000
WORDS = "Hold the lever by its web, the eye is slippery."


@pytest.fixture
def past(bench, every_state):
    """A run in which somebody learned something, three days ago."""
    shutil.copy(every_state, bench.shop.path / "procedures" / "every-state.yaml")
    session = bench.begin(every_state, ["left"], "past")
    session.send(c.KeepLesson(WORDS, "wipe")).result()
    session.leave()
    bench.clock.wait(3 * DAY)
    return session


async def test_a_lesson_of_a_past_run_stands_on_its_step_with_who_and_when(
    bench, every_state, past
):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await until(bench, f"lesson    {WORDS}")
        assert "Ada Brook, 3 days ago" in bench.screen()
        await press(pilot, "enter")
        assert WORDS not in bench.screen()


async def test_many_lessons_are_counted_on_the_step_and_read_in_full_under_0(
    bench, every_state, past
):
    session = bench.begin(every_state, ["arm"])
    for number in range(3):
        session.send(c.KeepLesson(f"Lesson {number} of [b]this[/] run.", "wipe")).result()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await until(bench, "2 more lessons, 0 shows all")
        assert "Lesson 2 of [b]this[/] run." in bench.screen()
        await press(pilot, "0")
        assert WORDS in bench.screen()
        assert "Lesson 0" in bench.screen()


async def test_a_lesson_written_now_is_shown_to_the_next_part(bench, every_state):
    session = bench.begin(every_state, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "3", *"Dry it", "enter")
        await until(bench, "lesson    Dry it  Ada Brook, today")


async def test_the_board_shows_what_was_learned_lately_and_not_what_was_settled(
    bench, every_state, past
):
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "NEW LESSONS")
        assert WORDS in bench.screen()
    n = next(one.n for one in past.entries if one.kind == "lesson")
    (bench.shop.path / "lessons.yaml").write_text(
        f"lessons:\n  - {{run: {past.folder.run}, entry: {n}, now: retired, reason: no}}\n"
    )
    bench.new_app()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "BEGIN")
        assert "NEW LESSONS" not in bench.screen()


async def test_a_damaged_list_of_settled_lessons_is_told_by_its_line(bench, every_state, past):
    (bench.shop.path / "lessons.yaml").write_text("lessons:\n  - {run: 1}\n")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "a row needs run, entry")


PAGE = """\
# Every comment stays.
procedure: tiny
title: Wipe and hang
revision: 1
status: draft
scope: Invented, for tests only.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - do: Wipe the part clean.   # with a rag
        id: wipe
      - do: Hang the part up.
        id: hang
"""
SCRIPT = """\
rehearse: tiny
invented: yes
parts: [a]
begins: 2026-11-2%d 08:00
then:
  - to: hang
%s
  - to the end
"""


def rehearsed(bench, day, lesson=""):
    """Rehearse the procedure of the shop into its runs; a lesson is learned at the second step."""
    script = bench.shop.path / f"day-{day}.yaml"
    script.write_text(SCRIPT % (day, f"  - {{lesson: {lesson}, at: hang}}" if lesson else ""))
    rehearse(
        bench.shop.procedure("tiny"), script, bench.shop.runs / f"2026-11-2{day}-tiny-day{day}"
    )


async def pages(bench):
    """The board, and the page of the second step in a run of the procedure as it stands."""
    app = bench.new_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "BEGIN")
        await app.workers.wait_for_complete()
        app.screen.paint()
        board = bench.screen()
        session = bench.begin(bench.shop.procedure("tiny"), ["arm"], "next")
        run = await show_run(app, session)
        await app.workers.wait_for_complete()
        await press(pilot, "enter")
        assert "Hang the part up" in bench.screen()
        step = bench.screen()
        assert run.session is session
        app.leave_runs()
    shutil.rmtree(session.folder.path)
    return board, step


async def test_a_lesson_of_one_rehearsal_is_seen_in_the_next_folded_and_then_no_longer_new(bench):
    path = bench.shop.path / "procedures" / "tiny.yaml"
    path.write_text(PAGE)
    rehearsed(bench, 3, "Use the long hook")
    board, step = await pages(bench)
    assert "Use the long hook" in board.partition("NEW LESSONS")[2]
    assert " lesson    Use the long hook  Rehearsal First Hand, 2 days ago" in step
    (lesson,) = all_lessons(bench.shop)
    fold_lessons(bench.shop, [lesson.id], bench.person.id, bench.clock.now())
    procedure = load(path)
    assert procedure.revision == 2
    assert procedure.route.steps["hang"].lessons == ("Use the long hook",)
    text = path.read_text()
    assert "# Every comment stays." in text
    assert "# with a rag" in text
    board, step = await pages(bench)
    assert "Use the long hook" not in board
    assert step.count("Use the long hook") == 1
    assert "days ago" not in step
    rehearsed(bench, 4, "Count the hooks")
    board, step = await pages(bench)
    assert "Count the hooks" in board
    assert " lesson    Use the long hook" in step
    assert " lesson    Count the hooks  Rehearsal First Hand, yesterday" in step
