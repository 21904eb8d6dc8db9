"""Pages of a run in every state, on paper of three sizes, kept as plain text and compared.

They are drawn without a terminal. After a change that is meant, `BENCHRUN_WRITE_PAGES=1 pytest
tests/screen/test_kept_pages.py` writes them anew; look at the difference before keeping it.
"""

import os
from pathlib import Path

import pytest
from drawn_pages import DrawnRun, without_numbers
from rich.cells import cell_len

from benchrun.procedure.load import ProcedureError

KEPT = Path(__file__).parent / "kept"
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
