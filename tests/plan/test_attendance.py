"""Whoever a step wants is here on the evening on which it is planned."""

import datetime as dt
from dataclasses import replace

import pytest
from plan_runs import HEAD, Shop

from benchrun.plan.evening import prove_evening
from benchrun.plan.score import faults
from benchrun.plan.words import evening_text
from benchrun.signing_keys import change_settings, enrol

SIGNED = (
    HEAD.format(id="signed-arms", title="Wipe arms, and have them looked at")
    + """\
      - {do: Wipe the arm., id: wipe}
      - {hold: Look at the arm again., id: look, role: checker, signs: I looked.}
      - {do: Wrap the arm., id: wrap}
"""
)
WED, THU, SAT = (dt.date(2026, 11, day) for day in (25, 26, 28))
HOURS = "Wed 14:00-18:00 with ada-brook, Thu 19:00-22:30 with ada-brook, Sat 9:00-16:00 {who}"


def crew(tmp_path, hours):
    """Ada, who may do the work, and Bo, who may look at it as well; an arm is wiped."""
    evenings = Shop(tmp_path, hours="")
    enrol(evenings.shop, "Bo Mill", evenings.now, passphrase="1234", roles=("checker",))
    people = evenings.shop.path / "people.yaml"
    text = people.read_text().replace("roles: [restorer, checker]", "roles: [restorer]", 1)
    people.write_text(text)
    evenings.shop = change_settings(evenings.shop, {"hours": hours})
    evenings.begin(SIGNED, ["arm 1"])
    return evenings


def days(evening):
    """For each step of the run the day on which its train begins."""
    return {
        step.id: dt.datetime.fromtimestamp(evening.plan.starts[name] * 60, dt.UTC).date()
        for name, steps in evening.work.steps.items()
        if name in evening.plan.starts
        for step in steps
    }


def test_a_hold_waits_for_the_evening_on_which_somebody_with_its_role_is_here(tmp_path):
    evening = crew(tmp_path, HOURS.format(who="with ada-brook bo-mill")).plan()
    assert days(evening) == {"wipe": WED, "look": SAT, "wrap": SAT}
    assert faults(evening.workload, evening.plan) == []
    proved = prove_evening(evening)
    assert days(proved) == days(evening)


def test_where_only_a_number_is_said_anybody_may_be_here(tmp_path):
    evening = crew(tmp_path, "Wed 14:00-18:00 2 people, Sat 9:00-16:00").plan()
    assert set(days(evening).values()) == {WED}


def test_a_role_that_nobody_has_on_any_evening_is_told_and_has_no_place(tmp_path):
    evening = crew(tmp_path, HOURS.format(who="with ada-brook")).plan()
    assert days(evening) == {"wipe": WED}
    assert "wants a checker: none is here on any evening" in evening.plan.unplaced.values()


def test_the_check_apart_finds_a_hold_on_an_evening_without_its_role(tmp_path):
    evening = crew(tmp_path, HOURS.format(who="with bo-mill")).plan()
    (hold,) = [name for name, steps in evening.work.steps.items() if steps[0].id == "look"]
    wiped = min(evening.plan.starts.values())
    moved = replace(evening.plan, starts={**evening.plan.starts, hold: wiped + 30})
    assert f"{hold} wants a checker, and none is here at {wiped + 30}" in faults(
        evening.workload, moved
    )


def test_the_plan_says_who_is_here_and_that_nobody_may_look_before(tmp_path):
    evenings = crew(tmp_path, HOURS.format(who="with ada-brook bo-mill"))
    said = evening_text(evenings.plan(), evenings.now, dt.UTC)
    assert "until 18:00, Ada Brook" in said.splitlines()[0]
    evenings.clock.sleep(3 * 24 * 3600 * 1000)
    assert "Ada Brook and Bo Mill" in evening_text(evenings.plan(), evenings.now, dt.UTC)


def test_somebody_whom_the_people_book_does_not_know_is_told(tmp_path):
    evening = crew(tmp_path, "Wed 14:00-18:00 with cy-ode").plan()
    assert evening.ahead.faults == ("shop.yaml: not in people.yaml: cy-ode",)
    assert set(days(evening).values()) == {WED}  # nothing is known of them: nothing is held back


@pytest.mark.parametrize(("usual", "roles"), [("1", {"look": SAT}), ("2", {"look": SAT})])
def test_a_second_look_is_planned_where_two_are_here(tmp_path, usual, roles):
    evenings = Shop(tmp_path, hours="Wed 14:00-18:00, Sat 9:00-16:00 2 people")
    evenings.shop = change_settings(evenings.shop, {"people": usual})
    page = SIGNED.replace("role: checker", "another person: yes")
    evenings.begin(page, ["arm 1"])
    found = days(evenings.plan())
    assert found["look"] == (WED if usual == "2" else roles["look"])
