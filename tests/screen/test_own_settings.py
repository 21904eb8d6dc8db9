"""Keys of one's own, a command for alarms, a theme by name; what is wrong in them is told."""

import sys
import time

import pytest
from patience import PATIENCE_S
from screen_bench import LOOK, press, settled, show_run, until
from test_run_screen import MINUTE, kinds, to_etch

from benchrun.cli import parser
from benchrun.screen.app import BenchApp
from benchrun.screen.theme import THEMES, appearance_of
from benchrun.screen.user_settings import read_user_settings
from benchrun.shop.personal import personal_settings_path


def with_own(bench, tmp_path, text: str) -> BenchApp:
    """The app with a person's own file."""
    path = tmp_path / "own" / "screen.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text)
    bench.app = BenchApp(
        bench.shop.path, look=LOOK, clock=bench.clock, pulse=lambda: bench.seconds, settings=path
    )
    return bench.app


def faults(tmp_path, text: str) -> list[str]:
    """What is told of a person's own file."""
    path = tmp_path / "screen.yaml"
    path.write_text(text)
    return [one.words for one in read_user_settings(tmp_path / "shop", path).faults]


async def test_a_key_of_ones_own_does_what_it_was_given_and_stands_on_the_page_of_keys(
    bench, every_state, tmp_path
):
    session = bench.begin(every_state, ["arm"])
    app = with_own(bench, tmp_path, "keys:\n  look up: ctrl+k\n  do: [f5, insert]\n")
    async with app.run_test(size=(80, 24)) as pilot:
        await show_run(app, session)
        await press(pilot, "ctrl+k")
        assert "Look up" in bench.screen()
        await press(pilot, "minus", "f5")
        assert kinds(session)[-1] == "do"
        await press(pilot, "f1", "f1")
        while "Ctrl+K" not in bench.screen():
            await press(pilot, "plus")
        assert "look up" in bench.screen().split("Ctrl+K")[1]


async def test_a_wrong_key_is_told_on_the_board_by_its_place(bench, tmp_path):
    app = with_own(bench, tmp_path, "keys:\n  write: f5\n  why: f5\n")
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "screen.yaml:3:8: f5 is given to 'write' already: 'why' needs another")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("keys: {write: k}", "k is typed with"),
        ("keys: {write: '5'}", "5 is typed with"),
        ("keys: {write: f10}", "f10 leaves the program"),
        ("keys: {write: ctrl+m}", "ctrl+m cannot be given away"),
        ("keys: {write: tab}", "tab cannot be given away"),
        ("keys: {wirte: f5}", "did you mean 'write'?"),
        ("keys: f5", "a map is needed here"),
        ("kees: {write: f5}", "did you mean 'keys'?"),
        ("alarm command: {a: b}", "a list of texts is needed"),
        ("keys: [", "screen.yaml:1:"),
    ],
)
def test_what_cannot_be_is_told_with_its_place(tmp_path, text, told):
    found = faults(tmp_path, text)
    assert found
    assert told in found[0]
    assert found[0].startswith("screen.yaml:1:")


def test_the_shops_keys_count_and_the_own_ones_go_first(tmp_path):
    shop, own = tmp_path / "shop", tmp_path / "own.yaml"
    shop.mkdir()
    (shop / "screen.yaml").write_text("keys: {write: f5, why: f6}")
    own.write_text("keys: {look up: f5}")
    assert read_user_settings(shop, own).keys == {"f5": "/", "f6": "0"}


def test_a_command_that_comes_along_with_a_shop_is_never_taken(tmp_path):
    (tmp_path / "screen.yaml").write_text("alarm command: [touch, here]")
    found = read_user_settings(tmp_path, None)
    assert found.command == ()
    assert "your own settings alone" in found.faults[0].words


def test_the_own_file_may_lie_elsewhere(monkeypatch, tmp_path):
    monkeypatch.setenv("BENCHRUN_SCREEN", str(tmp_path / "mine.yaml"))
    assert personal_settings_path() == tmp_path / "mine.yaml"


async def test_an_alarm_runs_the_command_with_its_own_words_alone(bench, every_state, tmp_path):
    heard = tmp_path / "heard $(touch hacked)"
    program = (
        "import os, pathlib, sys; "
        "pathlib.Path(sys.argv[1]).write_text(os.environ['BENCHRUN_ALARM'])"
    )
    text = f'alarm command: ["{sys.executable}", -c, "{program}", "{heard}"]\n'
    session = bench.begin(every_state, ["arm"])
    app = with_own(bench, tmp_path, text)
    async with app.run_test(size=(80, 24)) as pilot:
        await show_run(app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        app.screen.tick()
        assert bench.screen().startswith("  DUE   ")
    ends = time.monotonic() + PATIENCE_S
    while not (heard.exists() and heard.read_text()):
        assert time.monotonic() < ends
        time.sleep(0.01)
    assert heard.read_text() == "DUE"
    assert not (tmp_path / "hacked").exists()


async def test_a_command_that_is_not_there_is_told_and_the_bell_rings_on(
    bench, every_state, tmp_path
):
    session = bench.begin(every_state, ["arm"])
    app = with_own(bench, tmp_path, "alarm command: [/no/such/program]\n")
    async with app.run_test(size=(80, 24)) as pilot:
        await show_run(app, session)
        await to_etch(pilot)
        bench.clock.wait(2 * MINUTE)
        app.screen.tick()
        assert "the alarm command cannot be run" in bench.screen()
        bench.clock.wait(MINUTE)
        app.screen.tick()
        assert bench.screen().startswith("  LATE   ")


def test_the_themes_of_the_command_line_are_those_of_the_screen():
    assert set(parser.THEMES) == set(THEMES)
    assert appearance_of("light", environ={"NO_COLOR": "1"}).theme == "light"
