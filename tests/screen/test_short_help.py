"""`?` says in three lines what the page in front is for and which keys it has."""

import pytest
from drawn_pages import DrawnRun
from screen_bench import press, settled

from benchrun.dialogue.guide import chapters
from benchrun.screen.page_api import EVERYWHERE

ARMS = ["arm 1", "arm 2"]


@pytest.fixture
def run(bench, every_state) -> DrawnRun:
    """Two arms at the first step, on paper."""
    return DrawnRun(bench, bench.begin(every_state, ARMS))


def said(run) -> list[str]:
    """The three rows above the line of keys."""
    rows = run.page(80, 24).text.rstrip().splitlines()
    at = next((place for place, row in enumerate(rows) if EVERYWHERE in row), None)
    return [] if at is None else [row.strip() for row in rows[at - 2 : at + 1]]


def test_three_lines_stand_for_the_page_in_front_and_the_next_key_takes_them_away(run):
    run.press("?")
    first, keys, everywhere = said(run)
    assert first.startswith("The work in hand")
    assert keys.startswith("Enter done, both")
    assert everywhere == EVERYWHERE
    run.press("+")
    assert said(run) == []


@pytest.mark.parametrize(
    ("way", "about"),
    [
        (["*"], "A number chooses"),
        (["/"], "A number chooses"),
        (["/", "3"], "Every entry of the log"),
        (["."], "Every part of the batch"),
        (["/", "2"], "A page to read"),
    ],
)
def test_every_page_has_its_own_three_lines(run, way, about):
    run.press(*way, "?")
    assert said(run)[0].startswith(about)


def test_a_text_takes_the_sign_itself_and_f1_helps_there(run):
    run.press("*", "1", *"why")
    run.press("?")
    assert said(run) == []
    assert "why?" in run.page(80, 24).text
    run.press("help")
    assert said(run)[0].startswith("A text to type")


def test_asked_again_every_key_is_told(run):
    run.press("?", "?")
    assert "do what is first" in run.page(80, 24).text


async def test_the_board_looks_up_the_guide_by_its_chapters(bench):
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "question_mark")
        assert "The shop now" in bench.screen()
        await press(pilot, "slash", "3")
        assert "1  The smallest procedure" in bench.screen()
        await press(pilot, "1")
        assert "smallest" in bench.screen().splitlines()[0]
        await press(pilot, "escape", "escape", "escape")
        assert "BEGIN" in bench.screen()


def test_the_index_of_the_guide_is_that_of_its_file():
    assert len(chapters()) >= 10
    assert all(lines for lines in chapters().values())
