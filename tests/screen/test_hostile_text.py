"""Markup and control codes in every text of a procedure, a shop and its people stay text."""

import copy
import unicodedata
from pathlib import Path

import pytest
from apprentice import next_keys
from keypad_hand import NAMES
from rich.cells import cell_len
from ruamel.yaml import YAML
from screen_bench import LOOK, Bench, press, show_run

from benchrun.dialogue.delivery import done
from benchrun.load_run import read_kept
from benchrun.run import entries as e
from benchrun.run.commands import KeepLesson, KeepNote
from benchrun.screen.run.screen import RunScreen
from benchrun.signing_keys import enrol
from benchrun.verify import verify

HOSTILE = " [b]x[/] [@click=app.quit]y[/] a[/]b $t {t} %s 漢字"
CODES = "note [@click=app.quit]z[/] \x1b[31mred\x07 \x1b]0;t\x07 \u202e \x9b2J"
TEXTS = {
    *("title", "scope", "applies to", "warning", "then", "avoid", "do", "inspect", "reading"),
    *("dwell", "hold", "work out", "why", "signs", "stage"),
}
LISTS = {"restore", "follow on", "first aid", "protection", "supplies", "before start"}


def poisoned(node, key=""):
    """The same procedure with hostile text in every place that takes any text."""
    if isinstance(node, dict):
        return {k: _text(k, v) for k, v in node.items()}
    if isinstance(node, list):
        return [one + HOSTILE if key in LISTS else poisoned(one) for one in node]
    return node


def _text(key, value):
    if isinstance(value, str) and key in TEXTS:
        return value + HOSTILE
    return poisoned(value, key)


@pytest.fixture
def hostile(every_state, tmp_path) -> Path:
    """The procedure with every kind of step, and every text of it hostile."""
    yaml = YAML(typ="safe", pure=True)
    data = copy.deepcopy(yaml.load(every_state))
    path = tmp_path / "hostile.yaml"
    writer = YAML(typ="safe", pure=True)
    writer.width, writer.allow_unicode = 4096, False
    writer.dump(poisoned(data), path)
    return path


def harmless(bench: Bench, width: int) -> None:
    """Nothing on the screen can be obeyed by a terminal, and no row is wider than it."""
    for row in bench.app.screen.page_view.rows:
        kinds = {unicodedata.category(char) for char in row.text}
        assert not kinds & {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}, row.text
        assert cell_len(row.text) <= width, row.text


PAGES = [
    *(("asterisk", digit) for digit in "1234567"),
    *(("slash", digit) for digit in "1235678"),
    *(("asterisk", "4", digit) for digit in "123456"),
    ("0",),
    ("full_stop", "1"),
]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_hostile_texts_are_shown_as_text_on_every_page(tmp_path, hostile, size):
    bench = Bench(tmp_path / "bench", look=LOOK)
    enrol(bench.shop, "Bea [b]Mill[/]", bench.clock.now(), passphrase="1234")
    session = bench.begin(hostile, ["arm [1]", "arm [/]"])
    async with bench.app.run_test(size=size) as pilot:
        await show_run(bench.app, session)
        # A procedure with control codes is refused; from a person's hand they may still come.
        screen = bench.app.screen
        await screen.converse(lambda: done(screen.work, KeepNote(CODES, "wipe")))
        await screen.converse(lambda: done(screen.work, KeepLesson(CODES, "wipe")))
        for turn in range(30):
            screen = bench.app.screen
            if not isinstance(screen, RunScreen) or session.run.ended:
                break
            await _look_round(bench, pilot, size[0])
            _wait(bench)
            for key in next_keys(bench.app.screen, 2 + turn % 2):
                await press(pilot, NAMES.get(key, key))
                harmless(bench, size[0])
        assert bench.app.return_code is None
        bench.app.leave_runs()
    verdict = verify(session.folder.path)
    assert verdict.whole, verdict.faults
    _, entries = read_kept(session.folder)
    notes = [one.data.text for one in entries if isinstance(one.data, e.Note)]
    assert notes == [CODES]


async def _look_round(bench: Bench, pilot, width: int) -> None:
    """Open every page from the work in hand, and go back."""
    for keys in PAGES:
        screen = bench.app.screen
        if bench.app.alarm_book.first is not None or len(screen.panes) > 1:
            return
        await press(pilot, *keys, wait_ms=510)
        harmless(bench, width)
        while bench.app.screen is screen and len(screen.panes) > 1:
            await press(pilot, "escape", wait_ms=510)


def _wait(bench: Bench) -> None:
    offer = bench.app.screen.panes[0].now().offer
    if offer is not None and not offer.ready and offer.wait_ms:
        bench.clock.wait(offer.wait_ms)
        bench.app.screen.tick()
