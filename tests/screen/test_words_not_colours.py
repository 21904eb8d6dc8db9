"""Every state is told by words or signs: in one colour, in ASCII, and with contrast enough."""

import datetime as dt

import pytest
from screen_bench import Bench, press, show_run

from benchrun.screen.text_line import Role
from benchrun.screen.theme import Appearance

MINUTE = 60_000
SIGNS = "┃╹╵│▼▽━┄├┤●○∘•▌█▀▄·←→"
MONO = Appearance("mono", ascii=True, zone=dt.UTC)


@pytest.fixture
def plain(tmp_path) -> Bench:
    """A bench on a terminal of one colour that has ASCII alone."""
    return Bench(tmp_path, people=["Bea Mill"], look=MONO)


async def at_the_tub(bench, pilot, every_state, minutes: float):
    session = bench.begin(every_state, ["arm"])
    await show_run(bench.app, session)
    await press(pilot, "enter", "1", "enter")
    bench.clock.wait(int(minutes * MINUTE))
    bench.app.screen.tick()
    return session


@pytest.mark.parametrize(
    ("minutes", "words", "band"),
    [
        (1, "too early, ", ""),
        (2.1, "too early, ", "  DUE   "),
        (10, "overdue", "  LATE   "),
        (21, "late, over 20 min", "  LATE   "),
    ],
)
async def test_the_state_of_a_clock_stands_in_words(plain, every_state, minutes, words, band):
    async with plain.app.run_test(size=(80, 24)) as pilot:
        await at_the_tub(plain, pilot, every_state, minutes)
        assert words in plain.screen()
        assert plain.screen().startswith(band)
        assert plain.screen().isascii()


async def test_an_alarm_is_told_by_its_word_and_inverted(plain, every_state):
    async with plain.app.run_test(size=(80, 24)) as pilot:
        await at_the_tub(plain, pilot, every_state, 21)
        view = plain.app.screen.page_view
        for row in range(4):
            told = view.render_line(row)
            assert all(part.style.reverse for part in told if part.text.strip())
        assert not any(part.style.reverse for part in view.render_line(4))


async def test_chosen_parts_and_the_hand_are_told_by_signs(plain, every_state):
    session = plain.begin(every_state, ["arm 1", "arm 2"])
    async with plain.app.run_test(size=(80, 24)) as pilot:
        await show_run(plain.app, session)
        await press(pilot, "full_stop", "2")
        assert ">2 [* arm 2]" in plain.screen()
        assert " 1 [o arm 1]" in plain.screen()


async def test_what_became_of_parts_stands_in_words(plain, every_state):
    session = plain.begin(every_state, ["arm 1", "arm 2", "arm 3", "arm 4"])
    async with plain.app.run_test(size=(80, 24)) as pilot:
        await show_run(plain.app, session)
        await press(pilot, "asterisk", "4", "2", "1", "enter", "1")
        await press(pilot, "asterisk", "4", "3", "2", "enter", "1")
        await press(pilot, "enter", "full_stop", "3", "enter", "3", "slash", "1")
        rows = {row.strip("> ")[:1]: row for row in plain.screen().splitlines() if "[" in row}
        assert "set aside" in rows["1"]
        assert "SCRAP" in rows["2"]
        assert "query open" in rows["3"]
        assert "step 2" in rows["4"]


async def test_in_one_colour_no_role_has_a_colour_of_its_own(plain):
    async with plain.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        view = plain.app.screen.page_view
        styles = [view.get_component_rich_style(f"page-view--{role.value}") for role in Role]
        assert len({style.color for style in styles}) == 1
        assert len({style.bgcolor for style in styles}) == 1


def light(colour) -> float:
    """Relative luminance: WCAG 2.2, definition."""
    parts = [part / 255 for part in colour.get_truecolor()]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("theme", ["dark", "light"])
