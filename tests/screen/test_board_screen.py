"""The board, the first start, beginning a run, and windows that are too small."""

import asyncio
import os
import shutil
import threading
import time
from dataclasses import replace
from pathlib import Path

from patience import PATIENCE_S
from screen_bench import LOOK, Bench, ascii_look, press, settled, show_run, until

from benchrun import version
from benchrun.board import glance, look
from benchrun.errors import BenchrunError
from benchrun.run import commands as c
from benchrun.screen.app import BenchApp
from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people
from benchrun.signing_keys import person_key

MINUTE = 60_000


def of_shop(bench: Bench, every_state: Path) -> None:
    """Let the shop have a procedure of its own, which is listed first."""
    shutil.copy(every_state, bench.shop.path / "procedures" / "every-state.yaml")


async def test_a_run_begun_after_an_upgrade_says_which_build_it_is(
    bench, every_state, tmp_path, monkeypatch
):
    version.build.cache_clear()
    this = version.build()
    version.build.cache_clear()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        ends = time.monotonic() + PATIENCE_S
        while not version.build.cache_info().currsize and time.monotonic() < ends:
            await asyncio.sleep(0.01)
        monkeypatch.setattr(version, "_PACKAGE", tmp_path / "another program lies here now")
        session = bench.begin(every_state, ["arm"])
    assert session.entries[0].data.about["program"].endswith(f" build {this}")


async def test_what_is_due_soon_is_due_sooner_as_time_goes_on(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "enter", "asterisk", "9")
        await until(bench, "due in")
        assert "Brush acid over dry patches, due in" in bench.screen()
        bench.clock.wait(60_000)
        bench.app.screen.tick()
        assert "due in 5" in bench.screen()
        bench.clock.wait(60_000)
        bench.app.screen.tick()
        assert "due in" not in bench.screen()


async def test_a_run_is_begun_from_the_board_by_keypad(bench, every_state):
    of_shop(bench, every_state)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1")
        assert "check before you begin" in bench.screen()
        await press(pilot, "enter", "1", "enter")
        await until(bench, "The batch for")
        await press(pilot, "3", "enter")
        assert " 1 of 9" in bench.screen()
        session = bench.app.screen.session
        bench.app.leave_runs()
    assert session.run.parts == ("arm 1", "arm 2", "arm 3")
    (told,) = session.entries[0].data.about["conditions"]
    assert told["says"] == "The tub is full and labelled."


async def test_the_batch_of_last_time_is_offered(bench, every_state):
    of_shop(bench, every_state)
    bench.begin(every_state, ["left", "right"]).leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "2", "enter", "1", "enter")
        assert "left, right" in bench.screen()
        await press(pilot, "enter")
        assert bench.app.screen.session.run.parts == ("left", "right")
        bench.app.leave_runs()


async def test_running_clocks_stand_first_and_go_on(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "enter", "asterisk", "9")
        await until(bench, "ON THE CLOCK")
        bench.clock.wait(90_000)
        bench.app.screen.tick()
        assert "1:31" in bench.screen()
        bench.clock.wait(40_000)
        bench.app.screen.tick()
        assert bench.screen().startswith("  DUE   ")
        await press(pilot, "0")
        assert not bench.screen().startswith("  DUE   ")


