"""The page of the plan on a screen: whole words, set in below what stands before them."""

import datetime as dt

import pytest
from plan_runs import JOB, Shop

from benchrun.board import look
from benchrun.dialogue.conversation import Conversation
from benchrun.dialogue.evening import plan_page
from benchrun.screen.page_rows import row_lines
from benchrun.screen.text_line import Paper


@pytest.mark.parametrize("width", [60, 80, 120])
def test_what_takes_several_rows_is_set_in_below_its_words_and_never_cut(tmp_path, width):
    kept = Shop(tmp_path, hours="Wed 14:00-15:00, Fri 14:00-18:00")
    for number in range(1, 8):
        kept.begin(JOB, [f"arm of the left axle {number}", f"arm of the right axle {number}"])
    runs = look(kept.shop, kept.now).open_runs
    talk = Conversation(plan_page(kept.shop, runs, kept.now, dt.UTC))
    page = talk.reply(talk.reply().work())
    rows = [row for row in page.rows() if row.hangs]
    assert {row.text[: row.hangs].split()[-1] for row in rows} >= {"A", "B"}
    longest = max(rows, key=lambda row: len(row.text))
    lines = [line.text.rstrip() for line in row_lines(Paper(width, 24), [longest])]
    words = 1 + longest.indent + longest.hangs
    assert [line[:words].strip() for line in lines[1:]] == [""] * (len(lines) - 1)
    assert all(line[words] != " " for line in lines)
    assert " ".join(line.strip() for line in lines) == longest.text
    assert len(lines) > 1 or width == 120
    told = "\n".join(line.text for line in row_lines(Paper(width, 24), page.rows()))
    assert "…" not in told
    talk.answer("-")
