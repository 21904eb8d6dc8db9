"""A shop's book of supplies stays small over the years: old lines of closed runs are summed up."""

import datetime as dt
from decimal import Decimal

import pytest

from benchrun.run.state import Use
from benchrun.shop.supplies import read_supplies
from benchrun.shop_use.supplies import enter_uses, sum_up_old_uses
from benchrun.shopkeeping.books import thing_words as told

HEAD = """\
# the shelf by the door
supplies:
  - id: primer
    name: primer     # the good one
    amount: 9000 l
    book:
      - {on: 2020-01-01, used: 1 l, why: by hand}   # the first tin leaked
      - {on: 2020-01-02, strength: 12 %}
"""
TAIL = """\
  - id: wipes
    name: rags
    amount: 20
"""


def line(number: int, run: str = "", deed: str = "used") -> str:
    run = run or f"2020-05-08-brush-coats-coat-{number:05}"
    return f"      - {{on: 2020-05-08, {deed}: 45 ml, run: {run}, entry: 26}}\n"


def one_use(shop, number: int) -> None:
    use = Use("primer", amount="45", unit="ml", name="primer")
    run = f"2030-01-01-coat-{number:05}"
    enter_uses(shop, run, {3: (use,)}, lambda _: dt.date(2030, 1, 1))


@pytest.mark.parametrize("years", [2, pytest.param(29, marks=pytest.mark.long)])
def test_thousands_of_uses_leave_a_file_of_a_few_kilobytes_that_still_adds_up(shop, write, years):
    path = write("supplies.yaml", HEAD + TAIL)
    made = 0
    for part in range(years):
        new = "".join(line(part * 1000 + n) for n in range(689))
        body = path.read_text("utf-8").replace(TAIL, new + TAIL)
        path.write_text(body, "utf-8")
        one_use(shop, part)
        made += 690
        assert path.stat().st_size < 8_000
    assert made > 20_000 or years == 2
    tin = read_supplies(shop).named("primer")
    assert tin.left.value == 9000 - 1 - made * Decimal("0.045")
    assert sum(one.lines or one.deed == "used" for one in tin.book) == made + 1
    text = path.read_text("utf-8")
    for comment in ("# the shelf by the door", "# the good one", "# the first tin leaked"):
        assert comment in text
    assert tin.strength is not None
    assert "older lines summed up" in told(shop, "supplies", "primer", shop_moment())


def shop_moment():
    from benchrun.record.clock import VirtualClock

    return VirtualClock("2030-01-02T08:00:00.000Z").now()


def test_lines_of_an_open_run_stay_so_that_its_log_is_not_entered_twice(shop, write):
    run = "2030-01-01-coat-open"
    folder = shop.runs / run
    folder.mkdir(parents=True)
    (folder / "log.jsonl").write_text("{}\n")
    lines = [line(n) for n in range(700)]
    lines[100] = line(0, run)
    path = write("supplies.yaml", HEAD + "".join(lines) + TAIL)
    before = read_supplies(shop).named("primer")
    assert sum_up_old_uses(shop) == 700 - 12 - 1
    after = read_supplies(shop).named("primer")
    assert after.left == before.left
    assert after.used_by(run, 26) == before.used_by(run, 26) == Decimal("0.045")
    use = Use("primer", amount="45", unit="ml", name="primer")
    assert enter_uses(shop, run, {26: (use,)}, lambda _: dt.date(2030, 1, 1)) == 0
    assert path.stat().st_size < 4_000


@pytest.mark.parametrize("where", [0, 350, 699])
def test_a_count_of_the_tin_and_what_was_poured_back_are_the_same_afterwards(shop, write, where):
    lines = [line(n, deed="back" if n % 7 == 0 else "used") for n in range(700)]
    lines[where] = "      - {on: 2021-01-01, counted: 500 l}\n"
    write("supplies.yaml", HEAD + "".join(lines) + TAIL)
    before = read_supplies(shop).named("primer")
    assert sum_up_old_uses(shop) > 600
    after = read_supplies(shop).named("primer")
    assert (after.left.value, after.reuses) == (before.left.value, before.reuses)
    assert after.reuses >= 99


def test_a_book_on_one_line_is_summed_up_as_well(shop, write):
    inner = ", ".join(line(n).strip()[2:] for n in range(700))
    write("supplies.yaml", f"supplies:\n  - {{id: p, name: primer, amount: 90 l, book: [{inner}]}}")
    before = read_supplies(shop).named("p").left.value
    assert sum_up_old_uses(shop) > 600
    assert read_supplies(shop).named("p").left.value == before


def test_a_small_book_and_one_with_a_fault_are_left_alone(shop, write):
    small = HEAD + "".join(map(line, range(300))) + TAIL
    faulty = HEAD + "".join(map(line, range(700))) + TAIL + "    colour: red\n"
    for text in (small, faulty):
        path = write("supplies.yaml", text)
        assert sum_up_old_uses(shop) == 0
        assert path.read_text("utf-8") == text
