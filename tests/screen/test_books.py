"""The shop's books on the screen: lists, one thing, changes, by keypad and typing."""

import os
from pathlib import Path

import pytest
from screen_bench import WORD, Bench, press, settled, until

from benchrun.record.keys import read_key_file
from benchrun.screen.book.screen import BookScreen
from benchrun.shop.folder import open_shop
from benchrun.shop.instruments import read_instruments
from benchrun.shop.movements import enter_in_book
from benchrun.shop.parts import read_parts
from benchrun.shop.people import people_sheet, read_people
from benchrun.shop.supplies import read_supplies
from benchrun.shop.vessels import read_vessels

EXPECTED = Path(__file__).parent / "expected"
FILES = {
    "instruments": """\
# our gauges
instruments:
  - id: mic   # the old one
    name: micrometer
    range: 0 to 25 mm
    until: 2026-03-01
  - {id: wrench-1, name: torque wrench, range: 20 to 200 N m, until: 2027-03-01}
""",
    "supplies": """\
supplies:
  - id: primer-1
    name: primer
    amount: 500 ml
    least: 100 ml   # for the frame
    book:
      - {on: 2026-11-01, used: 420 ml}
""",
    "vessels": "vessels:\n  - {id: tub, name: etch tub, holds: 4}\n",
    "parts": """\
jobs:
  - {id: trailer, name: hose trailer}
parts:
  - {id: hub-l, name: hub, side: left, job: trailer, where: shelf 2}
  - id: studs
    name: wheel studs
    away:
      - {sent: 2026-11-01, to: the plater, count: 8, due: 2026-11-20}
""",
}


@pytest.fixture
def stocked(bench) -> Bench:
    for name, text in FILES.items():
        (bench.shop.path / f"{name}.yaml").write_text(text)
    return bench


async def open_books(pilot, bench: Bench) -> None:
    await settled(pilot)
    await bench.app.push_screen(BookScreen(bench.app, bench.shop))
    await pilot.pause()


async def typed(pilot, text: str) -> None:
    await press(pilot, *["space" if char == " " else char for char in text], wait_ms=1)


def text_of(bench: Bench, name: str) -> str:
    return (bench.shop.path / f"{name}.yaml").read_text()


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 50)])
async def test_the_pages_are_those_that_are_kept(stocked, size):
    """After a change that is meant: BENCHRUN_WRITE_PAGES=1, and look at the difference."""
    wrong = []
    async with stocked.app.run_test(size=size) as pilot:
        await open_books(pilot, stocked)
        for name, keys in (("books", ""), ("parts", "4"), ("thing", "2"), ("deeds", "\r")):
            await press(pilot, *("enter" if key == "\r" else key for key in keys))
            if name == "thing":
                await until(stocked, "ITS LIFE")  # read beside, from the logs
            path = EXPECTED / f"book-{name}-{size[0]}x{size[1]}.txt"
            if os.environ.get("BENCHRUN_WRITE_PAGES"):
                path.write_text(stocked.screen())
            elif path.read_text() != stocked.screen():
                wrong.append(f"{path.name} is now\n{stocked.screen()}")
    assert wrong == []


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_every_book_tells_in_words_how_its_things_stand(stocked, size):
    async with stocked.app.run_test(size=size) as pilot:
        await settled(pilot)
        await press(pilot, "asterisk", "2")
        menu = stocked.screen()
        for words in (
            "Instruments   2, 1 needs attention",
            "Parts         2, 1 needs attention",
            "Settings",
        ):
            assert words in menu
        for number, words in (
            ("1", "past its calibration date, 2026-03-01"),
            ("2", "has 80 ml left of 100 ml to be kept"),
            ("3", "free"),
            ("4", "away at the plater since 2026-11-01, due back 2026-11-20: overdue"),
            ("5", "1 part, 0 runs"),
            ("6", "restorer, checker"),
        ):
            await press(pilot, number)
            assert words in stocked.screen()
            await press(pilot, "minus")
        assert stocked.screen() == menu


async def test_a_new_calibration_needs_the_day_until_which_it_is_good(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "1", "1", "enter", "1", "enter", "enter", "enter")
        assert "until: type the new due date." in stocked.screen()
        assert text_of(stocked, "instruments") == FILES["instruments"]
        await typed(pilot, "2027-11-01")  # the form stands on the field that was refused
        await press(pilot, "enter", "enter")
        assert read_instruments(stocked.shop).named("mic").until.isoformat() == "2027-11-01"