async def test_a_damaged_run_says_why_and_the_board_stays(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    session.leave()
    session.folder.log.write_bytes(session.folder.log.read_bytes().replace(b"arm", b"leg", 1))
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1")
        assert "UNDER WAY" in bench.screen()
        assert "cannot be read" in bench.screen()


async def test_a_run_held_by_another_window_is_read_along_and_left_again(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1", "1")
        assert "another window writes" in bench.screen()
        await press(pilot, "escape")
        await until(bench, "UNDER WAY")
    session.leave()


async def test_the_first_start_asks_for_a_name_and_makes_a_key(tmp_path):
    bench = Bench(tmp_path / "other")
    app = BenchApp(tmp_path / "new", look=LOOK, clock=bench.clock, pulse=lambda: bench.seconds)
    bench.app = app
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "first start" in bench.screen()
        await press(pilot, "enter", *"Ada", "space", *"Brook", "enter", "1")
        await press(pilot, *"2468", "enter", *"1357", "enter")
        assert "The two passphrases differ" in bench.screen()
        await press(pilot, *"2468", "enter", *"2468", "enter")
        assert "BEGIN" in bench.screen()
    people = read_people(open_shop(tmp_path / "new"))
    assert [one.name for one in people] == ["Ada Brook"]
    assert person_key(people[0]).unlock("2468")


async def test_a_window_that_is_too_small_says_so_and_takes_no_keys(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    async with bench.app.run_test(size=(50, 14)) as pilot:
        await show_run(bench.app, session)
        before = session.run.n
        await press(pilot, "enter")
        told = " ".join(bench.screen().split())
        assert "needs 60 by 16" in told
        assert "benchrun --plain" in told
        assert session.run.n == before
        await pilot.resize_terminal(80, 24)
        await settled(pilot)
        assert " 1 of 9" in bench.screen()


async def test_forty_parts_with_long_names_fit_the_page(bench, every_state):
    parts = [f"a bracket of the {i:02d}th kind"[:24] for i in range(1, 41)]
    session = bench.begin(every_state, parts)
    for size in ((80, 24), (120, 40)):
        app = bench.new_app()
        async with app.run_test(size=size) as pilot:
            await show_run(app, session)
            for keys in (["slash", "1"], ["minus"], ["full_stop"], ["minus"]):
                await press(pilot, *keys)
                rows = bench.screen().split("\n")
                assert all(len(row) <= size[0] for row in rows)
                assert len(rows) == size[1] + 1


async def test_markup_in_every_text_field_is_text(bench, tmp_path, every_state):
    path = tmp_path / "markup.yaml"
    hostile = "[b]x[/] [@click=app.quit]y[/] a[/]b"
    text = every_state.read_text()
    for plain in ("Wipe every part dry.", "Water thins the acid.", "Phosphoric acid burns eyes"):
        text = text.replace(plain, f"{plain[:-1]} {hostile}.")
    path.write_text(text.replace("Small axle parts", f"Small {hostile}"))
    session = bench.begin(path, ["[red]arm[/]", "a[/]b"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        assert "[b]x[/]" in bench.screen()
        assert "[red]arm[/]" in bench.screen()
        for keys in (["0", "enter"], ["slash", "1", "1", "minus", "minus"], ["enter", "1"]):
            await press(pilot, *keys)
        await press(pilot, "asterisk", "1", *"[b]", "enter")
        assert bench.app.is_running
        await press(pilot, "asterisk", "9")
        assert "[b]x[/]" in bench.screen()


async def test_in_ascii_nothing_else_is_drawn(tmp_path, every_state):
    bench = Bench(tmp_path, look=ascii_look())
    session = bench.begin(every_state, ["arm 1", "arm 2"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "enter")
        for keys in ([], ["slash", "1"], ["minus", "slash", "5"], ["minus", "full_stop"]):
            await press(pilot, *keys)
            assert bench.screen().isascii(), bench.screen()
        assert session.run.n > 3


async def test_since_when_is_the_runs_own_time_whatever_became_of_its_file(bench, every_state):
    session = bench.begin(every_state, ["arm"])
    bench.clock.wait(40 * MINUTE)
    session.send(c.KeepNote("tea")).result()
    bench.clock.wait(20 * MINUTE)
    session.leave()
    os.utime(session.folder.log, (1, 1))
    [one] = look(bench.shop, bench.clock.now()).open_runs
    note = next(one for one in session.entries if one.kind == "note")
    assert one.since_ms == note.at.utc_ms
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "14:42" in bench.screen()


async def test_a_shop_in_which_nobody_is_known_asks_for_a_name_over_the_board(bench, every_state):
    of_shop(bench, every_state)
    (bench.shop.path / "people.yaml").write_text("people:\n")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "Who works here")
        await press(
            pilot, *"Cy", "space", *"Wood", "enter", "1", *"2468", "enter", *"2468", "enter"
        )
        await until(bench, "Cy Wood")
        assert "BEGIN" in bench.screen()
    assert [one.name for one in read_people(bench.shop)] == ["Cy Wood"]


async def test_a_run_stands_on_the_board_and_opens_before_its_log_is_read(
    bench, every_state, monkeypatch
):
    of_shop(bench, every_state)
    bench.begin(every_state, ["arm"]).leave()
    bench.clock.wait(MINUTE)
    bench.begin(every_state, ["hub"], tag="n3w2").leave()
    [newest, older] = look(bench.shop, bench.clock.now()).open_runs
    glanced = glance(bench.shop).open_runs
    assert [(one.id, one.title, one.since_ms) for one in glanced] == [
        (one.id, one.title, one.since_ms) for one in (newest, older)
    ]
    held = threading.Event()

    def slow(shop, now, each):
        assert held.wait(PATIENCE_S)
        return look(shop, now, each)

    monkeypatch.setattr("benchrun.screen.board.screen.look", slow)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert bench.screen().count("its log is being read") == 2
        await press(pilot, "1")
        await until(bench, "Resumed")
        assert bench.app.screen.session.folder.run == newest.id
        held.set()
        await until(bench, "Wipe every part dry")
        bench.app.leave_runs()


async def test_a_look_that_takes_longer_than_a_round_is_waited_for_and_shows_what_it_read(
    bench, every_state, monkeypatch
):
    of_shop(bench, every_state)
    bench.begin(every_state, ["arm"]).leave()
    going_on, held = [], threading.Event()

    def slow(shop, now, each):
        going_on.append(now)
        board = look(shop, now)
        each(replace(board, looked=False))
        assert held.wait(PATIENCE_S)
        return board

    monkeypatch.setattr("benchrun.screen.board.screen.look", slow)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await until(bench, "Wipe every part dry")
        for _ in range(35):
            bench.app.screen.tick()
        await pilot.pause()
        assert len(going_on) == 1
        assert not bench.app.screen.board.looked
        held.set()
        while not bench.app.screen.board.looked:
            await pilot.pause()
        assert len(going_on) == 1


async def test_a_shop_that_cannot_be_looked_at_says_so_and_still_begins(
    bench, every_state, monkeypatch
):
    of_shop(bench, every_state)
    bench.begin(every_state, ["arm"]).leave()

    def refuses(shop, now, each):
        raise BenchrunError("the disk refused")

    monkeypatch.setattr("benchrun.screen.board.screen.look", refuses)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "the disk refused")
        assert "being read" not in bench.screen()
        await press(pilot, "2")
        assert "check before you begin" in bench.screen()


async def test_a_damaged_list_of_people_is_told_and_the_board_stays(bench, every_state):
    of_shop(bench, every_state)
    (bench.shop.path / "people.yaml").write_text("people: [\n")
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "people.yaml:")
        assert "BEGIN" in bench.screen()
        await press(pilot, "1", "enter", "enter", "enter")
        assert "people.yaml:" in bench.screen()
        assert bench.app.is_running


PARTS = """\
parts:
  - id: studs
    name: wheel studs
    away: [{to: the plater, sent: 2026-11-02, due: 2026-11-20, count: 10}]
"""
INSTRUMENTS = """\
instruments:
  - {id: gauge-2, name: bore gauge, range: 50 to 160 mm, resolution: 0.001 mm, until: 2026-11-01}
"""


async def test_what_is_away_and_what_the_shop_has_to_see_to_stand_on_the_board(bench, every_state):
    of_shop(bench, every_state)
    (bench.shop.path / "parts.yaml").write_text(PARTS)
    (bench.shop.path / "instruments.yaml").write_text(INSTRUMENTS)
    for size in ((80, 24), (120, 40)):
        bench.new_app()
        async with bench.app.run_test(size=size) as pilot:
            await settled(pilot)
            await until(bench, "NEEDS ATTENTION")
            page = " ".join(bench.screen().split())
            assert "bore gauge (gauge-2) is past its calibration date, 2026-11-01" in page
            assert page.index("AWAY wheel studs (studs), 10 pieces, is away") < page.index(
                "NEEDS ATTENTION"
            )
            assert "due back 2026-11-20: overdue" in page
            assert page.index("NEEDS ATTENTION") < page.index("BEGIN")


SHORT = """\
supplies:
""" + "".join(
    f"  - {{id: drum-{n}, name: bath of the long tank number {n}, amount: 9 l, best before:"
    f" 2026-01-01}}\n"
    for n in range(12)
)


async def test_a_key_opens_every_row_that_needs_attention_whole(bench, every_state):
    of_shop(bench, every_state)
    (bench.shop.path / "parts.yaml").write_text(PARTS)
    (bench.shop.path / "supplies.yaml").write_text(SHORT)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await until(bench, "NEEDS ATTENTION")
        assert "0 shows all" in bench.screen(), bench.screen()
        await press(pilot, "0")
        pages = ""
        while "Enter more" in (page := bench.screen()):
            pages += page
            await press(pilot, "enter")
        told = " ".join((pages + page).split())
        assert all(f"long tank number {n} (drum-{n})" in told for n in range(12))
        assert "wheel studs (studs), 10 pieces, is away" in told
        await press(pilot, "enter")
        assert "BEGIN" in bench.screen()


async def test_a_crowded_board_puts_procedures_behind_the_last_number_and_is_not_cramped(
    bench, every_state
):
    arms = ("arm 1", "arm 2")
    for tag in ("aaaa", "bbbb", "cccc", "dddd"):
        session = bench.begin(every_state, arms, tag)
        session.send(c.Do("wipe", arms, session.run.n - 1)).result()
        session.send(c.Do("cracks", arms, session.run.n - 1, finding="sound")).result()
        session.send(c.PutIn("etch", arms, session.run.n - 1)).result()
        session.leave()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        rows = bench.screen().splitlines()
        begin = rows.index(" BEGIN")
        assert not rows[begin - 1]
        assert sum("arm 1/2: Brush acid" in row for row in rows) == 4
        assert any(row.startswith(" 9 more") for row in rows)
        await press(pilot, "9")
        assert "Align the axles" in bench.screen()
