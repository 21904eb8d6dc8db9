"""Parts out of the tub with a minute to the rinse: one key on their page says that it is done."""

import re

import pytest
from screen_bench import press, settled, show_run, until

from benchrun.run import commands as c

SECOND = 1000
JOB = """\
procedure: rinse-soon
title: Etch and rinse
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: arm, at most: 4}
vessels: {tub: {title: etch tub, holds: 1}}
stages:
  - stage: All
    steps:
      - {dwell: Keep it wet., id: etch, in: tub, least: 20 s, most: 5 min, late: [go on]}
      - do: Rinse in running water.
        id: rinse
        window: {after: etch, most: 1 min, late: [go on, set aside]}
      - {do: Pack it., id: pack}
"""


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_wet_parts_are_rinsed_with_one_key_before_the_next_load_goes_in(
    bench, tmp_path, size
):
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    session = bench.begin(path, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=size) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter")
        bench.clock.wait(30 * SECOND)
        bench.app.screen.tick()
        await press(pilot, "enter")
        bench.clock.wait(20 * SECOND)
        bench.app.screen.tick()
        page = bench.screen()
        assert "0:40 LEFT   arm 1: step 2, Rinse in running water" in page
        assert "0 silence" in page.splitlines()[1]
        assert any(" Enter done, arm 1 " in row for row in page.splitlines()[-2:])
        assert "left, by 14:03" in page
        await press(pilot, "enter")
        assert "done, arm 1" in bench.screen()
        assert session.run.markers["arm 1"].touched == session.run.n - 1
        await press(pilot, "plus", "enter")
    kinds = [(entry.kind, entry.data.parts) for entry in session.entries if entry.kind != "seal"][
        1:
    ]
    assert kinds[:3] == [("in", ("arm 1",)), ("out", ("arm 1",)), ("do", ("arm 1",))]


async def test_what_is_waited_for_counts_on_and_is_told_no_more_once_it_may_be_done(
    bench, tmp_path
):
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    session = bench.begin(path, ["arm 1"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "enter")
        (left,) = re.findall(r"Nothing to do yet: too early, (\d+) s to go", bench.screen())
        bench.clock.wait(8 * SECOND)
        bench.app.screen.tick()
        assert f"Nothing to do yet: too early, {int(left) - 8} s to go." in bench.screen()
        bench.clock.wait(13 * SECOND)
        bench.app.screen.tick()
        assert "Nothing to do yet" not in bench.screen()
        assert " Enter take out " in bench.screen()


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_board_names_wet_parts_with_the_time_that_is_left(bench, tmp_path, size):
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    session = bench.begin(path, ["arm 1", "arm 2"])
    session.send(c.PutIn("etch", ("arm 1",), session.run.n - 1)).result()
    bench.clock.wait(30 * SECOND)
    session.send(c.Lift(("arm 1",), session.run.n - 1)).result()
    session.leave()
    bench.clock.wait(20 * SECOND)
    async with bench.app.run_test(size=size) as pilot:
        await settled(pilot)
        await until(bench, "UNDER WAY")
        await until(bench, "ON THE CLOCK")
        page = bench.screen().partition("UNDER WAY")[0]
        if size == (120, 40):  # the most urgent stands in large digits
            assert "   arm 1: 2  Rinse in running water." in page
            assert "left, by 14:03" in page
            return
        (row,) = [row for row in page.splitlines() if row.startswith("   window")]
        assert "arm 1" in row
        assert "0:40 left  by 14:03" in row
        assert "step 2, Rinse" in row


COATS = """\
procedure: two-coats
title: Coat and cure
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: arm, at most: 4}
stages:
  - stage: All
    steps:
      - {do: Brush on a coat., id: coat}
      - do: Wipe it down.
        id: wipe
        window: {after: coat, least: 8 h, most: 30 h, late: [go on]}
      - {do: Look at it., id: look}
      - {do: Hang it up., id: hang, window: {after: wipe, least: 24 h}}
"""


PLATED = """\
procedure: plated
title: Plate it
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: hub}
stages:
  - stage: All
    steps:
      - {dwell: Send it out., id: plate, at: plater, most: 9 d, late: [go on]}
"""


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_cures_and_far_windows_stand_on_the_board_with_clock_time_and_day(
    bench, tmp_path, size
):
    path = tmp_path / "coats.yaml"
    path.write_text(COATS)
    session = bench.begin(path, ["arm 1", "arm 2"])
    sent = tmp_path / "plate.yaml"
    sent.write_text(PLATED)
    away = bench.begin(sent, ["hub"], tag="away")
    away.send(c.PutIn("plate", ("hub",), away.run.n - 1)).result()
    away.leave()

    def done(step, part):
        session.send(c.Do(step, (part,), session.run.n - 1)).result()

    done("coat", "arm 1")
    bench.clock.wait(9 * 3600 * SECOND)
    done("wipe", "arm 1")
    done("look", "arm 1")
    done("coat", "arm 2")
    session.leave()
    async with bench.app.run_test(size=size) as pilot:
        await settled(pilot)
        await until(bench, "ON THE CLOCK")
        page = bench.screen().partition("UNDER WAY")[0]
        assert "from 07:02 tomorrow" in page
        assert "from 23:02 tomorrow" in page
        assert "by 4 Dec 14:02" in page
        # 24:00 alone might be minutes and seconds, and count up or down.
        assert "24:00 h to go" in page
        assert "9:00:00 away" in page


async def test_enter_silences_nothing_where_a_number_must_be_chosen_first(bench, tmp_path):
    path = tmp_path / "rinse.yaml"
    path.write_text(JOB)
    session = bench.begin(path, ["arm 1"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter")
        bench.clock.wait(301 * SECOND)
        bench.app.screen.tick()
        await press(pilot, "enter")
        bench.clock.wait(2 * SECOND)
        bench.app.screen.tick()
        assert "LEFT   arm 1: step 2, Rinse" in bench.screen()
        assert "1  Go on as it is" in bench.screen()
        await press(pilot, "enter")
        assert "Choose by its number." in bench.screen()
        assert "LEFT   arm 1: step 2, Rinse" in bench.screen()
        await press(pilot, "0")
        assert "LEFT   arm 1: step 2, Rinse" not in bench.screen()