async def test_what_came_back_is_counted_and_the_rest_stays_away(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "4", "2", "enter", "1")
        assert "8 pieces went to the plater on 2026-11-01." in stocked.screen()
        await press(pilot, "9", "enter", "enter")
        assert "8 went: say how many came back, from 1 to that" in stocked.screen()
        await press(pilot, "tab", "backspace", "5", "enter", "enter")
        assert (
            "studs: 5 came back; 3 pieces away at the plater since 2026-11-01" in stocked.screen()
        )
        assert "back 2026-11-25, 5 of 8" in stocked.screen()
        assert read_parts(stocked.shop).named("studs").gone.count == 3


async def test_several_texts_are_asked_for_as_they_are_typed(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "4", "asterisk")
        assert "cast and stamped numbers: cast 4711; stamped L 2" in stocked.screen()


async def test_a_field_is_changed_and_comments_and_order_stay(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "1", "1", "enter", "3")
        assert "name         micrometer" in stocked.screen()
        assert "also         other names that procedures use" in stocked.screen()
        await press(pilot, "1", "0")  # note
        await typed(pilot, "lent: to Ada")
        await press(pilot, "enter")
        assert "note of mic is kept" in stocked.screen()
    assert text_of(stocked, "instruments") == FILES["instruments"].replace(
        "    until: 2026-03-01\n", '    until: 2026-03-01\n    note: "lent: to Ada"\n'
    )


async def test_what_will_not_do_is_told_in_one_line_and_stays_typed(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "1", "1", "enter", "1", "enter")
        await typed(pilot, "tomorrow")
        await press(pilot, "enter", "enter")
        screen = stocked.screen()
        assert "until: 'tomorrow' is no day: write it like 2026-03-02" in screen
        assert "   until       tomorrow" in screen
        await press(pilot, "escape")
    assert text_of(stocked, "instruments") == FILES["instruments"]


async def test_things_are_added_taken_out_of_use_and_put_back(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "3", "asterisk")
        await typed(pilot, "Drying oven")
        await press(pilot, "enter")
        await typed(pilot, "2")
        await press(pilot, "enter", "enter")
        assert "drying-oven is in vessels.yaml" in stocked.screen()
        assert read_vessels(stocked.shop).named("drying-oven").holds == 2
        await press(pilot, "enter", "1")
        await typed(pilot, "the door hangs")
        await press(pilot, "enter")
        assert read_vessels(stocked.shop).named("drying-oven").out_of_use == "the door hangs"
        assert "out of use: the door hangs" in stocked.screen()
        await press(pilot, "enter", "1")
        assert read_vessels(stocked.shop).named("drying-oven").out_of_use == ""
    assert text_of(stocked, "vessels").startswith(FILES["vessels"])


async def test_a_supply_is_used_counted_and_its_comments_stay(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "2", "1", "enter", "1")
        await typed(pilot, "30 ml")
        await press(pilot, "enter", "enter")
        assert "used 30 ml; 50 ml left" in stocked.screen()
        await press(pilot, "enter")
        assert "Count what is left" in stocked.screen()
        assert "Strength of the bath" not in stocked.screen()
        await press(pilot, "3")
        await typed(pilot, "0.4 l")
        await press(pilot, "enter", "enter")
        assert read_supplies(stocked.shop).named("primer-1").left.words == "400 ml"
    assert "# for the frame" in text_of(stocked, "supplies")


async def test_what_fills_a_vessel_is_a_bath_whose_strength_is_entered(stocked):
    tub = "vessels:\n  - {id: tub, name: etch tub, holds: 4, filled with: primer-1}\n"
    (stocked.shop.path / "vessels.yaml").write_text(tub)
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "2", "1", "enter")
        assert "4  Strength of the bath" in stocked.screen()


async def test_a_part_is_sent_away_with_count_and_photo_and_taken_back(stocked, tmp_path):
    picture = tmp_path / "p.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(40))
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "4", "1", "enter", "1")
        for text in ("the plater", "3", "2026-12-10", str(picture)):
            await typed(pilot, text)
            await press(pilot, "enter")
        assert "p.png may tell where it was taken: it cannot be looked into." in stocked.screen()
        assert read_parts(stocked.shop).named("hub-l").gone is None
        await press(pilot, "enter")
        assert "away at the plater since 2026-11-25, due back 2026-12-10" in stocked.screen()
        trip = read_parts(stocked.shop).named("hub-l").gone
        assert (trip.count, trip.to) == (3, "the plater")
        assert (stocked.shop.path / trip.photo).is_file()
        await press(pilot, "enter", "1", "3", "enter", "enter")
        assert "hub-l is back: shelf 2" in stocked.screen()
        await press(pilot, "enter", "2", "4")
        assert read_parts(stocked.shop).named("hub-l").decision == "scrap"
        await press(pilot, "enter", "3")
        for text in ("plating", "12.50 EUR"):
            await typed(pilot, text)
            await press(pilot, "enter")
        assert "12.50 EUR" in stocked.screen()


