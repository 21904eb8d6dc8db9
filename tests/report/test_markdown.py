"""Markdown that reads as text: none of it is markup to a reader's program, few marks are added."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from benchrun.report.doc import Bullets, Fields, Para, Report, Section, Sheet, Under, table_of
from benchrun.report.markdown import as_markdown

PIECES = st.sampled_from(
    (
        *"\\`*_<>[]|~$^&;:()#+-=.!@/'\" 19aZ",
        *("www.", "http://", "a@b.de", "&amp;", "[x]", "](", "<b>", "~~", "**", "__"),
        *("1. ", "- ", "* ", "> ", "![", "\u05d0", "\u00b5m"),
    )
)


def texts_of(markdown):
    """What a program makes of a document: of each block the kinds in it, and its text."""
    parser = MarkdownIt("gfm-like")
    for token in parser.parse(markdown):
        if token.type == "inline":
            kinds = {child.type for child in token.children or ()}
            yield kinds, "".join(child.content for child in token.children or ())


@given(st.lists(PIECES, min_size=1, max_size=12).map("".join))
@example("low wet * 0.75")
@example("* [x] a ]: b")
@example("a&#42;b &P-1")
def test_whatever_somebody_typed_comes_out_as_it_was_typed(typed):
    text = " ".join(typed.split()) or "x"
    blocks = (Para(text), Bullets((text,)), Fields((("Label", text),)), Under(text, text))
    table = table_of(("Column", text), [(text, text)])
    report = Report("T", (Sheet(text, text, Fields(()), (), (Section(text, (*blocks, table)),)),))
    found = list(texts_of(as_markdown(report)))
    assert set().union(*(kinds for kinds, _ in found)) <= {"text", "text_special"}
    wanted = [*[text] * 5, f"Label: {text}", text, text, "Column", text, text, text]
    assert [said for _, said in found] == wanted


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-02-seat-look-ghja",
        "61.949 to 61.979 mm, ± 0.002",
        "TM 5-4210-230-14&P-1",
        "mean([61.966, 61.964 mm], [61.963, 61.962 mm])",
        "low wet_wanted * 0.75: worked out",
        "hub L (cast 4-117)",
    ],
)
def test_names_numbers_and_formulas_carry_no_marks(text):
    report = Report("T", (Sheet("T", text, Fields(())),))
    assert as_markdown(report) == f"# T\n\n{text}\n"
