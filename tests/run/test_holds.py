"""Holds yield to their signature, a waiver or the next day; critical acts have a start before."""

import pytest
from trial import BO, Trial

from benchrun.moment import Moment
from benchrun.run import commands as c
from benchrun.run.commands import Hand, Want
from benchrun.run.offers import Deed, offers
from benchrun.run.state import Status

HOLD = """\
- {do: Rub., id: rub}
- hold: Release it.
  id: release
  role: smith
  signs: It is right.
"""
SIGN = c.SignOff("ann@shop", "sig")
APPRENTICE = Hand("cy", "Cy")


def at_hold(folder, more="", parts="A"):
    trial = Trial(folder, HOLD + more, parts)
    for part in parts.split():
        trial.do("rub", part)
    return trial


def waive(trial, part="A", reason="the owner looked himself"):
    return c.Do("release", (part,), trial.seen, reason=reason, waives=True)


def test_a_hold_is_never_skipped_for_any_reason(tmp_path):
    trial = at_hold(tmp_path)
    said = trial.refused(c.Skip("release", ("A",), trial.seen, "called away"))
    assert said.startswith("Step 2 is a hold: it is never skipped.")
    assert said.endswith("The parts wait until a smith signs it.")
    assert trial.at("A") == "release"


def test_a_hold_is_waived_only_where_the_procedure_lets_it_be(tmp_path):
    trial = at_hold(tmp_path)
    assert "may not be waived" in trial.refused(waive(trial))


def test_a_waiver_needs_the_role_and_a_reason_and_counts_once_it_is_signed(tmp_path):
    trial = at_hold(tmp_path, "  may be waived: yes\n")
    trial.hand = APPRENTICE
    assert "signed by a smith" in trial.refused(waive(trial))
    trial.hand = Hand("ann", "Ann", frozenset({"smith"}))
    assert trial.give(waive(trial, reason="  ")).want is Want.REASON
    stated = trial.good(waive(trial))
    assert (stated.waived, stated.flags) == (True, ("waived",))
    assert stated.says == "Ann: I waive step 2, Release it. It was not met."
    assert trial.at("A") == "release"
    trial.good(SIGN)
    assert trial.m("A").status is Status.DONE


def test_who_worked_before_a_waiver_is_remembered_at_the_next_hold(tmp_path):
    more = "  may be waived: yes\n- {hold: Look., id: look, signs: Seen., another person: yes}\n"
    trial = at_hold(tmp_path, more)
    trial.good(waive(trial))
    trial.good(SIGN)
    assert "Ann did the work" in trial.refused(trial.do_of("look", "A"))
    trial.hand = BO
    trial.do("look", "A")


def test_who_waives_a_hold_did_not_work_on_the_part_by_that(tmp_path):
    more = "  may be waived: yes\n- {hold: Look., id: look, signs: Seen., another person: yes}\n"
    trial = at_hold(tmp_path, more)
    trial.hand = Hand("bo", "Bo", frozenset({"smith"}))
    trial.good(waive(trial))
    trial.good(c.SignOff("bo@shop", "sig"))
    trial.hand = Hand("ann", "Ann", frozenset({"smith"}))
    assert "Ann did the work" in trial.refused(trial.do_of("look", "A"))
    trial.hand = BO
    assert trial.do("look", "A").flags == ()


def test_nobody_joins_behind_a_hold(tmp_path):
    trial = at_hold(tmp_path, "- {do: Hang it up., id: hang}\n")
    spec = c.PartSpec("late")
    said = trial.refused(c.Add(spec, "hang", reason="found in the shed"))
    assert "has not met the hold at step 2" in said
    trial.good(c.Add(spec, "release", reason="rubbed last week"))
    assert trial.at("late") == "release"


ALONE = "- {do: Rub., id: rub}\n- {hold: Look., id: look, signs: Seen., another person: yes}\n"


@pytest.mark.parametrize(
    ("worked", "hours", "may"),
    [
        ("10:00", 13.9, False),  # the same evening
        ("10:00", 14, True),  # midnight
        ("22:00", 5.9, False),  # after midnight, not rested
        ("22:00", 6, True),
        ("23:30", 6.1, True),
    ],
)
def test_who_works_alone_checks_on_the_next_day(tmp_path, worked, hours, may):
    trial = Trial(tmp_path, ALONE, "A", about={"works_alone": "+0200"})
    clock, minute = (int(text) for text in worked.split(":"))
    # The trial's minute 0 is 2026-02-02 02:40 UTC, which is 04:40 in that shop.
    trial.minute = (clock * 60 + minute) - (4 * 60 + 40)
    trial.do("rub", "A")
    trial.minute += hours * 60
    if may:
        flags = trial.do("look", "A").flags
        assert flags == ("checked by who did the work, alone in the shop, on the next day",)
    else:
        assert "or wait" in trial.refused(trial.do_of("look", "A"))