async def test_somebody_is_taken_on_and_leaves(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "6", "asterisk")
        await typed(pilot, "Piet Okonda")
        await press(pilot, "enter", "enter")
        for text in (WORD, "other", WORD, WORD):
            await typed(pilot, text)
            await press(pilot, "enter")
            if text == "other":
                assert "The two passphrases differ" in stocked.screen()
        person = people_sheet(stocked.shop).named("piet-okonda")
        assert read_key_file(person.key).unlock(WORD).public
        await press(pilot, "3", "enter", "2", "enter")
        assert "left on       2026-11-25" in stocked.screen()
    assert [one.id for one in read_people(stocked.shop)] == ["ada-brook", "bea-mill"]


async def test_the_list_of_the_books_tells_how_each_stands_now(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        assert "5  Jobs          1" in stocked.screen()
        await press(pilot, "5", "asterisk")
        await typed(pilot, "Second trailer")
        await press(pilot, "enter", "enter")
        await press(pilot, "minus", "minus")
        assert "5  Jobs          2" in stocked.screen()


async def test_a_job_is_handed_over_and_settings_are_set(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "5", "1", "enter", "1")
        assert "done          2026-11-25" in stocked.screen()
        await press(pilot, "minus", "minus", "7", "2")
        await typed(pilot, "EUR")
        await press(pilot, "enter", "1", "ctrl+u")
        await typed(pilot, "Ropewalk")
        await press(pilot, "enter")
        assert "title is kept" in stocked.screen()
    assert open_shop(stocked.shop.path).title == "Ropewalk"
    assert "currency: EUR" in text_of(stocked, "shop")


async def test_what_another_program_writes_meanwhile_is_neither_lost_nor_missed(stocked):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "2", "1", "enter", "1")
        await typed(pilot, "10 ml")
        enter_in_book(stocked.shop, "primer-1", "used", "20 ml", stocked.app.screen.today)
        await press(pilot, "enter", "enter")
        assert "50 ml left" in stocked.screen()
        supplies = stocked.shop.path / "supplies.yaml"
        supplies.write_text(supplies.read_text().replace("name: primer", "name: red primer"))
        stocked.app.screen.tick()
        assert "red primer" in stocked.screen()


async def test_a_broken_file_is_told_by_its_line_and_the_other_books_still_open(stocked):
    path = stocked.shop.path / "supplies.yaml"
    path.write_text("supplies:\n  - id: a\n    name: [x\n")
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        assert "1 fault in the file" in stocked.screen()
        await press(pilot, "2")
        assert "put right  supplies.yaml:" in stocked.screen()
        assert "No supply yet" not in stocked.screen()
        await press(pilot, "asterisk")
        await typed(pilot, "primer")
        await press(pilot, "enter")
        await typed(pilot, "1 l")
        await press(pilot, "enter", "enter", "enter", "enter")
        assert "supplies.yaml:" in stocked.screen()
        assert "Put that right first" in stocked.screen()
        await press(pilot, "escape", "minus", "1")
        assert stocked.screen().startswith(" Instruments")
        assert "micrometer" in stocked.screen()
    assert path.read_text() == "supplies:\n  - id: a\n    name: [x\n"


@pytest.mark.parametrize(
    "text", ["../../etc/x", "[bold]x[/]", "{on: x}", "- a\\nb", "# no", "'", '"', "é\u202e", "!!x"]
)
async def test_hostile_texts_are_kept_as_text_or_refused_and_harm_nothing(stocked, text):
    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "1", "1", "enter", "3", "1", "0")
        for char in text:
            await stocked.app.screen.panes[-1].key(char)
        await press(pilot, "enter")
        await press(pilot, "escape", "escape")
        screen = stocked.screen()
        assert "\x1b" not in screen
    note = read_instruments(stocked.shop).named("mic").note
    assert note in ("", " ".join(text.split()))
    assert read_instruments(stocked.shop).faults == ()
    assert text_of(stocked, "instruments").startswith("# our gauges\n")


async def test_megabytes_pasted_and_names_that_are_paths_are_told_in_one_line(stocked):
    from textual.events import Paste

    async with stocked.app.run_test(size=(80, 24)) as pilot:
        await open_books(pilot, stocked)
        await press(pilot, "4", "asterisk")
        stocked.app.screen.post_message(Paste("../" * 1_000_000))
        await pilot.pause()
        await press(pilot, "enter", "enter", "enter", "enter", "enter")
        screen = stocked.screen()
        assert "id" in screen or "name" in screen
    beside = {path.name for path in stocked.shop.path.parent.iterdir()}
    assert beside - {"state"} == {"shop"}  # `state`: this program's own, not from a pasted path
    assert {part.id for part in read_parts(stocked.shop).rows} >= {"hub-l", "studs"}
    assert len(read_parts(stocked.shop).rows) <= 3
