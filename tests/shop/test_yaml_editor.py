"""Changing one value leaves every other byte as it stood."""

import string
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.procedure import yamlread
from benchrun.procedure.yamlread import read_yaml
from benchrun.shop.yaml_editor import with_item, with_value, without_items

PAGE = """\
# The tins on the shelf.   Keep this line.

supplies:   # newest last

  - id:   paint        # the grey one
    name: "coating: grey"
    amount: 1 l   # as bought
    note: |
      Stir well.

      Strain it.
    # sold by the litre only
  - {id: etch, name: etch, amount: 5 l}   # in the cabinet

  - id: rags
    name: rags
    note:
    amount: 20
# the end
"""


def after(page: str, *lines: tuple[str, str]) -> str:
    for old, new in lines:
        assert page.count(old) == 1
        page = page.replace(old, new)
    return page


def test_a_value_is_replaced_and_its_comment_stays():
    found = with_value(PAGE, ("supplies", 0, "amount"), "2 l")
    assert found == after(PAGE, ("amount: 1 l   # as bought", "amount: 2 l   # as bought"))


def test_a_quoted_value_is_replaced():
    found = with_value(PAGE, ("supplies", 0, "name"), "grey")
    assert found == after(PAGE, ('name: "coating: grey"', "name: grey"))


def test_a_blank_value_is_filled_in():
    found = with_value(PAGE, ("supplies", 2, "note"), "cotton: white")
    assert found == after(PAGE, ("    note:\n", '    note: "cotton: white"\n'))


def test_a_text_of_several_lines_is_replaced_and_what_follows_stays():
    found = with_value(PAGE, ("supplies", 0, "note"), "Stir")
    block = "note: |\n      Stir well.\n\n      Strain it.\n"
    assert found == after(PAGE, (block, "note: Stir\n"))


def test_a_new_key_stands_at_the_end_of_its_row_before_the_comment_of_the_next():
    found = with_value(PAGE, ("supplies", 0, "lot"), "A 7")
    assert found == after(PAGE, ("      Strain it.\n", "      Strain it.\n    lot: A 7\n"))


def test_a_row_on_one_line_stays_on_one_line():
    found = with_value(PAGE, ("supplies", 1, "lot"), "E, 1")
    assert found == after(PAGE, ("amount: 5 l}", 'amount: 5 l, lot: "E, 1"}'))


def test_a_row_is_added_after_the_last_in_the_same_indent():
    found = with_item(PAGE, ("supplies",), {"id": "tape", "name": "tape"})
    assert found == after(
        PAGE, ("    amount: 20\n", "    amount: 20\n  - id: tape\n    name: tape\n")
    )


def test_a_list_inside_a_row_is_begun_and_gone_on_with():
    once = with_item(PAGE, ("supplies", 2, "book"), {"on": "2026-03-02", "used": "3"})
    twice = with_item(once, ("supplies", 2, "book"), {"on": "2026-03-03", "used": "4"})
    assert "    amount: 20\n    book:\n      - {on: 2026-03-02, used: 3}\n" in twice
    assert "      - {on: 2026-03-03, used: 4}\n# the end\n" in twice


def test_a_list_inside_a_row_on_one_line_is_begun_and_gone_on_with():
    once = with_item(PAGE, ("supplies", 1, "book"), {"used": "3 l"})
    twice = with_item(once, ("supplies", 1, "book"), {"used": "1 l"})
    row = "{id: etch, name: etch, amount: 5 l, book: [{used: 3 l}, {used: 1 l}]}   # in the"
    assert row in twice


@pytest.mark.parametrize(
    ("page", "wanted"),
    [
        ("", "supplies:\n  - id: a\n"),
        ("# only a comment", "# only a comment\nsupplies:\n  - id: a\n"),
        ("supplies: []  # none yet\n", "supplies:  # none yet\n  - id: a\n"),
        ("supplies:  # none yet\nnote: x\n", "supplies:  # none yet\n  - id: a\nnote: x\n"),
        ("supplies:\n- id: b", "supplies:\n- id: b\n- id: a\n"),
        ("supplies: [{id: b}]\n", "supplies: [{id: b}, {id: a}]\n"),
        ("supplies:\r\n  - id: b\r\n", "supplies:\r\n  - id: b\r\n  - id: a\r\n"),
    ],
)
def test_the_first_row_finds_its_place(page, wanted):
    assert with_item(page, ("supplies",), {"id": "a"}) == wanted


def test_what_would_change_the_lines_around_it_is_refused():
    with pytest.raises(BenchrunError, match="cannot be changed without disturbing"):
        with_value("name: etch\nnote: |+\n  Strain it.\n\n\n", ("amount",), "2 l")


