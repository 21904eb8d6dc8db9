"""A sum done in mid run hands its answer over: into the reading in hand, or as a note."""

from pathlib import Path

from screen_bench import Bench

from benchrun.screen.run.screen import RunScreen

BENCHES = Path(__file__).parent / "procedures"


async def press(pilot, bench, *wanted):
    for key in wanted:
        bench.clock.wait(1000)
        await pilot.press(key)
        await pilot.pause()


PROCEDURE = """\
procedure: shim-job
title: A shim to find
revision: 1
status: draft
scope: One part.
batch: {part: axle}
stages:
  - stage: All
    steps:
      - reading: Measure the seat.
        id: seat
        unit: mm
"""


async def at_the_answer(bench, tmp_path, pilot):
    (tmp_path / "shim.yaml").write_text(PROCEDURE)
    session = bench.begin(tmp_path / "shim.yaml", ["axle"])
    bench.app.push_screen(RunScreen(bench.app, session, resumed=False))
    await pilot.pause()
    await press(pilot, bench, "slash", "4", "1", *"62", "enter", *"P7", "enter")
    return session


async def test_the_answer_goes_into_the_reading(tmp_path):
    bench = Bench(tmp_path)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        session = await at_the_answer(bench, tmp_path, pilot)
        assert "size max" in bench.screen()
        await press(pilot, bench, "enter")
        assert "Write it down as a note" in bench.screen()
        await press(pilot, bench, "5")
        assert "61.979" in bench.screen()
        await press(pilot, bench, "enter")
    values = session.run.markers["axle"].values.values()
    assert [str(value.number) for value in values] == ["61.979"]


async def test_the_answer_is_kept_as_a_note(tmp_path):
    bench = Bench(tmp_path)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        session = await at_the_answer(bench, tmp_path, pilot)
        await press(pilot, bench, "enter", "1")
    (note,) = [entry.data.text for entry in session.entries if entry.kind == "note"]
    assert note.startswith("limits: lower -51 µm, upper -21 µm")
