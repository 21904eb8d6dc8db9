"""A witness point keeps who came, who sent word, or that the notice ran out; it is never early."""

from trial import Trial

from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.act_clocks import Band, ClockKind, act_clocks
from benchrun.run.fold import fold
from benchrun.run.offers import Deed, offers
from benchrun.run.state import Status
from benchrun.run.witnessing import BY_WALL

POINT = """\
- {do: Clean., id: clean}
- {witness: Tell the owner., id: told, notice: 2 h, source: inv}
- {do: Cover., id: cover}
"""


def told(folder, parts="A B", **about):
    trial = Trial(folder, POINT, parts, about=about)
    for part in parts.split():
        trial.do("clean", part)
    if not about:
        trial.good(c.Tell("told", tuple(parts.split()), trial.seen))
    return trial


def end(trial, how, name="", behalf="", parts=("A",)):
    return c.EndNotice(parts, trial.seen, e.NoticeEnd(how), name, behalf)


def test_who_came_is_kept_with_whom_they_came_for_and_is_never_early(tmp_path):
    trial = told(tmp_path)
    trial.minute += 5
    came = trial.good(end(trial, "came", "Cy", "the club", ("A", "B")))
    assert (came.name, came.behalf, came.end) == ("Cy", "the club", e.NoticeEnd.CAME)
    assert came.each["A"].proven == 5 * 60_000
    assert not came.each["A"].verdict
    assert not came.each["A"].asks
    assert trial.at("A") == trial.at("B") == "cover"


def test_who_came_and_who_sent_word_must_be_named(tmp_path):
    trial = told(tmp_path)
    assert trial.refused(end(trial, "came", "  ")).startswith("Who came?")
    assert trial.refused(end(trial, "not coming")).startswith("Who sent word")


def test_word_that_nobody_comes_ends_the_wait_at_once(tmp_path):
    trial = told(tmp_path)
    trial.good(end(trial, "not coming", "Cy"))
    assert (trial.at("A"), trial.at("B")) == ("cover", "told")


def test_a_notice_has_run_out_when_its_time_is_over_and_not_before(tmp_path):
    trial = told(tmp_path, "A")
    trial.minute += 119
    assert "runs 1 min more" in trial.refused(end(trial, "ran out"))
    waits = next(one for one in offers(trial.run, trial.now) if one.deed is Deed.WITNESS)
    assert (waits.ready, waits.why) == (False, "the notice runs 1 min more")
    trial.minute += 1
    clock = act_clocks(trial.run, trial.now)[0]
    assert (clock.kind, clock.band) == (ClockKind.NOTICE, Band.DUE)
    over = trial.good(end(trial, "ran out", "Cy", "nobody"))
    assert (over.name, over.behalf, over.flags) == ("", "", ())
    assert trial.at("A") == "cover"


def test_over_a_night_switched_off_the_wall_clock_tells_and_the_log_says_so(tmp_path):
    trial = told(tmp_path, "A")
    trial.restart(off=130)
    assert trial.good(end(trial, "ran out")).flags == (BY_WALL,)


def test_while_a_witness_is_waited_for_nothing_else_lets_the_part_go_on(tmp_path):
    trial = told(tmp_path, "A")
    assert "waits for a witness" in trial.refused(c.Skip("told", ("A",), trial.seen, "no time"))
    assert "waited for" in trial.refused(c.Lift(("A",), trial.seen, "no time"))
    assert "waits for a witness" in trial.refused(trial.do_of("cover", "A"))
    assert "waited for" in trial.refused(c.Close({"A": "no time"}, "I did it"))


def test_a_witness_point_is_told_not_put_in_and_not_done(tmp_path):
    trial = told(tmp_path, "A", format=4)
    assert "witness point" in trial.refused(c.PutIn("told", ("A",), trial.seen))
    assert "witness point" in trial.refused(trial.do_of("told", "A"))
    assert "no witness point" in trial.refused(c.Tell("clean", ("A",), trial.seen))


def test_telling_and_its_end_can_be_undone(tmp_path):
    trial = told(tmp_path, "A")
    n = trial.run.n - 1
    trial.good(end(trial, "not coming", "Cy"))
    trial.good(c.Retract(n + 1, trial.seen))
    assert trial.m("A").soak is not None
    trial.good(c.Retract(n, trial.seen))
    assert (trial.m("A").soak, trial.at("A")) == (None, "told")


def test_a_log_of_before_tells_it_as_a_dwell_that_may_end_early(tmp_path):
    trial = told(tmp_path, "A", format=3)
    assert [one.deed for one in offers(trial.run, trial.now)] == [Deed.PUT_IN]
    trial.put_in("told", "A")
    trial.minute += 5
    out = trial.lift("A")
    assert out.each["A"].verdict == "early"
    assert [one.code for one in trial.questions("A")[0].answers] == ["go on"]


def test_a_run_taken_up_from_before_ends_its_notice_by_the_rules_of_now(tmp_path):
    trial = told(tmp_path, "A", format=3)
    trial.put_in("told", "A")
    seal = e.Sealed("sig", "station@shop", "resume", format=4)
    trial.entries.append(e.Entry(trial.run.n, trial.now, "station", seal))
    trial.run = fold(trial.run, trial.entries[-1])
    trial.good(end(trial, "came", "Cy"))
    trial.do("cover", "A")
    assert trial.m("A").status is Status.DONE
