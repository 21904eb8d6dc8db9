"""Pages of a run in every state, on paper of three sizes, kept as plain text and compared.

They are drawn without a terminal. After a change that is meant, `BENCHRUN_WRITE_PAGES=1 pytest
tests/screen/test_kept_pages.py` writes them anew; look at the difference before keeping it.
"""

import os
import tempfile
from pathlib import Path

import pytest
from drawn_pages import DrawnRun, without_numbers
from rich.cells import cell_len
from screen_bench import Bench

from benchrun.procedure.load import ProcedureError

KEPT = Path(__file__).parent / "kept"
EVERY_STATE = Path(__file__).parent / "procedures" / "every-state.yaml"
SIZES = [(80, 24), (120, 40), (200, 50)]
MINUTE = 60_000
ARMS = ["arm 1", "arm 2", "arm 3", "arm 4"]
STRANGE = {
    "long titles": "Wipe every part dry, turn it over, and wipe what was below as well, all of it",
    "right-to-left": "Wipe \u05db\u05dc \u05d7\u05dc\u05e7 dry.",
    "combining": "Wipe e\u0301ve\u0302ry pa\u0308rt dry.",
    "wide": "Wipe \u5168\u90e8 \u96f6\u4ef6 dry.",
    "markup": "Wipe [b]x[/] [@click=app.quit]y[/] dry.",
}


PAGES = {
    "help": "?",
    "why": "0",
    "log": "/3",
    "procedure": "/2",
    "sums": "/4",
    "sum": "/41",
    "situation": "/5",
    "supplies": "/6",
    "other-work": "/7",
    "past": "/8",
    "write": "*",
    "note": "*1",
    "photo": "*2",
    "lesson": "*3",
    "deviation": "*4",
    "query": "*46",
    "correct": "*5",
    "undo": "*6",
    "hand-over": "*7",
}
"""The pages that a run opens, and the keys that lead there."""


def compared(run: DrawnRun, name: str) -> list[str]:
    """What is not as it is kept, of a page on paper of each size."""
    wrong = []
    for width, height in SIZES:
        path = KEPT / f"{name}-{width}x{height}.txt"
        page = run.page(width, height)
        assert len(page.rows) == height
        assert all(cell_len(row.text) <= width for row in page.rows), (name, width)
        if os.environ.get("BENCHRUN_WRITE_PAGES"):
            path.write_text(without_numbers(page.text))
        elif not path.exists() or path.read_text() != without_numbers(page.text):
            wrong.append(f"{path.name} is now\n{page.text}")
    return wrong


def states(run: DrawnRun):
    """The states of a run, one after the other, with their names."""
    yield "fresh"
    run.press("enter", "1", "enter")
    run.wait(MINUTE)
    yield "early"
    run.wait(MINUTE)
    yield "due"
    run.press("enter")
    run.wait(16 * MINUTE)
    run.press("enter")
    run.wait(MINUTE // 2)
    yield "soon"
    run.wait(3 * MINUTE)
    yield "late"
    run.press("enter")
    yield "question"


def test_the_states_of_a_soak_stand_as_they_are_kept(bench, every_state):
    run = DrawnRun(bench, bench.begin(every_state, ARMS))
    wrong = [text for name in states(run) for text in compared(run, name)]
    assert not wrong, "\n".join(wrong)


@pytest.fixture(scope="module")
def soaking(tmp_path_factory) -> DrawnRun:
    """Three of four arms in the tub."""
    bench = Bench(tmp_path_factory.mktemp("soaking"), people=["Bea Mill"])
    run = DrawnRun(bench, bench.begin(EVERY_STATE, ARMS))
    run.press("enter", "1", "enter")
    run.wait(MINUTE)
    return run


@pytest.mark.parametrize("name", PAGES)
def test_every_page_that_a_run_opens_stands_as_it_is_kept(soaking, name):
    soaking.press(*PAGES[name])
    wrong = compared(soaking, f"page-{name}")
    while len(soaking.screen.panes) > 1:
        soaking.press("-" if name != "sum" else "back")
    assert not wrong, "\n".join(wrong)


def test_the_pages_of_a_signature_and_the_end_stand_as_they_are_kept(every_state):
    with tempfile.TemporaryDirectory(prefix="bench-") as folder:  # a page shows where it lies
        bench = Bench(Path(folder), people=["Bea Mill"])
        wrong = signed(DrawnRun(bench, bench.begin(every_state, ["arm"])))
    assert not wrong, "\n".join(wrong)


def signed(run: DrawnRun) -> list[str]:
    """What is not as it is kept from a reading outside to the end."""
    measured(run)
    wrong = []
    run.press(*"61.990", "enter")
    wrong += compared(run, "outside-query")
    run.press("1")
    for _ in range(4):
        run.press(*"61.96", "enter")
    run.press("enter", "enter")
    wrong += compared(run, "who-signs")
    run.press("1")
    wrong += compared(run, "signature")
    run.press(*"1234", "enter", "enter")
    wrong += compared(run, "close-line")
    run.press("1", "1", *"1234", "enter")
    assert run.session.run.ended
    return wrong + compared(run, "finished")


def test_a_resumed_run_stands_as_it_is_kept(bench, every_state):
    session = bench.begin(every_state, ARMS)
    run = DrawnRun(bench, session)
    run.press("enter", "1", "enter")
    run.wait(12 * MINUTE)
    again = DrawnRun(bench, session, resumed=True)
    again.wait(1000)
    assert not (wrong := compared(again, "resumed")), "\n".join(wrong)


def measured(run: DrawnRun) -> None:
    """One arm on its way to the first reading."""
    run.press("enter", "1", "enter")
    run.wait(12 * MINUTE)
    run.press("enter", "enter", "enter", "enter", "enter")
    for _ in range(2):
        run.wait(130 * MINUTE)
        run.press("enter", "enter", "enter")


def test_a_reading_outside_a_hold_and_the_end_stand_as_they_are_kept(bench, every_state):
    run = DrawnRun(bench, bench.begin(every_state, ["arm"]))
    measured(run)
    wrong = []
    run.press(*"61.990")
    wrong += compared(run, "outside")
    run.press("back")
    for _ in range(4):
        run.press(*"61.96", "enter")
    run.press("enter")
    wrong += compared(run, "hold")
    run.press("enter", "1", *"1234", "enter")
    wrong += compared(run, "close")
    assert not wrong, "\n".join(wrong)


def test_forty_parts_stand_as_they_are_kept(bench, every_state):
    run = DrawnRun(bench, bench.begin(every_state, [f"arm {n}" for n in range(1, 41)]))
    run.press("enter", "1", "enter")
    run.wait(MINUTE)
    wrong = compared(run, "forty")
    run.press(".")
    wrong += compared(run, "forty-parts")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("sort", STRANGE)
def test_strange_text_stays_in_its_cells(bench, every_state, tmp_path, sort):
    path = tmp_path / "strange.yaml"
    text = every_state.read_text()
    path.write_text(text.replace("do: Wipe every part dry.", f'do: "{STRANGE[sort]}"'))
    run = DrawnRun(bench, bench.begin(path, ARMS))
    assert not (wrong := compared(run, sort.replace(" ", "-"))), "\n".join(wrong)


def test_control_codes_come_to_no_page(bench, every_state, tmp_path):
    path = tmp_path / "strange.yaml"
    text = every_state.read_text()
    hidden = 'do: "Wipe every\\u202e part dry."'
    path.write_text(text.replace("do: Wipe every part dry.", hidden))
    with pytest.raises(ProcedureError, match="control character"):
        bench.begin(path, ARMS)
