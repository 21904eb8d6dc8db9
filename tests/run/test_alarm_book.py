"""Calls of the clocks: none is lost, silence is short, the bell keeps pace, a command harms not."""

import datetime as dt
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)
from patience import PATIENCE_S
from run_people import PEOPLE_DO
from run_world import World
from test_properties import CHOICES, QUIET, picking, reading
from test_urgency import COATS, LOADS, clocked_route
from trial import Trial

from benchrun.alarms.book import PACE_MS, AlarmBook
from benchrun.alarms.calls import CallingRun, calls_of
from benchrun.alarms.command import MOST_MS, AlarmCommand
from benchrun.run import commands as c
from benchrun.run.act_clocks import Band, ClockKind, act_clocks
from benchrun.run.urgency import ordered_clocks

MINUTE = 60_000
UTC = dt.UTC


@pytest.fixture
def trial(tmp_path):
    """Two arms in the tub for a quarter of an hour, tended just now."""
    trial = Trial(tmp_path, LOADS, "A B")
    for part in "AB":
        trial.do("bath", part, "50 %")
    trial.put_in("soak", "A B")
    trial.minute = 17.5
    trial.good(c.Tend(("A", "B"), trial.seen))
    return trial


def calls(trial, in_hand="etch"):
    runs = [CallingRun("etch", "Small axle parts", trial.run)]
    return calls_of(runs, trial.now, in_hand, UTC).alarms


def words(trial):
    return [(one.words.signal, one.words.line) for one in calls(trial)]


def test_a_load_calls_that_it_is_due_then_how_long_is_left_then_how_far_it_is_past(trial):
    assert words(trial) == [("DUE", "A, B: take out of the etching tub, by 03:00")]
    trial.minute = 18.2
    assert words(trial) == [("1:48 LEFT", "A, B: take out of the etching tub, by 03:00")]
    trial.minute = 21.3
    assert words(trial) == [
        ("LATE", "A, B: take out of the etching tub, 1 min 18 s past 20 min"),
    ]
    assert calls(trial)[0].seconds == -78


def test_a_tending_that_is_late_is_past_since_it_was_due(tmp_path):
    trial = Trial(tmp_path, LOADS, "A B")
    trial.do("bath", "A", "50 %")
    trial.put_in("soak", "A")
    trial.minute = 2.2
    assert words(trial) == [("DUE", "A: tend: Turn the parts, due now")]
    trial.minute = 5
    assert words(trial) == [("LATE", "A: tend: Turn the parts, overdue by 3 min")]
    assert calls(trial)[0].seconds == -180


def test_a_window_calls_before_it_closes_and_when_it_is_closed(trial):
    trial.minute = 19
    trial.lift("A B")
    trial.minute = 19.5
    assert words(trial) == [("0:30 LEFT", "A, B: step 3, Rinse, by 03:00")]
    trial.minute = 20.1
    assert words(trial)[0][1] == "A, B: step 3, Rinse, closed 03:00, 6 s past 1 min"


def test_a_recoat_window_says_its_hours_with_their_days(tmp_path):
    trial = Trial(tmp_path, COATS, "A")
    trial.minute = 16 * 60
    trial.do("coat", "A")
    trial.do("look", "A")
    runs = [CallingRun("r", "Coats", trial.run)]
    assert calls_of(runs, trial.now, "", UTC).alarms == ()
    trial.minute += 121
    (one,) = calls_of(runs, trial.now, "", UTC).alarms
    assert one.line == "Coats: A: step 3, Wipe, by 18:40 tomorrow"


def test_a_load_whose_time_nobody_knows_is_called_at_once_and_told_as_at_least(trial):
    trial.restart(off=1, sync=False)
    line = calls(trial)[0].words.line
    assert "may be past 20 min: at least 17 min 30 s; machine was off" in line
    assert "0 s past" not in line


def test_silence_is_for_one_call_and_for_its_time_alone(trial):
    book, at = AlarmBook(), trial.now
    assert book.hear(calls(trial), at)
    quiet = calls(trial)[0].clock.quiet_ms
    book.silence(book.first, at)
    assert book.first is None
    assert not book.hear(calls(trial), at)
    soon = replace(at, up_ms=at.up_ms + quiet - 1)
    same = calls(trial)
    book.hear(same, soon)
    assert book.first is None
    assert book.hear(same, replace(at, up_ms=at.up_ms + quiet))
    assert book.first is not None


