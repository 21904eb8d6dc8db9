"""A whole shipped procedure line by line: at a terminal that cannot draw, and through pipes."""

import os
import pty
import select
import subprocess
import sys
import termios
import time
from collections import Counter
from pathlib import Path

import pytest
from patience import PATIENCE_S
from ruamel.yaml import YAML

from benchrun.load_run import folded, read_kept
from benchrun.moment import Moment, utc_ms
from benchrun.plain.face import HEARD
from benchrun.procedure.route import Hold
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.run.offers import offers
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

CHILD = Path(__file__).with_name("plain_child.py")
BEGINS = "2026-11-25T14:02:00.000Z"
TAGS = ["hub L outer", "hub R outer"]


class Lines:
    """The program, spoken to line by line."""

    def __init__(self, folder: Path, procedure: Path, *, at_terminal: bool) -> None:
        self.wall, self.up = utc_ms(BEGINS), 3_600_000
        self.clock, self.shop = folder / "clock", folder / "shop"
        now = VirtualClock(BEGINS).now()
        shop = new_shop(self.shop, "Ropewalk shop", now)
        for name in ("Ada Brook", "Bea Mill"):
            enrol(shop, name, now, passphrase="1234")
        self.pass_time(0)
        self.said = ""
        args = [sys.executable, str(CHILD), str(self.shop), str(self.clock), str(procedure)]
        environ = {**os.environ, "TERM": "dumb"}
        if at_terminal:
            self.into, other = pty.openpty()
            self.out = self.into
            modes = termios.tcgetattr(other)
            modes[3] &= ~termios.ECHO
            termios.tcsetattr(other, termios.TCSANOW, modes)
            ends = {"stdin": other, "stdout": other, "stderr": other}
            self.child = subprocess.Popen(args, env=environ, start_new_session=True, **ends)
            os.close(other)
        else:
            ends = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
            self.child = subprocess.Popen(args, env=environ, **ends)
            self.into, self.out = self.child.stdin.fileno(), self.child.stdout.fileno()

    def pass_time(self, ms: int) -> None:
        """Let the program's clock go on."""
        self.wall, self.up = self.wall + ms, self.up + ms
        new = self.clock.with_suffix(".new")
        new.write_text(f"{self.wall} {self.up}")
        new.replace(self.clock)

    @property
    def now(self) -> Moment:
        return Moment(self.wall, self.up, "plain-1", True)

    def prompt(self) -> str:
        """Read on to the next question, or to the end: what it asks, or empty."""
        ends = time.monotonic() + PATIENCE_S
        while time.monotonic() < ends:
            ready, _, _ = select.select([self.out], [], [], 0.05)
            if ready:
                try:
                    data = os.read(self.out, 65536)
                except OSError:
                    return ""
                if not data:
                    return ""
                self.said += data.decode().replace("\r\n", "\n")
                continue
            last = self.said.rstrip("\n").rpartition("\n")[2]
            # What is told ends its line; through pipes the question for a passphrase does so too.
            if self.said.endswith((": ", "> ")) or last.startswith("Passphrase of"):
                return last.strip()
        raise AssertionError(f"no question comes:\n{self.said[-3000:]}")

    def say(self, text: str) -> None:
        """Answer; what comes before is no longer the question."""
        self.said += "\n"
        os.write(self.into, f"{text}\n".encode())


class Hand:
    """Answers from what is asked, what is on offer, and a rehearsal's answers."""

    def __init__(self, lines: Lines, given) -> None:
        self.lines = lines
        self.given = given
        self.used: Counter[tuple[str, str]] = Counter()
        self.offer = None

    def answer(self, asked: str) -> str:
        asked = asked.removeprefix("0 says 1 more. ")
        if asked == ">":
            return self._next()
        if asked == HEARD:
            return ""
        if asked.startswith("The batch, "):
            return ", ".join(TAGS)
        if asked.startswith(("Enter: it is so", "Enter or 0")) or "(only Enter: 1)" in asked:
            return ""  # a condition before the start, the number of a tool
        if asked.startswith("Passphrase of"):
            other = self._other()
            return "+" if other == asked.startswith("Passphrase of Ada Brook") else "1234"
        if asked == "Photo:":
            return "3"  # nothing is watched here: the record says that none was taken
        if asked == "Who signs:":
            return "2" if self._other() else "1"
        if asked in ("What is found:", "Which way:"):
            names = [one.name for one in self.offer.step.detail.findings]
            return str(names.index(self._value(names[0])) + 1)
        if " in " in asked and self.offer is not None and self.offer.step is not None:
            return self._value("", asked.split(",", maxsplit=1)[0])
        return "1"

    def _other(self) -> bool:
        """Whether another than whoever works must sign."""
        detail = self.offer.step.detail if self.offer.step else None
        return isinstance(detail, Hold) and detail.other

    def _next(self) -> str:
        procedure, entries = read_kept(next(iter(run_folders(self.lines.shop / "runs"))))
        found = offers(folded(procedure, entries), self.lines.now)
        self.offer = next((one for one in found if one.ready), None)
        if self.offer is None:
            self.lines.pass_time(min(one.wait_ms for one in found if one.wait_ms))
            return "/"
        return ""

    def _value(self, usual: str, whose: str = "") -> str:
        step = self.offer.step.id
        part = whose if whose in TAGS else self.offer.parts[0]
        found = self.given.get(step, usual)
        if isinstance(found, dict):
            found = found[part]
        if isinstance(found, list):
            turn = self.used[step, part]
            self.used[step, part] += 1
            found = found[min(turn, len(found) - 1)]
        return str(found)


@pytest.mark.parametrize("at_terminal", [True, False])
def test_a_shipped_procedure_is_carried_out_line_by_line(tmp_path, root, at_terminal):
    given = YAML(typ="safe", pure=True).load(
        root / "samples" / "answers" / "hub-bearing-removal.yaml"
    )["given"]
    procedure = root / "procedures" / "hub-bearing-removal.yaml"
    lines = Lines(tmp_path, procedure, at_terminal=at_terminal)
    hand = Hand(lines, given)
    try:
        while asked := lines.prompt():
            lines.say(hand.answer(asked))
        assert lines.child.wait(PATIENCE_S) == 0
    finally:
        lines.child.kill()
    folder = next(iter(run_folders(lines.shop / "runs")))
    run = folded(*read_kept(folder))
    assert run.ended, lines.said[-3000:]
    assert verify(folder.path).whole
    assert "\x1b" not in lines.said
    assert "(wait)" in lines.said
    assert "Limits: " in lines.said
