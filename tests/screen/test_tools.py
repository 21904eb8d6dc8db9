"""The measuring tools, drawn: rule, scale, digits, gauge, tag, plate, and the paper below them."""

import unicodedata
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from rich.cells import cell_len

from benchrun.part_names import part_names
from benchrun.procedure.route import Hazard, Signal
from benchrun.screen.page import block, fit_blocks, with_message
from benchrun.screen.text_line import BLANK, Paper, Role, TextLine
from benchrun.screen.widgets.digits import large_digits, rows_of
from benchrun.screen.widgets.gauge import Limits, limit_gauge
from benchrun.screen.widgets.plate import plates
from benchrun.screen.widgets.rule import Graduation, steel_rule
from benchrun.screen.widgets.scale import Dial, dwell_scale, line_of
from benchrun.screen.widgets.tag import tags

PAPER, SMALL = Paper(80, 24), Paper(80, 24, ascii=True)
MIN = 60_000


def lines(number: int, text: str = "kept") -> list[TextLine]:
    return [Paper().line(f"{text} {at}") for at in range(number)]


def drawn(rows: list[TextLine]) -> str:
    return "\n".join(row.text.rstrip() for row in rows)


def test_the_rule_is_heavy_behind_the_hand_and_light_ahead():
    marks = [Graduation("clean"), Graduation(), Graduation("etch"), Graduation()]
    assert drawn(steel_rule(Paper(40, 24), marks, 2, {0}, "3 of 4")) == (
        " ▽           ▼                  3 of 4\n ┃     ╹     ┃     ╵\n clean       etch"
    )


def test_at_the_last_step_the_count_stays_right_beside_the_hand():
    marks = [Graduation("clean"), Graduation(), Graduation("etch"), Graduation()]
    assert drawn(steel_rule(Paper(40, 24), marks, 3, (), "4 of 4", 40)[:1]) == (
        "                             4 of 4  ▼"
    )


STAGES = ("Receive", "Degrease", "Blast", "Inspect", "Decide", "Etch", "First coat",
          "Second coat", "Plating", "Measure", "Choose the fit", "Press", "Close")  # fmt: skip


@pytest.mark.parametrize("stage", range(len(STAGES)))
@pytest.mark.parametrize("step", [0, 3])
def test_on_a_long_rule_the_stage_in_hand_and_its_neighbours_are_named(stage, step):
    each = [4, 4, 5, 5, 4, 4, 5, 4, 5, 4, 5, 5, 4]
    marks = [
        Graduation(name if not at else "")
        for name, steps in zip(STAGES, each, strict=True)
        for at in range(steps)
    ]
    titles = steel_rule(PAPER, marks, sum(each[:stage]) + step, (), "58 steps")[2]
    named = [text.strip() for text, _ in titles.pieces if text.strip()]
    assert titles.width <= 79
    assert set(STAGES[max(0, stage - 1) : stage + 2]) <= set(named)
    assert named == [name for name in STAGES if name in named]
    assert [t for t, role in titles.pieces if role is Role.STRONG] == [STAGES[stage]]
    assert all("  " in titles.text.split(a)[1].split(b)[0] for a, b in pairwise(named))


@pytest.mark.parametrize(
    ("width", "words"),
    [
        (12, "Soak in t…"),
        (20, "Soak in the tub"),
        (36, "Look i…  Soak in the tub  Rinse…"),
        (60, "Look it over  Soak in the tub  Rinse well"),
    ],
)
def test_a_short_rule_names_the_stage_in_hand_before_its_neighbours(width, words):
    marks = [Graduation("Look it over"), Graduation("Soak in the tub"), Graduation("Rinse well")]
    titles = steel_rule(Paper(width, 24), marks, 1)[2]
    assert titles.width <= width
    assert titles.text.strip() == words


def test_the_rule_of_many_steps_keeps_within_the_page():
    marks = [Graduation("long title of a stage" if i % 40 == 0 else "") for i in range(400)]
    for here in (0, 200, 399):
        rows = steel_rule(PAPER, marks, here, set(range(0, 400, 7)), "200 of 400")
        assert all(row.width <= 80 for row in rows)
        assert "▼" in rows[0].text


def test_the_scale_has_least_and_most_scribed_and_a_pointer_between():
    dial = Dial(15 * MIN, least=10 * MIN, most=20 * MIN)
    assert line_of(PAPER, dial, 46).text == "├───────────────────┃━━━━━━━━━▼━━━━━━━━━┃─────"
    rows = dwell_scale(PAPER, dial, 46)
    assert "earliest 10 min" in rows[0].text
    assert "latest 20 min" in rows[0].text


@pytest.mark.parametrize("spent", [0, 9 * MIN, 21 * MIN, 10_000 * MIN])
def test_the_pointer_never_leaves_the_scale(spent):
    row = line_of(PAPER, Dial(spent, least=10 * MIN, most=20 * MIN), 40)
    assert row.text.count("▼") == 1
    assert row.width == 40


def test_digits_are_of_fixed_width():
    widths = {len(rows_of(f"1:{i:02d}", rows=5)[0]) for i in range(60)}
    assert len(widths) == 1


def test_digits_are_three_rows_high_at_80_by_24_and_at_least_five_at_120_by_40():
    assert len(large_digits(PAPER, "12:05")) == 3
    assert len(large_digits(Paper(120, 40), "12:05")) == 5
    assert len(large_digits(Paper(200, 60), "12:05")) == 10


