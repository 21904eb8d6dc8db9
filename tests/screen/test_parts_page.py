"""The page of the batch: who stands where, and parts chosen there to go on with."""

import pytest
from PIL import Image
from screen_bench import press, show_run

from benchrun.run.state import Status
from benchrun.screen.parts.rows import plan_of
from benchrun.screen.text_line import Paper

ARMS = ["arm 1", "arm 2", "arm 3", "arm 4"]
FORTY = [f"arm {i}" for i in range(1, 41)]


def last(session, kind: str):
    return [one.data for one in session.entries if one.kind == kind][-1]


async def test_parts_chosen_on_the_page_are_the_ones_that_go_on(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "slash", "1", "2", "4", "enter")
        assert "[● arm 2] [● arm 4]" in bench.screen()
        await press(pilot, "enter")
    assert last(session, "do").parts == ("arm 2", "arm 4")


async def test_the_point_key_and_the_look_up_show_the_same_page(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop")
        by_point = bench.screen()
        await press(pilot, "minus", "slash", "1")
        assert bench.screen() == by_point


async def test_parts_are_walked_to_and_chosen_without_a_number(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "plus", "full_stop", "plus", "plus", "full_stop")
        assert "▸3 [● arm 3]" in bench.screen()
        await press(pilot, "enter", "enter")
    assert last(session, "do").parts == ("arm 1", "arm 3")


async def test_one_key_chooses_all_and_none(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "asterisk")
        assert bench.screen().count("[●") == 4
        await press(pilot, "3", "enter")
        assert "for       [● arm 1] [● arm 2] [● arm 4]" in bench.screen()
        await press(pilot, "full_stop", "asterisk", "asterisk", "enter", "enter")
    assert last(session, "do").parts == tuple(ARMS)


async def test_one_digit_of_a_large_batch_is_completed_by_enter(bench, every_state):
    session = bench.begin(every_state, FORTY)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "4", "enter", "3", "9", "enter", "enter")
    assert last(session, "do").parts == ("arm 4", "arm 39")


async def test_what_waits_for_the_chosen_parts_comes_in_hand(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "4", "enter", "enter")
        assert "Wipe every part dry" in bench.screen().split("\n")[5]
        await press(pilot, "full_stop", "4", "enter")
        assert "Look for cracks" in bench.screen().split("\n")[5]
        await press(pilot, "1")
    assert last(session, "do").parts == ("arm 4",)


async def test_parts_that_stand_elsewhere_are_told_and_left_alone(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "4", "enter", "enter", "full_stop", "1", "2", "4", "enter")
        assert "at another step: arm 4" in bench.screen()
        await press(pilot, "enter")
    assert last(session, "do").parts == ("arm 1", "arm 2")


async def test_a_part_that_waits_for_room_can_be_put_in_before_the_others(bench, every_state):
    session = bench.begin(every_state, [*ARMS, "arm 5"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "full_stop", "4", "enter")
        assert "[● arm 4]" in bench.screen()
        assert "waits" not in bench.screen()
        await press(pilot, "enter")
    assert last(session, "in").parts == ("arm 4",)


async def test_a_double_tap_takes_the_choice_and_does_nothing_with_it(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        before = session.run.n
        await press(pilot, "full_stop", "2", "enter")
        await press(pilot, "enter", wait_ms=100)
        assert session.run.n == before
        assert "[● arm 2]" in bench.screen()


async def test_of_several_to_measure_the_chosen_one_comes_first(bench, every_state, tmp_path):
    path = tmp_path / "measure.yaml"
    head, _, tail = every_state.read_text().partition("  - stage: Clean")
    path.write_text(head + tail[tail.index("  - stage: Measure") :])
    session = bench.begin(path, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "slash", "1", "3", "enter", *"61", "full_stop", *"96", "enter")
    assert last(session, "do").parts == ("arm 3",)


async def test_nothing_can_be_done_for_a_part_that_is_scrap(bench, every_state):
    session = bench.begin(every_state, ARMS)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "asterisk", "4", "3", "full_stop", "2", "enter", "1")
        assert session.run.markers["arm 2"].status is Status.SCRAP
        await press(pilot, "full_stop", "2", "enter")
        assert "Nothing can be done now for arm 2" in bench.screen()


async def test_a_part_is_looked_at_from_the_page(bench, every_state):
    session = bench.begin(every_state, FORTY)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1", "slash", "1", "3", "1", "slash")
        assert bench.screen().startswith(" arm 31")
        assert "sound" in bench.screen()


async def test_the_photos_of_a_part_stand_on_its_page(bench, every_state, tmp_path):
    picture = tmp_path / "seat.jpg"
    Image.new("L", (16, 16), 90).save(picture, "JPEG")
    session = bench.begin(every_state, ARMS)
    photo = session.copy_photo(picture, next(iter(session.run.route.steps)), ("arm 2",))
    session.send(photo).result()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop", "2", "slash")
        assert f"photo    {photo.file}, at step 1" in bench.screen()
        await press(pilot, "minus", "3", "slash")
        assert "photo" not in bench.screen()


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
def test_forty_parts_fit_on_one_page(bench, every_state, size):
    run = bench.begin(every_state, FORTY).run
    assert plan_of(Paper(*size), run).shown >= 40


async def test_a_batch_that_does_not_fit_is_turned_over_by_walking(bench, every_state):
    tags = [f"arm with a long tag {i}" for i in range(1, 51)]
    session = bench.begin(every_state, tags)
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "full_stop")
        assert "1 to 36 shown" in bench.screen()
        await press(pilot, "4", "0")
        assert "37 to 50 shown" in bench.screen()
        assert "▸40 [●" in bench.screen()