def test_a_silenced_call_calls_again_as_soon_as_it_is_louder(trial):
    book = AlarmBook()
    book.hear(calls(trial), trial.now)
    book.silence(book.first, trial.now)
    trial.minute = 18.2
    assert book.hear(calls(trial), trial.now)
    book.silence(book.first, trial.now)
    trial.minute = 20.1
    assert [one.band for one in book.hear(calls(trial), trial.now)] == [Band.LATE]


def test_the_bell_keeps_the_pace_of_the_loudest_call(trial):
    book = AlarmBook()
    trial.minute = 18
    start, same = trial.now, calls(trial)
    assert [one.band for one in same] == [Band.SOON]
    moments = [replace(start, up_ms=start.up_ms + second * 1000) for second in range(100)]
    rung = [at.up_ms - start.up_ms for at in moments if book.hear(same, at)]
    assert rung == [0, 30_000, 60_000, 90_000]


def test_calls_of_other_runs_carry_the_name_of_the_run(trial):
    trial.minute = 21
    assert calls(trial, in_hand="other")[0].line.startswith("Small axle parts: A, B: take out")


# -- the command ------------------------------------------------------------------------------


@pytest.fixture
def late(trial):
    trial.minute = 21
    return calls(trial)


def ended(command, most_s=PATIENCE_S):
    """Let a command go on until nothing of it runs; what it said."""
    said, until = [], time.monotonic() + most_s
    while command._runs is not None and time.monotonic() < until:
        time.sleep(0.02)
        said.append(command.tick(0))
    assert command._runs is None
    return [one for one in said if one]


def test_a_command_gets_the_words_the_run_and_the_seconds(late, tmp_path):
    to = tmp_path / "told"
    names = "['BENCHRUN_ALARM', 'BENCHRUN_ALARM_WORDS', 'BENCHRUN_ALARM_RUN', "
    names += "'BENCHRUN_ALARM_SECONDS']"
    program = f"import os; open({str(to)!r}, 'w').write('|'.join(os.environ[n] for n in {names}))"
    command = AlarmCommand([sys.executable, "-c", program])
    assert command.call(late, 0) == ""
    assert ended(command) == []
    line = "A, B: take out of the etching tub, 1 min past 20 min"
    assert to.read_text() == f"LATE|{line}|etch|-60"


def test_a_command_that_hangs_is_ended_and_the_next_call_is_run(late, tmp_path):
    to = tmp_path / "runs"
    program = f"import time; open({str(to)!r}, 'a').write('x'); time.sleep(600)"
    command = AlarmCommand([sys.executable, "-c", program])
    command.call(late, 0)
    until = time.monotonic() + PATIENCE_S
    while not to.exists() and time.monotonic() < until:
        time.sleep(0.02)
    assert command.call(late, MOST_MS - 1) == ""
    assert command.call(late, MOST_MS) == "the alarm command hung and was ended after 20 s"
    while to.read_text() != "xx" and time.monotonic() < until:
        time.sleep(0.02)
    assert to.read_text() == "xx"
    command.stop()


@pytest.mark.parametrize(
    ("program", "said"),
    [
        ("import sys; sys.exit(3)", ["the alarm command ended with code 3"]),
        ("import sys; print('x' * 200000); sys.stderr.write('y' * 200000)", []),
    ],
)
def test_a_command_that_fails_is_told_once_and_one_that_prints_is_not_seen(
    late, capfd, program, said
):
    command = AlarmCommand([sys.executable, "-c", program])
    command.call(late, 0)
    assert ended(command) == said
    command.call(late, 0)
    assert ended(command) == []
    assert capfd.readouterr() == ("", "")


# -- the properties ---------------------------------------------------------------------------