def test_a_list_where_a_text_stands_is_refused():
    with pytest.raises(BenchrunError, match="holds no list"):
        with_item("supplies: none\n", ("supplies",), {"id": "a"})


@pytest.mark.parametrize("value", ["a\x1bb", "a\u202eb", "a\nb", "x" * 601])
def test_what_cannot_be_written_down_is_refused(value):
    with pytest.raises(BenchrunError):
        with_value(PAGE, ("supplies", 0, "note"), value)


@pytest.mark.parametrize("key", ["a: b", "", "A", "a\nb", "a#", "{"])
def test_a_key_that_is_none_is_refused(key):
    with pytest.raises(BenchrunError, match="no key"):
        with_value(PAGE, ("supplies", 0, key), "x")


words = st.text(alphabet=string.printable.strip() + " äµ²×", min_size=1, max_size=30)
plain = words.map(str.strip).filter(bool)


@given(value=plain, row=st.integers(0, 2), key=st.sampled_from(["name", "note", "lot", "amount"]))
def test_any_text_reads_back_as_it_was_and_the_comments_stand(value, row, key):
    found = with_value(PAGE, ("supplies", row, key), value)
    assert read_yaml(found.encode())["supplies"][row][key] == value
    for comment in ("# The tins", "# newest last", "# the grey one", "# sold by", "# the end"):
        assert comment in found


# What people write in their own way: indents, comments, quotes, lists on one line or on several.
@st.composite
def pages(draw):
    indent = draw(st.sampled_from(["", "  ", "    "]))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    lines = ["things:" + draw(st.sampled_from(["", "  # c"]))]
    for number in range(draw(st.integers(1, 4))):
        if draw(st.booleans()):
            lines.append(draw(st.sampled_from(["", "# between", indent + "# between"])))
        if draw(st.booleans()):
            tail = draw(st.sampled_from(["", ",", " # c"]))
            lines.append(
                f"{indent}- {{id: t{number}, note: 'it''s'{tail[:1].strip('# ')}}}{tail[1:]}"
            )
            continue
        lines.append(f"{indent}- id: t{number}" + draw(st.sampled_from(["", "   # c", "  "])))
        for key in draw(st.permutations(["note", "also", "book"])):
            form = draw(st.integers(0, 3))
            body = {
                "note": ["note: x", 'note: "x: y"  # c', "note:", "note: >-\n{0}  long\n{0}  text"],
                "also": ["also: [a, b]", "also: []", "also:\n{0}  - a\n{0}  - b # c", "also: a"],
                "book": [
                    "book:\n{0}- {{on: d}}",
                    "book:",
                    "book:\n{0}  - on: d\n{0}    n: 1",
                    "book: []",
                ],
            }[key][form]
            lines += (f"{indent}  " + body.format(f"{indent}  ")).split("\n")
    return end.join(lines) + draw(st.sampled_from(["", end, end * 2, f"{end}# last{end}"]))


@given(page=pages(), value=plain, data=st.data())
def test_whatever_the_style_one_change_is_one_change(page, value, data):
    before = read_yaml(page.encode())
    row = data.draw(st.integers(0, len(before["things"]) - 1))
    changed = with_value(page, ("things", row, "note"), value)
    added = with_item(changed, ("things", row, "book"), {"on": value})
    rows = read_yaml(added.encode())["things"]
    assert rows[row]["note"] == value
    assert rows[row]["book"][-1] == {"on": value}
    assert [one for n, one in enumerate(rows) if n != row] == [
        one for n, one in enumerate(before["things"]) if n != row
    ]
    assert added.count("#") - value.count("#") * 2 == page.count("#")


def edits(page, row, value):
    """What each way of changing a row makes of a page."""
    for key in ("note", "also", "new"):
        yield with_value(page, ("things", row, key), value)
    for key in ("book", "also", "new"):
        try:
            yield with_item(page, ("things", row, key), {"on": value})
        except BenchrunError as error:
            yield error.message
    yield with_item(page, ("things",), {"id": value})
    yield without_items(page, ("things",), [row])


@given(page=pages(), value=plain, data=st.data())
def test_with_and_without_libyaml_the_same_letters_change(page, value, data):
    row = data.draw(st.integers(0, len(read_yaml(page.encode())["things"]) - 1))
    quick = list(edits(page, row, value))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(yamlread, "quick_events", lambda text: None)
        assert list(edits(page, row, value)) == quick


def test_nothing_here_touches_a_file(tmp_path: Path):
    path = tmp_path / "x.yaml"
    path.write_text(PAGE)
    with_value(PAGE, ("supplies", 0, "note"), "x")
    assert path.read_text() == PAGE
