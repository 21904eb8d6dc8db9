"""The rest of each part's route in the plan: runs to come, ranges, what is left out, what moved."""

import datetime as dt
from dataclasses import replace

import icalendar
import pytest
from test_progress import ROUTES
from test_progress import Shop as RouteShop

from benchrun.board import look
from benchrun.errors import BenchrunError
from benchrun.plan.counterfactual import why_not_now
from benchrun.plan.evening import done_at, plan_shop, prove_evening, soonest_chosen
from benchrun.plan.plan_files import plan_calendar, put_plan
from benchrun.plan.score import faults
from benchrun.plan.solver import has_solver
from benchrun.plan.told_plans import GOOD_MS, ToldPlan, keep_told, told_plan
from benchrun.plan.words import evening_text, planned_rows, rows_between, train_called
from benchrun.run.commands import Do, Put
from benchrun.shopkeeping.data import plan_data
from benchrun.signing_keys import change_settings

MINUTE = 60_000


class Shop(RouteShop):
    """The shop of arms with hours, whose procedures lie in it."""

    def __init__(self, folder):
        super().__init__(folder)
        self.shop = change_settings(self.shop, {"hours": "Wed Fri 14:00-18:00"})
        own = self.shop.path / "procedures"
        own.mkdir(exist_ok=True)
        for name, file in self.files.items():
            (own / f"{name}.yaml").write_text(file.read_text())

    @property
    def now(self):
        return self.clock.now()

    def plan(self, **more):
        runs = look(self.shop, self.now).open_runs
        return plan_shop(self.shop, runs, self.now, zone=dt.UTC, **more)

    def text(self, **more):
        return evening_text(self.plan(**more), self.now, dt.UTC)


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


def test_parts_that_stand_between_procedures_are_planned_as_runs_to_come(shop):
    evening = shop.plan()
    assert faults(evening.workload, evening.plan) == []
    comes = [(run.procedure, run.run.parts) for run in evening.ahead.runs]
    # Two at most go into one batch.
    assert comes == [
        ("wash-arms", ("arm-1", "arm-2")),
        ("wash-arms", ("arm-3",)),
        ("coat-arms", ("arm-1", "arm-2")),
        ("coat-arms", ("arm-3",)),
    ]
    assert set(done_at(evening.work, evening.workload, evening.plan)) == {"arm-1", "arm-2", "arm-3"}
    assert "Wash Arms (to be begun)" in evening_text(evening, shop.now, dt.UTC)


def test_the_rest_of_the_route_comes_after_the_run_that_a_part_is_in(shop):
    shop.begin("wash-arms", "arm 1", "arm 2")
    evening = shop.plan()
    begins = {}
    for name, start in evening.plan.starts.items():
        run = evening.workload.by_id[name].run
        procedure = next(one.procedure for one in evening.ahead.runs if one.id == run)
        if "arm-1" in (part.replace(" ", "-") for part in evening.work.parts[name]):
            begins[procedure] = (start, evening.plan.end_of(evening.workload, name))
    assert begins["wash-arms"][1] <= begins["coat-arms"][0]
    assert sum(run.procedure == "wash-arms" for run in evening.ahead.runs) == 2  # arm-3 is ready


def test_a_scrapped_part_is_planned_no_further_and_its_spare_only_when_found(shop):
    session = shop.begin("wash-arms", "arm 1")
    shop.give(session, Put(("arm 1",), session.run.n - 1, "scrap", "cracked"))
    shop.give(session, Do("wipe", ("arm 1",), seen=session.run.n - 1))
    planned = {part for parts in shop.plan().work.parts.values() for part in parts}
    assert planned == {"arm-2", "arm-3"}


def test_a_route_that_leads_to_nothing_or_to_what_was_withdrawn_is_told_in_the_plan(shop):
    (shop.shop.path / "routes.yaml").write_text(ROUTES.replace("wash-arms,", "wish-arms,"))
    assert "wish-arms cannot be planned: no procedure 'wish-arms'" in shop.text()
    (shop.shop.path / "routes.yaml").write_text(ROUTES)
    wash = shop.shop.path / "procedures" / "wash-arms.yaml"
    wash.write_text(wash.read_text().replace("status: draft", "status: withdrawn"))
    assert "wash-arms cannot be planned: it is withdrawn" in shop.text()


