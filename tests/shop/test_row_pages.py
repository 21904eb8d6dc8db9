"""Files read row by row say what they say as a whole, places of faults and all."""

import random
from pathlib import Path

import pytest

from benchrun.errors import BenchrunError
from benchrun.shop import row_pages
from benchrun.shop.folder import Shop
from benchrun.shop.instruments import INSTRUMENTS
from benchrun.shop.parts import JOBS, PARTS
from benchrun.shop.people import people_sheet
from benchrun.shop.row_editor import add_line, change_row
from benchrun.shop.supplies import SUPPLIES
from benchrun.shop.vessels import VESSELS

FORMS = (SUPPLIES, INSTRUMENTS, PARTS, JOBS, VESSELS)
SAMPLES = Path(__file__).parents[2] / "samples"
PIECES = (
    "supplies:\n",
    "parts:\n",
    "jobs: []\n",
    "supplies: # tins\n",
    "  - id: a\n",
    "  - id: b\n    name: paint\n    amount: 1 l\n",
    "  - id: c\n    name: paint # the grey one\n    amount: 2 l\n    note: it's thin\n",
    "  - id: c\n    name: 'thin\n      ner'\n    amount: 1 l\n",
    '  - id: d\n    name: "thin\n  - id: e"\n    amount: 1 l\n',
    "  - id: f\n    name: wash\n    note: |\n      two\n      - id: x\n\n    amount: 1 l\n",
    "  - {id: g, name: oil, amount: 500 ml}\n",
    "  - {id: h, name: oil,\n     amount: 500 ml}\n",
    "  - id: i\n    name: oil\n    amount: 1 l\n    book:\n      - {on: 2026-01-02, used: 1 ml}\n",
    "  - id: j\n    name: oil\n    amount: 1 l\n    book:\n    - {on: 2026-01-02, used: 1 ml}\n",
    "  - just text\n",
    "  - - id: k\n",
    "  -\n    id: l\n    name: oil\n    amount: 1 l\n",
    "  -  id: m\n     name: oil\n     amount: 1 l\n",
    "  - id: n\n    name:\n    amount: 1 l\n",
    "  - id: n\n    nmae: oil\n    amount: 1 quart and\n",
    "    keeps: 6 months\n",
    "   lost: line\n",
    "  # a comment\n",
    "# a comment at the edge\n",
    "\n",
    "  \n",
    "---\n",
    "...\n",
    "format: 1\n",
    "format: 99\n",
    "- id: o\n",
    "\t- id: p\n",
    "  - id: q\r\n    name: oil\r\n",
    "  - &x id: r\n",
    "  - id: *x\n",
    "  - id: 's\n",
    "rails: 3\n",
    "  - ? id\n    : t\n",
    "no newline at the end",
)


def both(form, content, monkeypatch):
    """What a file says row by row, if it is read so at all, and as a whole."""
    path = Path(form.file)
    apart = form.parse(content, path)
    with monkeypatch.context() as patch:
        patch.setattr(row_pages, "row_pages", lambda *_: None)
        whole = form.parse(content, path)
    return apart, whole


@pytest.mark.parametrize(
    "path",
    sorted(SAMPLES.rglob("shop*/**/*.yaml")),
    ids=lambda path: f"{path.parent.name}-{path.stem}",
)
def test_every_file_of_the_samples_reads_alike(path, monkeypatch):
    for form in FORMS:
        if form.file == path.name:
            apart, whole = both(form, path.read_bytes(), monkeypatch)
            assert apart == whole


def alike_for(seeds, monkeypatch):
    taken_apart = 0
    for seed in seeds:
        chance = random.Random(seed)
        head = (
            [] if chance.random() < 0.1 else [chance.choice(("supplies:\n", "# tins\nsupplies:\n"))]
        )
        pieces = chance.choices(PIECES, k=chance.randrange(1, 7))
        sound = PIECES[5:8] + PIECES[10:14] + PIECES[22:26]
        pieces = chance.choices(sound, k=4) if chance.random() < 0.4 else pieces
        content = "".join(head + pieces).encode()
        taken_apart += row_pages.row_pages(content, SUPPLIES.tops) is not None
        apart, whole = both(SUPPLIES, content, monkeypatch)
        assert apart == whole, content.decode()
    return taken_apart


def test_files_of_any_pieces_read_alike(monkeypatch):
    assert alike_for(range(1500), monkeypatch) > 300


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_twenty_thousand_files_of_any_pieces_read_alike(monkeypatch):
    assert alike_for(range(10_000, 30_000), monkeypatch) > 4000


def test_a_fault_behind_rows_that_did_not_change_is_told_at_its_new_line(tmp_path):
    path = tmp_path / "supplies.yaml"
    rows = "  - id: a\n    name: oil\n    amount: 1 l\n  - id: b\n    name: oil\n    amount: much\n"
    path.write_text(f"supplies:\n{rows}")
    [before] = SUPPLIES.read(tmp_path).faults
    path.write_text(f"# one\n# two\nsupplies:\n{rows}")
    [after] = SUPPLIES.read(tmp_path).faults
    assert (after.line, after.column, after.text) == (before.line + 2, before.column, before.text)


def test_a_change_of_the_same_length_within_one_tick_of_the_disk_is_seen(tmp_path):
    path = tmp_path / "supplies.yaml"
    for number in range(50):
        path.write_text(f"supplies:\n  - id: a\n    name: oil {number:02}\n    amount: 1 l\n")
        assert SUPPLIES.read(tmp_path).named("a").name == f"oil {number:02}"


