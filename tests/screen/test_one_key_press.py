"""How many functions one key press passes through from the key to the line on the disk."""

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from screen_bench import press, show_run
from textual.events import Key

MOST_HOPS = 14
MOST_MOMENTS = 10


class Trace:
    """The functions of benchrun that were being carried out when each of some was entered."""

    def __init__(self, *entered: str) -> None:
        self._entered = entered
        self.passed: dict[str, None] = {}

    def __call__(self, frame: FrameType, event: str, _given: object) -> None:
        if event == "call" and _name(frame) in self._entered:
            for name in reversed(list(_stack(frame))):
                self.passed[name] = None


def _name(frame: FrameType) -> str:
    module = frame.f_globals.get("__name__", "")
    return f"{module.removeprefix('benchrun.')}:{frame.f_code.co_qualname}"


def _stack(frame: FrameType | None) -> Iterator[str]:
    while frame is not None:
        if str(frame.f_globals.get("__name__", "")).startswith("benchrun."):
            yield _name(frame)
        frame = frame.f_back


@contextmanager
def traced(*entered: str) -> Iterator[Trace]:
    """Follow every thread that begins from now on, and this one."""
    trace = Trace(*entered)
    threading.setprofile(trace)
    sys.setprofile(trace)
    try:
        yield trace
    finally:
        sys.setprofile(None)
        threading.setprofile(None)


async def test_one_key_press_passes_through_few_functions_to_the_disk(bench, every_state):
    give, send = "dialogue.delivery:give", "session.live:Session.send"
    append = "record.writer:LogWriter.append"
    with traced(give, send, append) as trace:
        session = bench.begin(every_state, ["arm 1"])
        async with bench.app.run_test(size=(80, 24)) as pilot:
            await show_run(bench.app, session)
            trace.passed.clear()
            await press(pilot, "enter")
    assert session.entries[-1].kind == "do"
    hops = list(trace.passed)
    print("\n".join(hops))
    assert hops[0].endswith("on_key")
    assert hops[-1] == append
    assert len(hops) <= MOST_HOPS


async def test_one_key_asks_seldom_what_time_it_is(bench, every_state, monkeypatch):
    """Asking is a call of the kernel, and at another moment all that is on offer is new."""
    session = bench.begin(every_state, ["arm 1"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await pilot.pause()
        asked, now = [], bench.clock.now
        monkeypatch.setattr(bench.clock, "now", lambda: (asked.append(1), now())[1])
        await press(pilot, "enter")
    assert session.entries[-1].kind == "do"
    assert len(asked) <= MOST_MOMENTS


async def test_the_moment_of_a_key_is_over_with_it(bench, every_state):
    session = bench.begin(every_state, ["arm 1"])
    async with bench.app.run_test(size=(80, 24)):
        screen = await show_run(bench.app, session)
        await screen.on_key(Key("plus", "+"))
        bench.clock.wait(60_000)
        assert screen.now() == bench.clock.now()
