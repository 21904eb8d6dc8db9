"""Wide pages: work left, what surrounds it right; what stands where is counted, not looked at."""

import pytest
from drawn_pages import DrawnRun

MINUTE = 60_000
ARMS = ["arm 1", "arm 2", "arm 3", "arm 4"]


@pytest.fixture
def run(bench, every_state) -> DrawnRun:
    """Four arms at the first step, on paper."""
    return DrawnRun(bench, bench.begin(every_state, ARMS))


def share_right_of_the_middle(page, width: int) -> float:
    """The inked cells right of the middle, as a share of all."""
    inked = [place for row in page.rows for place, sign in enumerate(row.text) if sign != " "]
    return sum(place >= width // 2 for place in inked) / len(inked)


def walked(run):
    """The run at the first step, at a judgement, before, in and after the tub, late."""
    yield "first"
    run.press("enter")
    yield "judgement"
    run.press("1")
    yield "before the tub"
    run.press("enter")
    run.wait(MINUTE)
    yield "early"
    run.wait(2 * MINUTE)
    yield "tending due"
    run.press("enter")
    run.wait(16 * MINUTE)
    yield "soon"
    run.press("0")
    run.wait(3 * MINUTE)
    yield "late"
    run.press("enter")
    yield "question"


def test_at_least_three_tenths_of_what_is_inked_is_right_of_the_middle(run):
    for name in walked(run):
        assert share_right_of_the_middle(run.page(120, 40), 120) >= 0.3, name


def walked_alone(run):
    """One part alone in the tub, at a reading that lies outside, at its query, at the close."""
    run.press("enter", "1", "enter")
    run.wait(MINUTE)
    yield "in the tub"
    run.wait(11 * MINUTE)
    yield "tending late"
    run.press("enter", "enter", "enter", "enter", "enter")
    for _ in range(2):
        run.wait(130 * MINUTE)
        yield "on the rail"
        run.press("enter", "enter", "enter")
    run.press(*"61.990")
    yield "outside"
    run.press("enter")
    yield "query"
    run.press("1")
    for _ in range(4):
        run.press(*"61.96", "enter")
    yield "work out"
    run.press("enter")
    yield "hold"
    run.press("enter", "1", *"1234", "enter")
    yield "close"


def test_also_of_one_part_alone_three_tenths_are_right_of_the_middle(bench, every_state):
    run = DrawnRun(bench, bench.begin(every_state, ["arm"]))
    for name in walked_alone(run):
        assert share_right_of_the_middle(run.page(120, 40), 120) >= 0.3, name


def right_of(run, size=(120, 40)) -> str:
    """The column beside the work."""
    edge = min(100, size[0] * 55 // 100)
    return "\n".join(row.text[edge:].rstrip() for row in run.page(*size).rows)


def test_beside_the_work_stand_the_times_the_limits_and_what_was_found(bench, every_state):
    run = DrawnRun(bench, bench.begin(every_state, ["arm"]))
    pages = {name: right_of(run) for name in walked_alone(run)}
    assert " times     in since  14:02" in pages["in the tub"]
    assert "latest    14:22" in pages["in the tub"]
    assert "found     2  cracks  sound" in pages["in the tub"]
    assert " limits    61.949 to 61.979 mm" in pages["outside"]
    assert "61.952 to 61.976 mm: surely inside" in pages["outside"]
    assert "limits    61.949 to 61.979 mm, by bore gauge" in pages["query"]
    assert "found     7  bore    A 0° 61.990 mm" in pages["query"]
    assert "7  bore       61.96 mm (4 times)" in pages["close"]
    assert "put back  Lid on the tub." in pages["close"]
    assert "follow-on Fit the arms." in pages["close"]


def test_of_several_parts_it_is_told_what_the_others_came_to(bench, every_state):
    run = DrawnRun(bench, bench.begin(every_state, ["arm 1", "arm 2"]))
    run.press("enter", ".", "1", "enter", "1")
    assert " found     arm 1  sound" in right_of(run)


@pytest.mark.parametrize("size", [(110, 30), (120, 40), (200, 50)])
def test_a_wide_page_has_the_work_left_and_what_surrounds_it_right(run, size):
    run.press("enter", "1", "enter")
    run.wait(MINUTE)
    page = run.page(*size)
    assert page.whole
    assert len(page.rows) == size[1]
    assert all(row.width <= size[0] for row in page.rows)
    edge = min(100, size[0] * 55 // 100)
    left = "\n".join(row.text[:edge].rstrip() for row in page.rows)
    right = "\n".join(row.text[edge:].rstrip() for row in page.rows)
    assert " 3  Keep every face wet." in left
    assert "latest 20 min" in left
    assert " batch     arm 1  in, step 3" in right
    assert " next step 4  Rinse in running water." in right
    assert " log       " in "\n".join(row.text for row in page.rows[-8:])
    # The rule goes from edge to edge.
    rule = next(row.text for row in page.rows if row.text.startswith(" ┃"))
    assert len(rule.rstrip()) > size[0] * 9 // 10
    # Nothing stands apart: what a label names begins behind it, in a column of its own.
    body = [row.text for row in page.rows[5:-4]]
    assert all(len(row.rstrip()) <= 180 for row in body)


def test_one_step_narrower_or_lower_the_page_has_one_column(run):
    for size in ((109, 40), (120, 29)):
        assert " │ batch" not in run.page(*size).text


def test_labels_and_what_they_name_stand_in_one_column_each(run):
    for name in walked(run):
        for row in run.page(80, 24).text.splitlines():
            for label in (
                "for",
                "load",
                "tend",
                "next step",
                "next part",
                "also",
                "later",
                "waits",
            ):
                if row.startswith(f" {label} "):
                    assert row[10] == " ", (name, row)
                    assert row[11] != " ", (name, row)


def test_an_alarm_of_any_size_moves_nothing_on_a_wide_page(run):
    run.press("enter", "1", "enter")
    run.wait(MINUTE)
    still = run.page(120, 40).text.splitlines()
    run.wait(22 * MINUTE)
    late = run.page(120, 40).text.splitlines()
    assert "LATE" in late[0]
    step = next(row for row in still if row.startswith(" 3  Keep"))
    assert still.index(step) == [row[:24] for row in late].index(step[:24])


@pytest.mark.parametrize("way", [["*"], ["*", "1"], ["/"], ["/", "3"], ["."], ["0"], ["/", "2"]])
@pytest.mark.parametrize("size", [(60, 16), (80, 24), (120, 40)])
def test_no_page_moves_when_an_alarm_comes(run, way, size):
    run.press("enter", "1", "enter", *way)
    still = run.page(*size).text.splitlines()
    run.wait(22 * MINUTE)
    late = run.page(*size).text.splitlines()
    assert late[0].startswith("  LATE ")
    covered = next(at for at, row in enumerate(late) if not row or row in still)
    assert 1 <= covered <= 4
    body = [(at, row) for at, row in enumerate(still[:-3]) if at >= covered and row]
    moved = [(at, row) for at, row in body if row not in late[max(0, at) : at + 1]]
    # A clock on the page goes on; what stands beside it stays in its row.
    assert len(moved) <= len(body) // 3, moved