@pytest.mark.parametrize("text", [piece for piece in PIECES if "id: c" in piece])
def test_a_row_that_is_edited_by_itself_leaves_every_other_byte(tmp_path, text):
    before = (
        f"# tins\nsupplies:\n  - id: cc\n    name: c\n    amount: 3 l\n{text}  - id: z # last\n"
    )
    before += "    name: 'id: c'\n    amount: 1 l\n# end\n"
    (tmp_path / "supplies.yaml").write_text(before)
    add_line(tmp_path, SUPPLIES, "c", "book", {"on": "2026-01-02", "used": "5 ml"})
    change_row(tmp_path, SUPPLIES, "c", {"lot": "L 7"})
    after = (tmp_path / "supplies.yaml").read_text()
    head, _, tail = before.partition(text)
    assert after.startswith(head)
    assert after.endswith(tail)
    row = SUPPLIES.read(tmp_path).named("c")
    assert (row.lot, len(row.book)) == ("L 7", 1)


def test_a_file_with_a_damaged_row_elsewhere_takes_lines_of_sound_rows_only(tmp_path):
    before = "supplies:\n  - id: a\n    name: oil\n    amount: 1 l\n  - id: b\n    name: [\n"
    (tmp_path / "supplies.yaml").write_text(before)
    with pytest.raises(BenchrunError, match="Put that right first"):
        add_line(tmp_path, SUPPLIES, "a", "book", {"on": "2026-01-02", "used": "5 ml"})
    assert (tmp_path / "supplies.yaml").read_text() == before


def test_a_row_of_the_same_words_in_another_shop_is_another_thing(tmp_path):
    keys = []
    for name in "ab":
        (tmp_path / name).mkdir()
        path = tmp_path / name / "people.yaml"
        path.write_text("people:\n  - id: ann\n    name: Ann\n    key: keys/ann\n")
        keys.append(people_sheet(Shop(tmp_path / name, "Shed")).named("ann").key)
    assert keys == [tmp_path / "a" / "keys" / "ann", tmp_path / "b" / "keys" / "ann"]


def test_a_changed_row_leaves_the_file_taken_apart_as_if_done_anew():
    changed = 0
    for seed in range(2500):
        chance = random.Random(seed)
        content = "".join(["supplies:\n", *chance.choices(PIECES, k=chance.randrange(1, 7))])
        pages = row_pages.row_pages(content.encode(), SUPPLIES.tops)
        if pages is None:
            continue
        number = chance.randrange(len(pages.rows["supplies"].texts))
        new = "".join(chance.choices(PIECES, k=chance.randrange(1, 3)))
        after = pages.with_row("supplies", number, new)
        if after is not None:
            anew = row_pages.row_pages(after.text.encode(), SUPPLIES.tops)
            assert after == anew, (content, number, new)
            changed += 1
    assert changed > 60


def test_rows_know_where_they_stand_and_which_of_them_hold_some_words():
    found = 0
    for seed in range(2500):
        chance = random.Random(seed)
        content = "".join(["supplies:\n", *chance.choices(PIECES, k=chance.randrange(1, 7))])
        pages = row_pages.row_pages(content.encode(), SUPPLIES.tops)
        if pages is None:
            continue
        rows = pages.rows["supplies"]
        assert content[rows.start : rows.starts[-1]] == "".join(rows.texts)
        for text, start, line in zip(rows.texts, rows.starts, rows.lines, strict=False):
            assert content.startswith(text, start)
            assert content[:start].count("\n") == line - 1
        words = content[(at := chance.randrange(len(content))) : at + chance.randrange(1, 4)]
        if "\n" not in words:
            holding = [number for number, text in enumerate(rows.texts) if words in text]
            assert rows.holding(words, content) == holding
            found += len(holding)
    assert found > 200


def test_a_file_with_a_line_added_is_kept_as_it_reads_anew(tmp_path, monkeypatch):
    path = tmp_path / SUPPLIES.file
    row = (
        "  - id: tin-{0}\n    name: paint {0}\n    amount: 1 l  # {0}\n"
        "    book:\n      - {{on: 2026-02-20, used: 45 ml}}\n"
    )
    path.write_text("supplies:\n" + "".join(row.format(n) for n in range(5)))
    for n in (3, 0, 4, 3):
        line = {"on": "2026-03-01", "used": "5 ml"}
        made = add_line(tmp_path, SUPPLIES, f"tin-{n}", "book", line)
        kept = SUPPLIES.read(tmp_path)
        assert made in kept.rows
        apart, whole = both(SUPPLIES, path.read_bytes() + b"\n", monkeypatch)
        assert kept.rows == apart.rows == whole.rows
    assert [len(tin.book) for tin in kept.rows] == [2, 1, 1, 3, 2]


def test_a_line_that_makes_two_rows_alike_is_refused(tmp_path):
    path = tmp_path / SUPPLIES.file
    path.write_text(
        "supplies:\n  - {id: a, name: paint, amount: 1 l}\n  - {id: b, name: paint, amount: 1 l}\n"
    )
    before = path.read_bytes()
    with pytest.raises(BenchrunError, match="twice"):
        change_row(tmp_path, SUPPLIES, "b", {"id": "a"})
    assert path.read_bytes() == before


def test_jobs_of_a_file_that_has_parts_alone_are_none_unless_something_is_wrong_with_it(tmp_path):
    path = tmp_path / PARTS.file
    path.write_text("parts:\n  - {id: a, name: hub}\n")
    assert len(PARTS.read(tmp_path).rows) == 1
    assert (JOBS.read(tmp_path).rows, JOBS.read(tmp_path).whole) == ((), True)
    path.write_text("parts:\n  - {id: a, name: hub]\n")
    assert not PARTS.read(tmp_path).whole
    assert not JOBS.read(tmp_path).whole
