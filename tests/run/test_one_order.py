"""One order in every face: run, board, alarms, watch, leaving, speech tell clocks alike."""

from pathlib import Path

from hypothesis import settings
from hypothesis.stateful import invariant, run_state_machine_as_test
from test_alarm_book import UTC, RandomCalls
from test_properties import QUIET

from benchrun.alarms.calls import CallingRun, calls_of
from benchrun.alarms.speech import Speech
from benchrun.board import Board, OpenRun
from benchrun.dialogue.hand import called_offer, main_clock, view
from benchrun.dialogue.leaving import leave
from benchrun.dialogue.turns import Flow
from benchrun.run.act_clocks import ActClock, Band
from benchrun.run.urgency import Rank, clock_rank, helps, ordered_clocks
from benchrun.screen.board.blocks import running
from benchrun.screen.text_line import Paper
from benchrun.screen.watch import watch_page


def in_order(some: list[object], whole: list[object]) -> bool:
    """Whether some things stand in the order in which all of them do."""
    places = [whole.index(one) for one in some]
    return places == sorted(places)


def rows_of(flow: Flow) -> list[str]:
    """The rows of the one page that a flow asks on; none where it asks nothing."""
    try:
        page = next(flow)
    except StopIteration:
        return []
    return [row.text for row in page.rows()]


class Faces(RandomCalls):
    """Random shops; at every state each face is asked for its clocks."""

    compared = 0

    @invariant()
    def every_face_keeps_the_order(self) -> None:
        at = self.now
        runs = [(f"run-{n}", world.run) for n, world in enumerate(self.worlds)]
        clocks = [(one.run_id, one.clock) for one in ordered_clocks(runs, at)]
        keys = [(run_id, clock.key) for run_id, clock in clocks]
        calling = [CallingRun(name, name, run) for name, run in runs]
        opened = tuple(OpenRun(Path(name), name, "", run) for name, run in runs)
        board = Board(opened, ())
        assert [(one.id, clock.key) for one, _, clock in board.clocks_at(at)] == keys
        assert in_order([(one.id, clock.key) for one, clock in running(board, at)], keys)
        alarms = calls_of(calling, at, "", UTC).alarms
        assert in_order([(one.run_id, one.clock.key) for one in alarms], keys)
        self.words_in_order(calling, board, alarms, at)
        for _, run in runs:
            self.the_page_is_at_the_most_urgent(run, at)
        Faces.compared += len(keys) > 1

    def words_in_order(self, calling, board, alarms, at) -> None:
        """Speech, the page on leaving and the watch say the alarms in their order."""
        said = [one.line for one in alarms]
        spoken, _ = Speech(UTC).news(calling, at)
        rows = rows_of(leave(calling, at, UTC))
        for lines in (spoken, rows):
            found = [next((n for n, line in enumerate(lines) if one in line), None) for one in said]
            places = [place for place in found if place is not None]
            assert places == sorted(places)
        assert all(any(one in line for line in spoken) for one in said)
        page = "\n".join(row.text for row in watch_page(board, at, Paper(200, 300), "Shop"))
        assert all(alarm.words.act[:30] in page for alarm in alarms)

    @staticmethod
    def the_page_is_at_the_most_urgent(run, at) -> None:
        """A run opens at what its most urgent clock calls for, and shows that clock large."""
        now = view(run, at, None)
        clocks = [one.clock for one in ordered_clocks([("run", run)], at)]
        first = next((one for one in clocks if _presses(one)), None)
        if first is None or now.offer is None or run.stopped:
            return
        if now.offer.ready and helps(now.offer, first):
            assert called_offer(now, first) is now.offer
            large = main_clock(now)
            assert large is not None
            assert clock_rank(large) <= clock_rank(first) or large.load is not None


def _presses(clock: ActClock) -> bool:
    return clock_rank(clock)[0] < Rank.HARM_DONE and not clock.accepted and clock.band > Band.DUE


def test_in_random_shops_every_face_keeps_the_one_order() -> None:
    short = settings(max_examples=60, stateful_step_count=25, suppress_health_check=QUIET)
    Faces.compared = rounds = 0
    # How many clocks come up is chance: in one round 30 states have several, in another 500.
    while Faces.compared <= 100 and rounds < 8:
        run_state_machine_as_test(Faces, settings=short)
        rounds += 1
    print(f"{Faces.compared} states with more than one clock")
    assert Faces.compared > 100
