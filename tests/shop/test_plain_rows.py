"""Rows in plain forms say what the reader of YAML says they do; any other row is left to it."""

import random
from pathlib import Path

import pytest

from benchrun.procedure.marked import Items, Map, Place
from benchrun.shop.book_file import FEW_ROWS
from benchrun.shop.instruments import INSTRUMENTS
from benchrun.shop.parts import JOBS, PARTS
from benchrun.shop.plain_rows import plain_row
from benchrun.shop.row_pages import read_rows, row_pages
from benchrun.shop.supplies import SUPPLIES

NOWHERE = Place(1, 1)
SAMPLE = Path(__file__).parents[2] / "samples" / "shop"
TEXTS = (
    *(
        "paint",
        "paint, the grey one",
        "40 ml",
        "-20 to 60 degC",
        "a",
        "Ölfarbe 7",
        "it's thin; see",
    ),
    *('"primer: grey"', '" two  blanks "', '"[a, {b: c}]"', '"# none"', '""', "'marked'", "a?b=c!"),
    *("null", "yes", "0417", "1_000", "2026-03-02", "5 %", "50 µm", "a - b", "a&b", "a*", "K-31-"),
    *("a #b", "a#b", "a: b", "19:30", "a:", "- a", "-", "-a", "--- a", "#", "*a", "&a b", "!t a"),
    *(
        "%a",
        "@a",
        "`a",
        "|",
        ">",
        "? a",
        "a {b}",
        "a [b]",
        "[a",
        "{a: b",
        '"a',
        'a"b',
        '"a\\n"',
        "~",
    ),
    *('"a" b', "\ufffe", '"\ufffe"', "\U0001f600", '"\U0001f600"', "a\u00a0", "x" * 605, '"a\nb"'),
)
KEYS = (
    "name",
    "also",
    "best before",
    "x",
    "id",
    "no",
    "Name",
    "a-b",
    '"name"',
    "name ",
    "on",
    "<<",
)
ENDS = ("", "", "", " # a comment", "  # it: is, [one]", "#none", " ", " #", " # \ufffe")
BETWEEN = (
    "",
    "",
    "",
    "",
    "\n",
    "  \n",
    "# a comment\n",
    "      # the rest: here\n",
    "      more\n",
)


def drawn(value: object) -> object:
    """What was read, without places."""
    if isinstance(value, Map):
        assert set(value.keys_at) == set(value)
        return {key: drawn(one) for key, one in value.items()}
    return [drawn(one) for one in value] if isinstance(value, Items) else value


def random_value(chance: random.Random, depth: int) -> str:
    kind = chance.random()
    plain = TEXTS[:26] if chance.random() < 0.9 else TEXTS
    if kind < 0.7 or depth > 1:
        return chance.choice(plain)
    inner = [random_value(chance, depth + 1) for _ in range(chance.randrange(0, 4))]
    comma = chance.choice((", ", ", ", ", ", ",", ",  "))
    if kind < 0.85:
        return f"[{comma.join(inner)}]"
    return f"{{{comma.join(f'{chance.choice(KEYS[:7])}: {one}' for one in inner)}}}"


def random_row(chance: random.Random) -> str:
    """A row, mostly in a plain form."""
    if chance.random() < 0.2:
        pairs = [f"{chance.choice(KEYS[:7])}: {random_value(chance, 1)}" for _ in range(2)]
        return f"  - {{id: a, {', '.join(pairs)}}}{chance.choice(ENDS)}\n{chance.choice(BETWEEN)}"
    row = f"  - id: {chance.choice(TEXTS[:9])}{chance.choice(ENDS)}\n"
    for key in chance.sample(KEYS if chance.random() < 0.2 else KEYS[:4], chance.randrange(4)):
        end, between = chance.choice(ENDS), chance.choice(BETWEEN)
        if chance.random() < 0.6:
            row += f"    {key}: {random_value(chance, 0)}{end}\n{between}"
            continue
        row += f"    {key}:{end}\n"
        indent = " " * chance.choice((6, 6, 6, 6, 4, 8))
        for _ in range(chance.randrange(0, 3)):
            item = random_value(chance, 0)
            row += f"{indent}- {item}{chance.choice(ENDS)}\n{between}"
    return row


def taken_alike(seeds: range) -> int:
    """How many of some random rows are plain ones; the reader of YAML reads each alike."""
    taken = 0
    for seed in seeds:
        row = random_row(random.Random(seed))
        plain = plain_row(row)
        if plain is not None:
            taken += 1
            read = read_rows("rows", [row])
            assert read is not None, row
            line, whole = read[0]
            assert list(plain) == list(whole), row
            assert drawn(plain) == drawn(whole), row
            at, known = whole.values_at["id"], plain.values_at["id"]
            assert (at.line - line, at.column) == (known.line - 1, known.column), row
    return taken


def test_random_rows_are_read_as_yaml_or_left_to_it():
    assert taken_alike(range(12_000)) > 1500


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_a_hundred_thousand_random_rows_are_read_as_yaml_or_left_to_it():
    assert taken_alike(range(10_000, 110_000)) > 12_000


@pytest.mark.parametrize("form", [SUPPLIES, INSTRUMENTS, PARTS, JOBS], ids=lambda form: form.key)
def test_nearly_every_row_of_the_sample_shop_is_plain(form):
    pages = row_pages((SAMPLE / form.file).read_bytes(), form.tops)
    rows = pages.rows[form.key].texts
    plain = [row for row in rows if plain_row(row) is not None]
    assert len(plain) >= len(rows) - 1
    for row in plain:
        [(_, whole)] = read_rows(form.key, [row])
        assert drawn(plain_row(row)) == drawn(whole)


@pytest.mark.parametrize(
    "row",
    [
        "  - id: a\n    name: oil\n    amount: much\n",
        "  - id: a\n    nmae: oil\n    amount: 1 l\n",
        "  - {id: a, name: oil, amount: 1 l, least: 1 kg}\n",
        "  - id: a\n    name: oil\n    amount: 1 l\n    book:\n      - {on: today, used: 1 l}\n",
        "  - id: a\n    name: o\n    amount: 1 l\n    book:\n      - {on: 2026-03-02, usde: 1 l}\n",
        "  - id: b7\n    name: oil\n    amount: 1 l\n",
    ],
)
def test_a_fault_of_a_plain_row_is_told_at_its_place(row, monkeypatch):
    others = "".join(f"  - {{id: b{n}, name: oil, amount: 1 l}}\n" for n in range(FEW_ROWS))
    content = f"# tins\nsupplies:\n{others}{row}".encode()
    assert plain_row(row) is not None
    path = Path("supplies.yaml")
    apart = SUPPLIES.parse(content, path)
    monkeypatch.setattr("benchrun.shop.row_pages.row_pages", lambda *_: None)
    assert SUPPLIES.parse(content, path) == apart
    assert apart.faults


def test_a_book_of_plain_rows_is_read_without_the_reader_of_yaml(monkeypatch):
    """What that reads is the rest of the file."""
    read = []
    monkeypatch.setattr(
        "benchrun.shop.row_pages.read_yaml", lambda content: read.append(content) or Map(NOWHERE)
    )
    rows = "".join(f"  - id: tin-{n}\n    name: oil\n    amount: 1 l\n" for n in range(FEW_ROWS))
    sheet = SUPPLIES.parse(f"supplies:\n{rows}".encode(), Path("supplies.yaml"))
    assert [row.id for row in sheet.rows] == [f"tin-{n}" for n in range(FEW_ROWS)]
    assert read == [b"supplies: ''\n"]