def test_the_end_of_each_part_is_told_as_a_range_of_days(shop):
    shop.clock.wait(3 * 60 * MINUTE + 40 * MINUTE)  # 17:42: what is left does not all fit in
    evening = shop.plan()
    for part, end in done_at(evening.work, evening.workload, evening.plan).items():
        assert evening.quick[part] <= end <= evening.slow[part]
    text = evening_text(evening, shop.now, dt.UTC)
    assert "today to Fri 27 Nov" in text.partition("Done")[2], text


def test_a_plan_that_was_told_is_compared_with_and_what_moved_is_said(shop):
    told = shop.plan()
    shop.clock.wait(14 * MINUTE)
    later = shop.plan(last=told.begins())
    text = evening_text(later, shop.now, dt.UTC, told_ms=shop.now.utc_ms - 14 * MINUTE)
    changed = text.partition("Changed since 14:02")[2]
    assert "Wipe the arm: 14 min later" in changed, text
    same = shop.plan(last=later.begins())
    text = evening_text(same, shop.now, dt.UTC, told_ms=shop.now.utc_ms)
    assert "nothing moved" in text.partition("Changed since")[2]


def test_the_plan_told_last_is_kept_outside_the_shop_and_forgotten_after_a_while(shop):
    before = sorted(shop.shop.path.rglob("*"))
    keep_told(shop.shop.path, ToldPlan(shop.now.utc_ms, {"a/b": 7}, soonest=True))
    assert sorted(shop.shop.path.rglob("*")) == before
    assert told_plan(shop.shop.path, shop.now) == ToldPlan(shop.now.utc_ms, {"a/b": 7}, True)
    later = replace(shop.now, utc_ms=shop.now.utc_ms + GOOD_MS + 1)
    assert told_plan(shop.shop.path, later) == ToldPlan(soonest=True)


def test_a_second_person_is_counted_with(shop):
    shop.shop = change_settings(shop.shop, {"people": "2"})
    evening = shop.plan()
    assert evening.workload.people == 2
    assert "2 people" in evening_text(evening, shop.now, dt.UTC)
    assert evening.plan.starts["to come 1/1/0"] == evening.plan.starts["to come 2/1/0"]


def test_a_vessel_out_of_use_is_not_planned_with_and_told(shop):
    wash = shop.shop.path / "procedures" / "wash-arms.yaml"
    soak = "- {dwell: Soak it., id: soak, in: tub, least: 10 min, most: 20 min, late: [go on]}"
    text = wash.read_text().replace("stages:", "vessels: {tub: {title: tub, holds: 2}}\nstages:")
    wash.write_text(text + f"      {soak}\n")
    (shop.shop.path / "vessels.yaml").write_text(
        "vessels:\n  - {id: tub, name: tub, out of use: it leaks}\n"
    )
    evening = shop.plan()
    assert any(why == "the tub is out of use" for why in evening.plan.unplaced.values())
    assert "the tub is out of use" in evening_text(evening, shop.now, dt.UTC)


def test_why_not_now_tells_the_reason_what_it_rests_on_and_the_difference(shop):
    evening = shop.plan()
    last = max(evening.plan.starts, key=evening.plan.starts.get)
    lines = why_not_now(evening, last, shop.now, dt.UTC)
    assert lines[0].startswith("Why then: ")
    assert "Step 1: a guess: never timed in this shop." in lines
    assert lines[-1].startswith("Begun now: ")
    first = min(evening.plan.starts, key=evening.plan.starts.get)
    assert why_not_now(evening, first, shop.now, dt.UTC)[-1] == "It can begin now."


def test_a_row_is_called_by_its_run_and_step_and_one_that_is_not_there_is_told(shop):
    evening = shop.plan()
    assert train_called(evening, "a 1") == "to come 1/1/0"
    with pytest.raises(BenchrunError, match="the plan has no row 'Z9'"):
        train_called(evening, "Z9")


