"""A time whose end nobody knows, as the machine was off and its clock unset, told everywhere."""

import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))

from worked_runs import Worked

from benchrun.account.record_text import show
from benchrun.alarms.calls import CallingRun, calls_of
from benchrun.board import offer_words
from benchrun.history.index import History
from benchrun.record.folder import RunFolder
from benchrun.report.command import run_report
from benchrun.run import commands as c
from benchrun.run.clocks import load_clock_words, loads, window, window_words
from benchrun.run.offers import Deed, offers
from benchrun.shopkeeping.overview import board_text
from benchrun.verify import verify

OPEN = "machine was off, longest time unknown"


@pytest.fixture(scope="module")
def work(tmp_path_factory):
    return Worked(tmp_path_factory.mktemp("open"), ["hub L"])


def test_a_soak_and_a_window_that_end_in_the_open_are_told_as_at_least(work, tmp_path):
    _soak(work)
    _window(work)
    work.coat("hub L", rounds=1)
    work.close()
    _told_afterwards(work, tmp_path)


def _soak(work):
    work.do("wipe")
    work.send(c.PutIn("soak", work.parts, work.seen))
    work.clock.wait(10 * 60_000)
    work.send(c.KeepNote("It foams."))
    work.clock.reboot(90_000, False)
    work.clock.wait(60_000)
    run, now = work.session.run, work.clock.now()
    (clock,) = loads(run, now)
    assert load_clock_words(clock) == f"could be late: at least 12 min; {OPEN}"
    calls = calls_of([CallingRun("r", "", run)], now).alarms
    (alarm,) = [one for one in calls if one.words.signal == "LATE"]
    assert alarm.words.parts == "hub L"
    assert alarm.words.when == "may be past 20 min: at least 12 min; machine was off"
    assert alarm.line in board_text(work.shop, now)
    work.send(c.Lift(work.parts, work.seen))
    (question,) = work.session.run.markers["hub L"].questions
    assert question.says == f"Could be late: at least 12 min; {OPEN} (10 min to 20 min)."
    work.answer("go on", "hub L", reason="it looks well")


def _window(work):
    work.clock.set_sync(True)
    for _ in "AB":
        work.read("hub L", "61.960")
    work.do("bore-mean")
    work.do("cracks", finding="none seen")
    work.coat("hub L", rounds=1)
    work.clock.reboot(90_000, False)
    work.clock.wait(60_000)
    step = work.session.run.route.steps["coat"]
    assert _window_words(work, step).startswith("could be late: at least ")
    assert OPEN in _window_words(work, step)
    (offer,) = [one for one in offers(work.session.run, work.clock.now()) if one.step == step]
    if offer.deed is Deed.LATE:
        assert "could be late: at least" in offer_words(work.session.run, offer)
    work.do("coat")
    (question,) = work.session.run.markers["hub L"].questions
    assert re.fullmatch(rf"Could be late: at least .*; {OPEN} \(at most 24 h\)\.", question.says)
    work.answer("go on", "hub L", reason="still wet")
    assert _window_words(work, step).startswith("could be late: at least ")
    assert _window_words(work, step).endswith("(answered)")


def _window_words(work, step):
    run = work.session.run
    state = window(run, run.markers["hub L"], step, work.clock.now())
    return window_words(state)


def _told_afterwards(work, tmp_path):
    said = show(RunFolder(work.folder))
    assert f"Could be late: at least 12 min; {OPEN}" in said
    run_report([work.folder], tmp_path / "record.txt", [verify(work.folder).as_data()])
    text = " ".join((tmp_path / "record.txt").read_text("utf-8").split())
    assert "at least 12 min; machine was off" in text
    for told in (said, text):
        assert "late by 0 s" not in told
        assert "proven, no upper bound" not in told
    with History(work.shop.path, tmp_path / "history.sqlite") as history:
        history.refresh()
        whats = [what for (what,) in history.store.execute("SELECT what FROM deviations")]
        assert "query answered: Go on as it is" in whats