def test_digits_in_ascii_are_reversed_blanks_and_told_apart():
    paper = Paper(80, 24, ascii=True)
    shapes = {"\n".join(row.text for row in large_digits(paper, str(i))) for i in range(10)}
    assert len(shapes) == 10
    assert all(shape.isascii() for shape in shapes)
    pieces = [piece for row in large_digits(paper, "8+:.-") for piece in row.pieces]
    assert {text.strip() for text, _ in pieces} == {""}
    assert {role for _, role in pieces} == {Role.TEXT, Role.SOLID}


def test_the_gauge_says_too_small_and_too_large_at_its_ends():
    limits = Limits(Decimal("61.949"), Decimal("61.979"), "mm", Decimal("0.003"))
    rows = drawn(limit_gauge(PAPER, limits, Decimal("61.968")))
    top = rows.split("\n")[0]
    assert top.strip().startswith("too small ")
    assert top.endswith(" too large")
    assert top.index("┃") < top.index("●") < top.rindex("┃")
    assert "░" in top
    assert "61.949" in rows


@given(st.decimals(-1000, 1000, places=3), st.decimals(0, 10, places=3), st.booleans())
def test_the_bead_lies_on_the_right_side_of_each_limit(low, width, plain):
    high = low + width + Decimal("0.01")
    limits = Limits(low, high, "mm")
    for value in (low - 1, low, (low + high) / 2, high, high + 1):
        top = limit_gauge(SMALL if plain else PAPER, limits, value)[0].text
        assert top.count("O" if plain else "●") == 1
        assert len(top) <= 80


def test_chosen_tags_have_a_filled_eyelet():
    assert drawn(tags(PAPER, ["arm L", "arm R"], chosen={"arm R"})) == " [∘ arm L] [● arm R]"


def test_tags_that_do_not_fit_are_counted():
    rows = tags(PAPER, [f"bracket {i}" for i in range(60)], most_rows=2)
    assert len(rows) == 2
    assert "more" in rows[1].text
    assert all(row.width <= 80 for row in rows)


def test_the_worst_caution_stands_first_and_its_weight_needs_no_colour():
    hazards = [
        Hazard(Signal.NOTICE, "Scratches.", "Rust.", "Cloth below."),
        Hazard(Signal.DANGER, "Press.", "Crushes.", "Stand clear."),
    ]
    rows = drawn(plates(PAPER, hazards)).split("\n")
    assert rows[0].startswith(" █ DANGER")
    assert rows[2].startswith(" ┆ NOTICE")


def test_numbered_tags_are_named_in_few_words():
    assert part_names(["clip 1", "clip 2", "clip 3", "lever L", "lever R"]) == "clip 1–3, lever L/R"
    assert part_names(["clip-1", "clip-2", "lever-l"]) == "clip-1/2, lever-l"
    most = [f"arm {n}" for n in range(1, 41) if n not in (7, 40)]
    assert part_names([*most, "arm L", "arm R"]) == "arm 1–6/8–39/L/R"
    assert part_names(["pin 01", "pin 02", "pin 03"]) == "pin 01–03"
    assert part_names(["arm"]) == "arm"
    assert part_names(["a", "b", "c"], ["a", "b", "c"]) == "all 3"


@given(st.text(max_size=300), st.integers(8, 120), st.booleans())
def test_any_text_becomes_rows_that_fit_and_hold_no_control_code(text, width, plain):
    paper = Paper(width + 10, 24, ascii=plain)
    for row in paper.wrap(text, width):
        line = paper.line(row)
        assert line.width <= max(4, width)
        kinds = {unicodedata.category(char) for char in line.text}
        assert not kinds & {"Cc", "Cf", "Cs", "Zl", "Zp"}
        assert not plain or line.text.isascii()


@pytest.mark.parametrize("hostile", ["a[/]b", "[b]x", "[@click=app.quit]x[/]", "\x1b[31mred\x07"])
def test_markup_and_control_codes_are_shown_as_text(hostile):
    line = Paper().line(hostile)
    assert "\x1b" not in line.text
    assert "\x07" not in line.text
    assert "[" in line.text


def test_a_page_gives_up_what_matters_least_first():
    line = Paper().line
    kept, spare = block([line("kept")] * 5), block([line("spare")] * 5, rank=5)
    page = fit_blocks([kept, spare], [line("foot")], 8)
    assert page.whole
    assert "spare" not in page.text
    assert page.text.count("kept") == 5
    assert page.rows[-1].text == "foot"


def test_a_page_that_cannot_hold_its_cautions_says_so():
    line = Paper().line
    assert not fit_blocks([block([line("caution")] * 30)], [line("foot")], 24).whole


@given(st.text(max_size=400), st.integers(1, 4), st.booleans())
@example("0" * 38 + "\u093a" * 2, 1, False)
def test_a_text_that_is_cut_says_so(text, most, plain):
    paper = Paper(40, 24, ascii=plain)
    whole = [row.text for row in paper.paragraph(text)]
    rows = [row.text for row in paper.paragraph(text, most=most)]
    assert len(rows) <= most
    assert all(cell_len(row) <= 40 for row in rows)
    if len(whole) <= most:
        assert rows == whole
    else:
        assert rows[-1].endswith("..." if plain else "…")


def test_a_message_covers_empty_rows_so_that_the_page_stays_still():
    for height in range(4, 9):
        page = fit_blocks([block(lines(3))], [BLANK, *lines(1)], height)
        said = with_message(page, lines(1, "said"), 1)
        assert said is not None
        moved = [
            (before.text, after.text)
            for before, after in zip(page.rows, said.rows, strict=True)
            if before != after
        ]
        assert moved == [("", "said 0")]


def test_a_message_that_would_hide_something_is_refused():
    page = fit_blocks([block(lines(3))], [BLANK, *lines(1)], 5)
    assert with_message(page, lines(2, "said"), 1) is None