def test_the_plan_is_written_for_the_wall_as_text_and_for_a_calendar(shop, tmp_path):
    evening = shop.plan()
    for name in ("plan.html", "plan.txt", "plan.ics"):
        put_plan(tmp_path / name, evening, shop.now, dt.UTC)
        put_plan(tmp_path / name, evening, shop.now, dt.UTC)  # its own file is replaced
    calendar = icalendar.Calendar.from_ical((tmp_path / "plan.ics").read_bytes())
    events = calendar.walk("VEVENT")
    assert len(events) == 4
    assert events[0]["DTSTART"].dt == dt.datetime(2026, 11, 25, 14, 2, tzinfo=dt.UTC)
    with pytest.raises(BenchrunError, match=r"written as \.html for the wall"):
        put_plan(tmp_path / "plan.pdf", evening, shop.now, dt.UTC)


def test_with_nothing_planned_there_is_no_calendar(shop):
    (shop.shop.path / "routes.yaml").write_text("")
    with pytest.raises(BenchrunError, match="nothing is planned"):
        plan_calendar(shop.plan(), shop.now)


def test_the_board_has_the_next_rows_while_the_shop_is_open(shop):
    rows = planned_rows(shop.plan(), shop.now, dt.UTC)
    assert rows[0].at == "14:02"
    assert {row.words for row in rows} >= {
        "1 Wipe the arm, arm-1/2 (Wash Arms)",
        "1 Wipe the arm, arm-3 (Coat Arms)",
    }
    shop.clock.wait(5 * 60 * MINUTE)  # 19:02
    soon = rows_between(shop.plan(), shop.now.utc_ms, shop.now.utc_ms + 30 * MINUTE)
    assert soon, "whoever asks is there"


@pytest.mark.skipif(not has_solver(), reason="the extra `plan` is not installed")
def test_the_solver_says_what_is_proven_and_without_it_the_plan_says_that_nothing_is(shop):
    evening = shop.plan()
    assert "Not proven" in evening_text(evening, shop.now, dt.UTC)
    proved = prove_evening(evening)
    assert faults(proved.workload, proved.plan) == []
    assert "No window is missed. Proven: none is done sooner." in evening_text(
        proved, shop.now, dt.UTC
    )
    assert soonest_chosen(proved) == proved  # there is no other


def test_what_comes_after_a_procedure_that_cannot_be_planned_is_not_planned_either(shop):
    (shop.shop.path / "routes.yaml").write_text(ROUTES.replace("wash-arms, ", "wash-arm, "))
    text = shop.text()
    assert "wash-arm cannot be planned" in text
    assert shop.plan().ahead.runs == ()


def test_a_part_larger_than_its_tub_is_told_in_the_plan(shop):
    own = shop.shop.path / "procedures" / "wash-arms.yaml"
    text = own.read_text().replace("stages:", "vessels: {tub: {title: tub, holds: 2}}\nstages:", 1)
    own.write_text(f"{text}      - {{dwell: Soak it., id: soak, in: tub, least: 1 min}}\n")
    parts = shop.shop.path / "parts.yaml"
    parts.write_text(parts.read_text().replace("{id: arm-1, ", "{id: arm-1, size: 5, "))
    said = " ".join(shop.text().split())
    assert "arm-1 cannot be planned: takes room for 5; the tub holds 2" in said


def test_hours_that_are_not_understood_are_told_in_the_plan(shop):
    file = shop.shop.path / "shop.yaml"
    file.write_text(file.read_text().replace("Wed Fri 14:00-18:00", "Wed 14:00-18:00 17:00-19:00"))
    said = " ".join(shop.text().split())
    assert "shop.yaml: hours: the times of Wed overlap" in said
    assert "the hours are not kept" in said


def test_the_plan_as_data_is_the_one_that_was_chosen(shop, monkeypatch):
    chosen = []

    def soonest(evening):
        chosen.append(evening)
        return evening

    monkeypatch.setattr("benchrun.plan.evening.soonest_chosen", soonest)
    plan_data(shop.shop, shop.now)
    assert not chosen
    keep_told(shop.shop.path, ToldPlan(shop.now.utc_ms, {}, soonest=True))
    assert plan_data(shop.shop, shop.now).work
    assert len(chosen) == 1
    plan_data(shop.shop, shop.now, soonest=False)
    assert len(chosen) == 1
