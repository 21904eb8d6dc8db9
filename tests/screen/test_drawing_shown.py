"""A drawing on the terminal: the page gives way to it where the terminal draws, and comes back."""

import io
import os

import pytest
from PIL import Image
from real_terminal import RealTerminal

from benchrun.procedure.load import load
from benchrun.record.clock import SystemClock
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.signing_keys import enrol, new_shop

JOB = """\
procedure: fit
title: Fit a ring
revision: 1
scope: A ring. Invented.
batch: {part: hub}
stages:
  - stage: All
    steps:
      - {do: Seat the ring., id: seat, drawing: seat.png}
      - {do: Wipe the hub., id: wipe}
"""


class DrawingTerminal(RealTerminal):
    """A terminal that answers what it can do, once it is asked."""

    answer = b""

    def read(self, wait_s):
        before = len(self.said)
        super().read(wait_s)
        if self.answer and b"\x1b[c" in self.said[before:]:
            os.write(self.fd, self.answer)


@pytest.fixture
def terminal(tmp_path, benchrun):
    clock = SystemClock()
    shop = new_shop(tmp_path / "shop", "Ropewalk shop", clock.now())
    ada = enrol(shop, "Ada Brook", clock.now(), passphrase="1234")
    home = shop.path / "procedures"
    home.mkdir(exist_ok=True)
    (home / "fit.yaml").write_text(JOB)
    content = io.BytesIO()
    Image.new("RGB", (60, 30), (200, 40, 40)).save(content, "PNG")
    (home / "seat.png").write_bytes(content.getvalue())
    begin(shop, load(home / "fit.yaml"), [PartSpec("hub")], ada, clock).leave()
    environ = {"XDG_CONFIG_HOME": str(tmp_path / "config"), "DISPLAY": "", "WAYLAND_DISPLAY": ""}
    made = DrawingTerminal([benchrun, "--shop", str(shop.path)], environ)
    yield made
    made.close()


def at_the_step(terminal):
    terminal.see("Fit a ring")
    terminal.press("1")
    terminal.see("why, drawing")
    terminal.press("0")
    terminal.see("see the drawing")


def test_a_terminal_that_draws_shows_it_and_any_key_goes_back_to_the_page(terminal):
    terminal.answer = b"\x1b[?62;4;22c"
    at_the_step(terminal)
    terminal.press("\n")
    terminal.hear("Any key goes back.")
    assert b'\x1bPq"1;1;60;30' in terminal.said
    terminal.press("x")
    page = terminal.see("next step 2  Wipe the hub.")
    assert "The drawing lies" not in page
    terminal.press("\n")
    terminal.see("Recorded, entry")


def test_a_terminal_that_does_not_draw_says_where_it_lies(terminal):
    terminal.answer = b"\x1b[?1;2c"
    at_the_step(terminal)
    terminal.press("\n")
    terminal.see("The drawing lies in")
    assert b"\x1bPq" not in terminal.said
    terminal.press("\n")
    terminal.see("Recorded, entry")