def test_a_clock_that_is_not_in_step_is_told_where_it_decides(tmp_path):
    trial = Trial(tmp_path, ALONE.replace("Seen.,", "Seen., same person after: 12 h,"), "A")
    trial.sync = False
    trial.do("rub", "A")
    trial.restart(off=11 * 60, sync=False)
    assert "or wait 1 h more" in trial.refused(trial.do_of("look", "A"))
    trial.minute += 60
    (flag,) = trial.do("look", "A").flags
    assert flag == (
        "checked by who did the work, 12 h later, by a wall clock that may be out of step"
    )


def test_a_shop_of_several_has_another_person_or_nobody(tmp_path):
    trial = Trial(tmp_path, ALONE, "A")
    trial.do("rub", "A")
    trial.minute = 60 * 24 * 30
    assert trial.refused(trial.do_of("look", "A")) == (
        "Ann did the work on A. Let another person sign."
    )


CRITICAL = "- {do: Press it out., id: press, critical: yes}\n- {do: Wipe., id: wipe}\n"


def deeds(trial):
    return [(one.deed, one.parts) for one in offers(trial.run, trial.now) if one.ready]


def test_the_start_of_a_critical_step_is_entered_before_it_is_done(tmp_path):
    trial = Trial(tmp_path, CRITICAL, "A B")
    assert deeds(trial) == [(Deed.BEGIN, ("A", "B"))]
    assert "enter its start first" in trial.refused(c.Do("press", ("A",), trial.seen))
    trial.good(c.Begin("press", ("A",), trial.seen))
    assert (Deed.DO, ("A",)) in deeds(trial)
    assert (Deed.BEGIN, ("B",)) in deeds(trial)
    assert "begun already" in trial.refused(c.Begin("press", ("A",), trial.seen))
    assert "B." in trial.refused(c.Do("press", ("A", "B"), trial.seen))
    trial.good(c.Do("press", ("A",), trial.seen))
    assert trial.at("A") == "wipe"


def test_a_part_that_goes_back_begins_its_critical_step_again(tmp_path):
    trial = Trial(tmp_path, CRITICAL, "A")
    trial.good(c.Begin("press", ("A",), trial.seen))
    trial.good(c.Do("press", ("A",), trial.seen))
    trial.put("A", "press")
    assert "enter its start first" in trial.refused(c.Do("press", ("A",), trial.seen))


def test_only_a_critical_step_has_a_start(tmp_path):
    trial = Trial(tmp_path, CRITICAL, "A")
    trial.good(c.Begin("press", ("A",), trial.seen))
    trial.good(c.Do("press", ("A",), trial.seen))
    assert "needs no start" in trial.refused(c.Begin("wipe", ("A",), trial.seen))


def test_a_critical_load_goes_in_after_its_start(tmp_path):
    dwell = "- {dwell: Etch., id: etch, in: tub, least: 5 min, critical: yes}\n"
    trial = Trial(tmp_path, dwell, "A")
    assert "enter its start first" in trial.refused(c.PutIn("etch", ("A",), trial.seen))
    trial.good(c.Begin("etch", ("A",), trial.seen))
    trial.put_in("etch", "A")


def test_a_window_before_a_critical_step_ends_with_its_start(tmp_path):
    steps = "- {do: Wipe., id: wipe}\n" + CRITICAL.splitlines()[0].replace(
        "critical: yes}", "critical: yes, window: {after: wipe, most: 10 min, late: set aside}}\n"
    )
    trial = Trial(tmp_path, steps, "A B")
    for part in "AB":
        trial.do("wipe", part)
    trial.minute = 9
    trial.good(c.Begin("press", ("A",), trial.seen))
    trial.minute = 12
    trial.good(c.Do("press", ("A",), trial.seen))
    assert trial.m("A").status is Status.DONE
    assert trial.good(c.Begin("press", ("B",), trial.seen)).KIND == "ask"


def test_logs_of_earlier_numbers_go_on_by_their_own_rules(tmp_path):
    trial = Trial(tmp_path, CRITICAL + HOLD.replace("Rub", "Rub it"), "A", about={"format": 2})
    trial.good(c.Do("press", ("A",), trial.seen))
    trial.do("wipe", "A")
    trial.do("rub", "A")
    trial.skip("release", "A")
    assert isinstance(trial.now, Moment)
    assert trial.m("A").status is Status.DONE
