"""What is still to come: hands with their spread, supplies by past runs, work outside by what was
paid."""

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs_shop import PARTS, JobShop

from benchrun.board import look
from benchrun.history.estimates import keep_up
from benchrun.jobs.costs_ahead import Spread, added, ahead_fields, ahead_together, costs_ahead
from benchrun.jobs.job_page import job_sheet
from benchrun.jobs.part_page import part_sheet
from benchrun.run import commands as c
from benchrun.session import Kept, closing_statement
from benchrun.shop.books import read_books
from benchrun.shopkeeping.pages import sheet_text

SENT = """\
procedure: plate-arms
title: Plate arms
revision: 1
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 6}
stages:
  - stage: All
    steps:
      - {dwell: Send it out., id: away, at: plater, least: 1 h}
      - {do: Count them., id: count}
"""


@pytest.fixture
def job(tmp_path):
    return JobShop(tmp_path)


def costs(job):
    books = read_books(job.shop)
    return costs_ahead(job.shop, books, look(job.shop, job.now).open_runs, job.now)


def coated(job, tag, minutes):
    """A run of coat-arms that took so many minutes a coat."""
    parts = ("arm-1", "arm-2")
    session = job.begin("coat-arms", *parts, tag=tag)
    for _ in range(2):
        for part in parts:
            job.give(session, c.Do("coat", (part,), session.run.n), minutes=minutes)
    session.leave()


def test_without_past_runs_the_rest_is_a_guess_and_said_to_be(job):
    cost = costs(job)["arm-4"]
    rows = dict(ahead_fields(cost))
    # soak 1.5, width 1, two coats 2 each: 6.5 min by the guesses of the plan
    assert rows["at work"].startswith("6 min (") or rows["at work"].startswith("7 min ("), rows
    assert rows["at work"].endswith("a guess: none of these steps was ever timed here")
    assert rows["supplies"] == "washing fluid 50 ml; at least, by the procedures"
    assert rows["money"] == "1 EUR"


def test_what_a_part_drew_already_in_an_open_run_is_not_to_come(job):
    job.washed({"arm-1": "11.02", "arm-2": "11.05"}).leave()
    left = costs(job)
    assert ("washing fluid", "ml") not in left.get("arm-1", ahead_together([])).supplies
    assert left["arm-4"].supplies["washing fluid", "ml"].middle == pytest.approx(50)


def test_hands_follow_what_past_runs_took_and_their_spread_what_those_spread(job):
    for at, minutes in enumerate((10, 11, 12, 13, 14, 15)):
        coated(job, f"co{at}", minutes)
    keep_up(job.shop.path)
    cost = costs(job)["arm-4"]
    assert cost.guesses == cost.steps - 2
    assert 2 * 10 <= cost.learned.low < cost.learned.middle < cost.learned.high <= 2 * 15
    assert cost.learned.middle == pytest.approx(25, abs=1.5)


def test_supplies_follow_what_closed_runs_drew(job):
    session = job.washed({"arm-1": "11.02"})
    close = c.Close({}, closing_statement(session.hand))
    assert isinstance(session.sign(close, "1234").result(), Kept)
    session.leave()
    rows = dict(ahead_fields(costs(job)["arm-4"]))
    assert rows["supplies"] == "washing fluid 50 ml (35 to 80); by 1 past run"
    assert rows["money"] == "1 EUR (0.7 to 1.6)"


def test_work_outside_costs_what_was_paid_for_it_before(job):
    (job.shop.path / "procedures" / "plate-arms.yaml").write_text(SENT)
    parts = PARTS.replace("own route: [coat-arms]", "own route: [plate-arms]")
    (job.shop.path / "parts.yaml").write_text(
        parts.replace(
            "  - id: pin", "  - {id: bolt, name: bolt, own route: [plate-arms]}\n  - id: pin"
        )
    )
    assert dict(ahead_fields(costs(job)["bolt"]))["no price"] == "plater"
    (job.shop.path / "parts.yaml").write_text(
        (job.shop.path / "parts.yaml").read_text()
        + "  - id: bag\n    name: bag\n"
        + "    away: [{sent: 2026-10-02, to: the plater, count: 2, back: 2026-10-12}]\n"
        + "    costs: [{on: 2026-10-12, what: zinc, price: 30.00 EUR}]\n"
    )
    rows = dict(ahead_fields(costs(job)["bolt"]))
    assert rows["money"] == "30 EUR (21 to 48)"
    assert "no price" not in rows


def test_the_pages_of_a_part_and_a_job_tell_it_and_what_is_not_counted(job):
    job.give(job.washed({"arm-3": "11.2"}), c.Put(("arm-3",), 4, "scrap", "bent"))
    part = " ".join(sheet_text(part_sheet(job.shop, "arm-4", job.now)).split())
    assert "STILL TO COME" in part
    gone = " ".join(sheet_text(part_sheet(job.shop, "arm-3", job.now)).split())
    assert "Not counted: scrapped" in gone
    whole = " ".join(sheet_text(job_sheet(job.shop, "trailer", job.now)).split())
    assert "STILL TO COME" in whole
    assert "without arm-3, pin: held, as said above" in whole


SPREADS = st.lists(
    st.tuples(st.floats(0, 1e4), st.floats(0, 1e3), st.floats(0, 1e3)).map(
        lambda t: Spread(t[0], t[0] - min(t[0], t[1]), t[0] + t[2])
    ),
    max_size=8,
)


@given(SPREADS)
def test_a_sum_lies_between_and_spreads_no_wider_than_guesses_that_are_all_wrong_alike(spreads):
    whole, guess = added(spreads), added(spreads, alike=True)
    assert whole.middle == pytest.approx(sum(one.middle for one in spreads))
    assert guess.low - 1e-6 <= whole.low <= whole.middle + 1e-6
    assert whole.middle - 1e-6 <= whole.high <= guess.high + 1e-6
    widest = hypot(*(one.high - one.middle for one in spreads))
    assert whole.high - whole.middle == pytest.approx(widest, abs=1e-6)
