"""Only what changed goes to the terminal, and on a slow line only what is new."""

import random

import pyte
import pytest
from screen_terminal import Terminal

from benchrun.screen.frames import ASK, GIVE_UP_S, Frames, cells_of, changes

STYLES = ("", "\x1b[1m", "\x1b[7m", "\x1b[38;2;200;80;10m")
LETTERS = "abc  0123|—漢é" + "e\u0301"


def page(chance, width, height, before=()):
    """Rows of cells, most of them as before."""
    rows = []
    for y in range(height):
        if before and chance.random() < 0.7:
            rows.append(before[y])
            continue
        cells = list(before[y]) if before and chance.random() < 0.5 else []
        if cells:
            at = chance.randrange(width - 2)
            if all(text for text, _ in cells[at : at + 3]):
                cells[at] = (chance.choice("xyz9"), chance.choice(STYLES))
        else:
            while len(cells) < width:
                letter = chance.choice(LETTERS)
                cells += cells_of([(letter, chance.choice(STYLES))])
            cells = cells[:width] if cells[width - 1][0].isascii() else [("a", "")] * width
        rows.append(cells)
    return rows


def drawn(screen):
    return [
        [(c.data, c.bold, c.reverse, c.fg) for _, c in sorted(screen.buffer[y].items())]
        for y in range(screen.lines)
    ]


@pytest.mark.parametrize("seed", range(40))
def test_a_terminal_that_gets_the_changes_shows_the_page(seed):
    chance = random.Random(seed)
    screen, whole = pyte.Screen(40, 8), pyte.Screen(40, 8)
    stream = pyte.Stream(screen)
    rows = ()
    for _ in range(12):
        after = page(chance, 40, 8, rows)
        stream.feed(changes(rows, after))
        whole.reset()
        pyte.Stream(whole).feed(changes((), after))
        assert drawn(screen) == drawn(whole)
        rows = after


def test_a_digit_that_ticks_is_all_that_is_sent():
    old = [cells_of([("  soaks 12:31 left", "\x1b[1m")])]
    new = [cells_of([("  soaks 12:30 left", "\x1b[1m")])]
    assert changes(old, new) == "\x1b[1;13H\x1b[1m0\x1b[0m"
    assert changes(new, new) == ""


class Line:
    """A line with a terminal at its end that answers when it is told to."""

    def __init__(self):
        self.sent, self.seconds = [], 0.0
        self.frames = Frames(self.sent.append, pulse=lambda: self.seconds)

    def show(self, text):
        self.frames.show([cells_of([(text, "")])])


def test_what_is_old_before_it_could_be_sent_is_never_sent():
    line = Line()
    line.show("page 0")
    line.frames.answered()
    for number in range(1, 9):
        line.show(f"page {number}")
    assert [text.replace(ASK, "") for text in line.sent] == ["\x1b[1;1Hpage 0", "\x1b[1;6H1"]
    line.frames.answered()
    assert line.sent[-1] == f"\x1b[1;6H8{ASK}"
    line.frames.answered()
    assert len(line.sent) == 3


def test_a_terminal_that_does_not_answer_is_not_waited_for():
    line = Line()
    for number in range(4):
        line.show(f"page {number}")
    assert len(line.sent) == 4
    assert "".join(line.sent).count(ASK) == 1


def test_one_that_ceases_to_answer_is_given_up_after_a_while():
    line = Line()
    line.show("page 0")
    line.frames.answered()
    line.show("page 1")
    line.show("page 2")
    assert len(line.sent) == 2
    line.seconds = GIVE_UP_S + 1
    line.show("page 3")
    assert line.sent[-1] == "\x1b[1;6H3"


def test_the_program_shows_its_pages_to_a_terminal_that_answers(tmp_path):
    terminal = Terminal(tmp_path, answers="yes")
    try:
        terminal.see("BEGIN")
        assert terminal.asked
        terminal.type("/")
        terminal.see("Look up")
        terminal.send(b"\x1b")
        terminal.see("BEGIN")
        terminal.type(".")
        assert terminal.wait() == 0
    finally:
        terminal.close()