async def test_every_text_that_is_drawn_stands_out_by_seven_to_one(tmp_path, theme):
    bench = Bench(tmp_path, look=Appearance(theme, zone=dt.UTC))
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        view = bench.app.screen.page_view
        for role in Role:
            style = view.get_component_rich_style(f"page-view--{role.value}")
            assert not style.dim
            high, low = sorted((light(style.color), light(style.bgcolor)), reverse=True)
            assert (high + 0.05) / (low + 0.05) >= 7, role


# Black and bright yellow of the sixteen colours: xterm's and the Linux console's, from memory.
SIXTEEN = {
    "xterm": {"color(0)": (0, 0, 0), "color(11)": (255, 255, 0)},
    "console": {"color(0)": (0, 0, 0), "color(11)": (255, 255, 85)},
    "soft": {"color(0)": (46, 52, 54), "color(11)": (252, 233, 79)},
}


def contrast(one, other) -> float:
    """Contrast of two colours: WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def luminance(parts) -> float:
    linear = [
        p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4
        for p in (part / 255 for part in parts)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("theme", ["terminal", "mono"])
async def test_on_the_terminals_own_colours_all_is_read_on_light_and_dark(tmp_path, theme):
    """Text has the terminal's own two colours; any other stands on a ground that it brings."""
    bench = Bench(tmp_path, look=Appearance(theme, zone=dt.UTC))
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        view = bench.app.screen.page_view
        for role in Role:
            style = view.get_component_rich_style(f"page-view--{role.value}")
            assert not style.dim
            names = {style.color.name, style.bgcolor.name}
            if names == {"default"}:
                continue
            assert "default" not in names, role
            for palette in SIXTEEN.values():
                assert contrast(palette[style.color.name], palette[style.bgcolor.name]) >= 7, role


@pytest.mark.parametrize("theme", ["dark", "light", "terminal", "mono"])
async def test_each_mark_that_is_drawn_stands_out_by_four_and_a_half_to_one(
    tmp_path, every_state, theme
):
    """WCAG 2.2, 1.4.11 asks 3 to 1 of what is no text; marks here are read from two steps away."""
    bench = Bench(tmp_path, look=Appearance(theme, zone=dt.UTC))
    async with bench.app.run_test(size=(120, 40)) as pilot:
        await at_the_tub(bench, pilot, every_state, 5)
        view, signs = bench.app.screen.page_view, set(SIGNS)
        marked = {
            role
            for row in view.rows
            for text, role in row.pieces
            if text.strip() and set(text) & signs
        }
        assert len(marked) >= 3
        for role in marked:
            style = view.get_component_rich_style(f"page-view--{role.value}")
            names = {style.color.name, style.bgcolor.name}
            if names == {"default"}:
                continue  # the terminal's own two colours, in which its text is read
            if theme in ("dark", "light"):
                high, low = sorted((light(style.color), light(style.bgcolor)), reverse=True)
                assert (high + 0.05) / (low + 0.05) >= 4.5, role
                continue
            for palette in SIXTEEN.values():
                assert contrast(palette[style.color.name], palette[style.bgcolor.name]) >= 4.5


async def test_no_difference_is_one_of_hue_alone(tmp_path, every_state):
    """In one colour the same pages have the same letters and signs in the same places."""
    pages = []
    for theme in ("dark", "light", "terminal", "mono"):
        bench = Bench(tmp_path / theme, look=Appearance(theme, zone=dt.UTC))
        async with bench.app.run_test(size=(120, 40)) as pilot:
            await at_the_tub(bench, pilot, every_state, 21)
            pages.append(bench.screen())
    assert len(set(pages)) == 1


async def test_ascii_figures_are_solid(plain, every_state):
    async with plain.app.run_test(size=(80, 24)) as pilot:
        await at_the_tub(plain, pilot, every_state, 1)
        view = plain.app.screen.page_view
        solid = [
            part
            for row in range(24)
            for part in view.render_line(row)
            if part.style.reverse and part.text.strip() == "" and part.text
        ]
        assert len(solid) > 10
