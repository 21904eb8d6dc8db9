"""How long steps and runs took: what counts, how it is said, and that nothing waits for it."""

import pytest
from synthetic import Log

from benchrun.history.estimates import (
    SHORT_WORK,
    Estimate,
    about,
    estimates_for,
    keep_up,
    run_words,
)
from benchrun.history.index import History
from benchrun.history.store import NAME

MIN = 60_000
WIPE = {"step": "wipe", "parts": ["hub"]}


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "runs").mkdir()
    return tmp_path


def run(shop, name, *minutes, closed=True, rehearsal=False, parts=("hub",)):
    log = Log(f"2026-03-{name:02d}-seats-aaaa", f"2026-03-{name:02d}T08:00:00", parts=parts)
    if rehearsal:
        log = _rehearsed(log.name, parts)
    for many in minutes:
        log.add("do", {"step": "wipe", "parts": list(parts)}, after_ms=int(many * MIN))
    if closed:
        log.close()
    log.write(shop / "runs", sealed=closed)
    return log


def _rehearsed(name, parts):
    log = Log(name, parts=parts)
    log.lines, log.head = [], "0" * 64
    about_it = {"id": "seats", "revision": 1, "title": "Measure seats", "status": "draft"}
    specs = [{"part": part, "identity": ""} for part in parts]
    opened = {"procedure": about_it, "parts": specs, "run": name, "format": 1}
    log.add("open", {**opened, "procedure_sha256": "0" * 64, "rehearsal": "by script"})
    return log


def took(shop, but=""):
    keep_up(shop)
    return estimates_for(shop, "seats", but)


def test_a_step_is_said_by_the_middle_of_its_times_with_the_least_and_the_most(shop):
    for day, minutes in enumerate((12, 25, 40), 1):
        run(shop, day, minutes)
    words = took(shop)["wipe"].words
    assert words == "about 25 min a part (12 min to 40 min in 3 past runs)"


def test_an_act_on_several_parts_at_once_counts_for_each_of_them(shop):
    run(shop, 1, 20, parts=("a", "b", "c", "d"))
    assert took(shop)["wipe"].words == "about 5 min a part (in 1 past run)"


def test_the_run_that_goes_on_is_not_a_past_one(shop):
    run(shop, 1, 10)
    log = run(shop, 2, 50, closed=False)
    assert took(shop, but=log.name)["wipe"].median == 10 * MIN
    assert took(shop)["wipe"].runs == 2


def test_a_night_in_between_a_break_and_a_restart_count_nothing(shop):
    log = Log("2026-03-02-seats-aaaa")
    log.add("do", WIPE, after_ms=7 * MIN)
    log.add("do", WIPE, after_ms=14 * 60 * MIN)
    log.add("stop", {"reason": "supper"}, after_ms=MIN)
    log.add("resume", {}, after_ms=30 * MIN)
    log.add("do", WIPE, after_ms=30 * MIN)
    log.boot = "another"
    log.add("do", WIPE, after_ms=20 * MIN)
    log.write(shop / "runs")
    one = took(shop)["wipe"]
    assert (one.least, one.most, one.runs) == (7 * MIN, 7 * MIN, 1)


@pytest.mark.parametrize("kind", ["note", "photo", "lesson", "tend", "beat", "seal"])
def test_what_is_done_in_passing_does_not_cut_the_time_of_a_step(shop, kind):
    log = Log("2026-03-02-seats-aaaa")
    log.add(kind, {"step": "wipe", "parts": ["hub"], "why": "every 15 min"}, after_ms=15 * MIN)
    log.add("do", WIPE, after_ms=5 * MIN)
    log.write(shop / "runs")
    assert took(shop)["wipe"].median == 20 * MIN


def test_a_dwell_whose_end_was_told_late_says_nothing(shop):
    log = Log("2026-03-02-seats-aaaa")
    for ago in (0, 9 * MIN):
        log.add("in", {"step": "soak", "parts": ["hub"], "each": {"hub": {}}})
        each = {"hub": {"proven": 12 * MIN + ago}}
        log.add("out", {"step": "soak", "parts": ["hub"], "each": each, "ago": ago})
    log.write(shop / "runs")
    assert took(shop)["soak"].most == 12 * MIN


def test_rehearsals_count_only_while_nothing_else_is_known(shop):
    run(shop, 1, 1, rehearsal=True)
    assert took(shop)["wipe"].words == "about 1 min a part (in 1 rehearsal)"
    run(shop, 2, 30)
    one = took(shop)["wipe"]
    assert (one.median, one.runs, one.rehearsed) == (30 * MIN, 1, False)


def test_a_whole_run_is_told_by_the_time_at_work_and_to_its_close(shop):
    for day, minutes in enumerate(((30, 30), (60, 40), (90, 60)), 1):
        run(shop, day, *minutes, parts=("a", "b")[: 1 + day % 2])
    run(shop, 4, 5, closed=False)
    keep_up(shop)
    assert run_words(shop, "seats") == (
        "at work about 1 h 40 min (1 h to 2 h 30 min in 3 past runs of 1 to 2 parts), "
        "from beginning to close 1 h 40 min"
    )


@pytest.mark.parametrize(
    ("ms", "words"),
    [
        (300, "5 s"),
        (43_000, "45 s"),
        (89_999, "1 min 30 s"),
        (754_000, "13 min"),
        (5_030_000, "1 h 25 min"),
        (26 * 3_600_000 + 100, "26 h"),
        (75 * 3_600_000, "3 d 3 h"),
    ],
)
def test_lengths_are_said_as_roughly_as_they_are_known(ms, words):
    assert about(ms) == words


def test_without_an_index_or_with_a_damaged_one_nothing_is_said_and_nothing_is_made(shop):
    assert estimates_for(shop, "seats") == {}
    assert run_words(shop, "seats") == ""
    assert not (shop / NAME).exists()
    (shop / NAME).write_bytes(b"no index at all" * 500)
    assert estimates_for(shop, "seats") == {}
    assert run_words(shop, "seats") == ""


def test_much_unread_work_is_left_to_the_first_question(shop):
    for number in range(SHORT_WORK + 1):
        Log(f"2026-03-02-seats-{number:03d}-aaaa").write(shop / "runs")
    keep_up(shop)
    with History(shop) as history:
        assert history.unread() == SHORT_WORK + 1
        history.refresh()
    run(shop, 9, 10)
    assert took(shop)["wipe"].median == 10 * MIN


def test_one_time_alone_is_said_without_a_range():
    assert Estimate(90_000, 90_000, 90_000, "", 1).words == "about 2 min (in 1 past run)"
