"""The pace of steps by past runs: what each part and what each go takes, and how that is spread."""

import random

import pytest
from test_estimates import MIN, run

from benchrun.history.estimates import keep_up
from benchrun.history.step_paces import GUESSED_HIGH, GUESSED_LOW, paces_for, parted_times


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "runs").mkdir()
    return tmp_path


def paces(shop, but=""):
    keep_up(shop)
    return paces_for(shop, "seats", but)


def test_runs_of_differing_batches_part_the_time_of_a_go_from_that_of_a_part(shop):
    for day in range(1, 10):
        parts = tuple(f"hub {number}" for number in range(1, 2 + day % 4))
        run(shop, day, 8 + 3 * len(parts), parts=parts)
    pace = paces(shop)["wipe"]
    assert (round(pace.each / MIN, 1), round(pace.once / MIN, 1)) == (3.0, 8.0)
    assert (pace.low, pace.high, pace.runs, pace.guessed) == (1.0, 1.0, 9, False)


def test_runs_of_one_batch_size_count_for_each_part_alone(shop):
    for day in range(1, 7):
        run(shop, day, 20, parts=("a", "b", "c", "d"))
    pace = paces(shop)["wipe"]
    assert (pace.each, pace.once) == (5 * MIN, 0.0)


def test_the_spread_is_that_of_ten_and_ninety_of_a_hundred(shop):
    for day, minutes in enumerate((8, 9, 10, 10, 10, 10, 10, 10, 11, 12, 20), 1):
        run(shop, day, minutes)
    pace = paces(shop)["wipe"]
    assert (pace.low, pace.high) == (0.9, 1.2)


def test_under_five_runs_the_spread_is_a_guess_and_says_so(shop):
    for day in range(1, 5):
        run(shop, day, 10)
    pace = paces(shop)["wipe"]
    assert (pace.low, pace.high, pace.guessed) == (GUESSED_LOW, GUESSED_HIGH, True)


def test_rehearsals_and_the_run_that_goes_on_never_count(shop):
    run(shop, 1, 1, rehearsal=True)
    assert paces(shop) == {}
    log = run(shop, 2, 50, closed=False)
    assert paces(shop, but=log.name) == {}
    assert paces(shop)["wipe"].each == 50 * MIN


def test_without_an_index_there_is_no_pace(tmp_path):
    assert paces_for(tmp_path, "seats") == {}


def test_times_with_luck_in_them_are_parted_near_to_what_made_them():
    luck = random.Random(3)
    goes = []
    for _ in range(60):
        many = 1 + luck.randrange(6)
        goes.append((round((10 + 4 * many) * MIN * luck.lognormvariate(0, 0.2)), many))
    each, once = parted_times(goes)
    assert each / MIN == pytest.approx(4, abs=1)
    assert once / MIN == pytest.approx(10, abs=3)
