"""What stands against beginning is told first; a load that is in another's way asks a reason."""

import shutil

import pytest
from screen_bench import press, settled, show_run
from test_run_screen import ARMS, last

from benchrun.run import commands as c

INSTRUMENTS = """\
instruments:
  - id: gauge-2
    name: bore gauge
    range: 50 to 160 mm
    resolution: 0.001 mm
    until: 2026-11-01
"""
VESSELS = "vessels:\n  - {id: big-tub, name: big tub, also: [etch tub], holds: 4}\n"


@pytest.fixture
def other(bench, every_state, tmp_path):
    """Another run with two parts in the tub, left for the night."""
    shutil.copy(every_state, bench.shop.path / "procedures" / "every-state.yaml")
    session = bench.begin(every_state, ["left", "right"], "othr")
    parts = session.run.parts
    session.send(c.Do("wipe", parts, session.run.n - 1)).result()
    session.send(c.Do("cracks", parts, session.run.n - 1, finding="sound")).result()
    session.send(c.PutIn("etch", parts, session.run.n - 1)).result()
    session.leave()
    return session


async def to_tub(pilot) -> None:
    await press(pilot, "enter", "1")


async def test_what_is_short_or_past_its_date_stands_before_the_start_and_blocks_nothing(
    bench, other
):
    (bench.shop.path / "instruments.yaml").write_text(INSTRUMENTS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "2")
        page = bench.screen()
        assert "bore gauge (gauge-2) is past its calibration date, 2026-11-01" in page
        assert "the etch tub holds 2 parts of" in page
        assert "not as it should be" in page
        await press(pilot, "enter")
        page += bench.screen()
        at_hand = page.index("bore gauge, weak acid and rinse water")
        assert page.index("to be at hand") < at_hand < page.index("check before you begin")
        assert "begin anyway" in page
        await press(pilot, "enter", "1", "enter")
        assert "The batch" in bench.screen()


async def test_where_nothing_is_lacking_nothing_is_said_of_it(bench, every_state):
    shutil.copy(every_state, bench.shop.path / "procedures" / "every-state.yaml")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1")
        page = bench.screen()
        await press(pilot, "enter")
        page += bench.screen()
        assert "not as it should be" not in page
        assert "No books are kept of instruments (readings name none) and supplies." in page
        assert "Enter check it" in page


async def test_a_load_beside_another_runs_load_asks_a_reason_that_is_kept(
    bench, every_state, other
):
    (bench.shop.path / "vessels.yaml").write_text(VESSELS)
    session = bench.begin(every_state, ARMS[:2])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_tub(pilot)
        before = session.run.n
        await press(pilot, "enter")
        assert session.run.n == before
        told = " ".join(bench.screen().split())
        assert "The big tub holds 3, and another run is using it: 2 parts of" in told
        assert other.folder.run in told
        await press(pilot, "4")
        assert (last(session, "in").parts, last(session, "in").reason) == (
            ("arm 1", "arm 2"),
            "called away",
        )


async def test_a_load_for_which_there_is_room_goes_in_at_once(bench, every_state, other):
    (bench.shop.path / "vessels.yaml").write_text(VESSELS)
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await to_tub(pilot)
        await press(pilot, "enter")
        assert last(session, "in").parts == ("arm",)
        assert not last(session, "in").reason