class RandomCalls(RuleBasedStateMachine):
    """Two random runs at one bench; somebody works, silences, lets time pass, restarts."""

    heard = silenced = 0

    @initialize(
        first=st.binary(min_size=20, max_size=80),
        second=st.binary(min_size=20, max_size=80),
        sizes=st.integers(0, 2**12 - 1),
    )
    def begin(self, first: bytes, second: bytes, sizes: int) -> None:
        pick = picking(sizes)
        self.worlds = []
        for choices in (first, second):
            route = clocked_route(reading(choices))
            assume(route is not None)
            self.worlds.append(World(route, [1] * (1 + pick(3))))
        self.worlds[1].clock = self.worlds[0].clock
        self.book, self.boot = AlarmBook(), ""
        self.quiet: dict[tuple[str, ...], tuple[Band, int]] = {}
        self.rung_ms = 0

    @property
    def now(self):
        return self.worlds[0].clock.now()

    @rule(which=st.integers(0, 1), deed=st.sampled_from(["work", "choose", "answer", "lift"]))
    def act(self, which: int, deed: str) -> None:
        if not self.worlds[which].run.ended:
            PEOPLE_DO[deed][1](self.worlds[which], picking(which * 977 + len(deed)))

    @rule(choices=CHOICES)
    def the_machine(self, choices: int) -> None:
        pick = picking(choices)
        if not pick(4):
            PEOPLE_DO["machine"][1](self.worlds[0], pick)

    @rule(tenths=st.integers(1, 3000))
    def time_passes(self, tenths: int) -> None:
        self.worlds[0].clock.true_ms += tenths * 100

    @rule(which=st.integers(0, 3), wait=st.integers(0, 900))
    def silence_and_wait(self, which: int, wait: int) -> None:
        self.silence(which)
        self.worlds[0].clock.true_ms += wait * 100

    @rule(which=st.integers(0, 3))
    def silence(self, which: int) -> None:
        if self.boot != self.now.boot:
            return
        self.calls_are_heard()
        if which < len(self.book.standing):
            one = self.book.standing[which]
            self.book.silence(one, self.now)
            band = Band.LATE if one.clock.kind is ClockKind.TEND else one.band
            self.quiet[one.key] = (band, self.now.up_ms + one.clock.quiet_ms)
            RandomCalls.silenced += 1

    @invariant()
    def calls_are_heard(self) -> None:
        at, runs = self.now, [(f"run-{n}", w.run) for n, w in enumerate(self.worlds)]
        if at.boot != self.boot:  # another process
            self.book, self.boot, self.quiet = AlarmBook(), at.boot, {}
        alarms = calls_of([CallingRun(name, name, run) for name, run in runs], at, "", UTC).alarms
        loud = {
            (name, *one.key)
            for name, run in runs
            for one in act_clocks(run, at)
            if one.band > Band.RUNNING and not one.accepted
        }
        assert {one.key for one in alarms} == loud, "every clock that calls is among the calls"
        order = [one.key for one in ordered_clocks(runs, at) if one.key in loud]
        assert [one.key for one in alarms] == order, "calls stand in the one order"
        rung = self.book.hear(alarms, at)
        standing = [one.key for one in self.book.standing]
        for one in alarms:
            band, until = self.quiet.get(one.key, (Band.RUNNING, 0))
            if one.band > band or at.up_ms >= until:
                self.quiet.pop(one.key, None)
                assert one.key in standing, "silence never outlives its time"
            else:
                assert one.key not in standing
        self.quiet = {key: its for key, its in self.quiet.items() if key in loud}
        assert standing == [key for key in order if key in standing]
        if rung:
            self.rung_ms = at.up_ms
        elif standing:
            pace = PACE_MS[max(one.band for one in self.book.standing)]
            assert at.up_ms - self.rung_ms < pace, "the bell keeps its pace"
        RandomCalls.heard += bool(standing)


def test_in_random_shops_no_call_is_lost_and_no_silence_lasts() -> None:
    short = settings(max_examples=300, stateful_step_count=40, suppress_health_check=QUIET)
    RandomCalls.heard = RandomCalls.silenced = rounds = 0
    # How often something calls, and is silenced, is chance in a round.
    while (RandomCalls.heard <= 300 or RandomCalls.silenced <= 50) and rounds < 4:
        run_state_machine_as_test(RandomCalls, settings=short)
        rounds += 1
    print(f"{RandomCalls.heard} states with a call, {RandomCalls.silenced} silenced")
    assert RandomCalls.heard > 300
    assert RandomCalls.silenced > 50


TWO_CARDS = """
- {reading: Read the first card., id: first, unit: min}
- {reading: Read the second card., id: second, unit: min}
- {do: Coat the arm., id: coat}
- {do: Pack the arm., id: pack, window: {after: coat, most: first + second, late: [set aside]}}
"""


def test_two_windows_whose_times_are_not_known_for_two_reasons_are_two_calls(
    tmp_path: Path,
) -> None:
    """Random shops found it: both windows had one key, so that one hid the other."""
    trial = Trial(tmp_path, TWO_CARDS)
    trial.skip("first", "A")
    trial.do("second", "A", "5 min")
    trial.do("first", "B", "5 min")
    trial.skip("second", "B")
    trial.do("coat", "A B")
    clocks = act_clocks(trial.run, trial.now)
    windows = [clock.key for clock in clocks if clock.kind is ClockKind.WINDOW]
    assert len(set(windows)) == len(windows) == 2
