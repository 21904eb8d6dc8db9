"""A picture is drawn by a terminal that says that it draws sixels, and by no other."""

import io
import os
import pty
import re
import termios
import threading

import pytest
from PIL import Image

from benchrun.pictures.sixel import draw_on_terminal, sixels


def png(size, *boxes, mode="RGB"):
    picture = Image.new(mode, size, (255, 255, 255) if mode == "RGB" else (0, 0, 0, 0))
    for box, colour in boxes:
        picture.paste(colour, box)
    content = io.BytesIO()
    picture.save(content, "PNG")
    return content.getvalue()


def pixels_of(text):
    """The pixels that sixels come to, read as the standard has them."""
    head = re.match(r'\x1bPq"1;1;(\d+);(\d+)', text)
    wide, high = int(head[1]), int(head[2])
    colours, found = {}, {}
    colour, across, top = 0, 0, 0
    body = text[head.end() : -2]
    for part in re.finditer(r"#(\d+);2;(\d+);(\d+);(\d+)|#(\d+)|!(\d+)(.)|([$-])|(.)", body):
        if part[2]:
            colours[int(part[1])] = tuple(int(part[place]) for place in (2, 3, 4))
        elif part[5]:
            colour = int(part[5])
        elif part[8]:
            across, top = 0, top + 6 * (part[8] == "-")
        else:
            number, char = int(part[6] or 1), part[7] or part[9]
            for row in range(6):
                if (ord(char) - 63) >> row & 1:
                    for place in range(across, across + number):
                        found[place, top + row] = colours[colour]
            across += number
    assert set(found) == {(x, y) for x in range(wide) for y in range(high)}
    return (wide, high), found


def test_every_pixel_is_drawn_once_in_its_colour():
    content = png((20, 14), ((2, 3, 9, 13), (255, 0, 0)), ((9, 0, 20, 2), (0, 0, 255)))
    size, found = pixels_of(sixels(content, 640, 400))
    assert size == (20, 14)
    assert found[2, 3] == found[8, 12] == (100, 0, 0)
    assert found[19, 1] == (0, 0, 100)
    assert found[0, 0] == found[19, 13] == (100, 100, 100)


def test_a_large_picture_is_made_to_fit_and_what_shows_through_is_white():
    size, found = pixels_of(sixels(png((900, 300), mode="RGBA"), 90, 90))
    assert size == (90, 30)
    assert set(found.values()) == {(100, 100, 100)}


@pytest.mark.parametrize("content", [b"", b"<svg/>", b"\x89PNG\r\n\x1a\nbroken"])
def test_what_is_no_picture_is_not_drawn(content):
    assert sixels(content, 90, 90) is None


class Terminal:
    """The other end of a terminal: answers what it is asked, then presses a key."""

    def __init__(self, answer, key=b" "):
        self.ours, self.theirs = pty.openpty()
        self.seen = b""
        self._answer, self._key = answer, key
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()

    def hang_up(self):
        """All that was sent, once no more can come."""
        os.close(self.theirs)
        self._thread.join()
        return self.seen

    def _listen(self):
        answered = pressed = False
        while True:
            try:
                self.seen += os.read(self.ours, 65536)
            except OSError:
                return
            if not answered and b"\x1b[c" in self.seen:
                answered = True
                os.write(self.ours, self._answer)
            if not pressed and b"Any key" in self.seen:
                pressed = True
                os.write(self.ours, self._key)


@pytest.fixture
def drawing(tmp_path):
    path = tmp_path / "seat.png"
    path.write_bytes(png((20, 14), ((2, 3, 9, 13), (255, 0, 0))))
    return path


def test_a_terminal_that_says_so_draws_until_a_key_and_is_left_as_it_was(drawing):
    terminal = Terminal(b"\x1b[?62;4;22c")
    before = termios.tcgetattr(terminal.theirs)
    assert draw_on_terminal(drawing, 20, terminal.theirs, terminal.theirs) is True
    assert termios.tcgetattr(terminal.theirs) == before
    assert b"\x1bPq" in terminal.hang_up()


@pytest.mark.parametrize("answer", [b"\x1b[?1;2c", b"\x1b[?64;1;2;6c", b"", b"4"])
def test_a_terminal_that_does_not_say_so_is_sent_no_picture(drawing, answer):
    terminal = Terminal(answer)
    assert draw_on_terminal(drawing, 20, terminal.theirs, terminal.theirs) is None
    assert b"\x1bPq" not in terminal.hang_up()


def test_a_terminal_that_draws_is_sent_nothing_of_what_is_no_picture(tmp_path):
    path = tmp_path / "lip.svg"
    path.write_bytes(b"<svg/>")
    terminal = Terminal(b"\x1b[?62;4c")
    assert draw_on_terminal(path, 20, terminal.theirs, terminal.theirs) is False
    assert b"\x1bPq" not in terminal.hang_up()
