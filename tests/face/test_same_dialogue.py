"""Both faces offer the same acts with the same numbers, and ask the same, at each moment."""

import io
import math
import re
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from benchrun.plain.face import HEARD, REST
from benchrun.plain.run import PlainRun
from benchrun.plain.talk import Gone, Talk
from benchrun.screen.parts.pane import PartsPane

sys.path.insert(0, str(Path(__file__).parents[1] / "screen"))
from screen_bench import Bench, press, show_run

EVERY_STATE = Path(__file__).parents[1] / "screen" / "procedures" / "every-state.yaml"
ARMS = ["arm 1", "arm 2"]
MINUTE = 60_000
NAMES = {"*": "asterisk", "/": "slash", ".": "full_stop", "-": "minus", "+": "plus"}


@dataclass(frozen=True)
class Moment:
    """What is typed on each face, and whether what stands there then is compared.

    Attributes:
        typed: The line on the plain face.
        keys: The keys on the screen; empty where what was asked stands on its page already.
        wait: How long nobody does anything before.
    """

    typed: str
    keys: tuple[str, ...] = ()
    wait: int = 0


def same(typed: str, *keys: str, wait: int = 0) -> Moment:
    """The same on both: what is typed, and Enter where the screen wants it."""
    return Moment(typed, keys or (typed or "enter",), wait)


COUNTED = 0
"""Stands for lines that were counted, for want of time to listen to them."""
LINES = r"^ {3}(\d)  (\S.*?)(?:: |  +|$)"
BATCH = r"^ *(\d+) \W*(\w.*?)(?:\]|  +|$)"
OPENS = Moment("")
"""On the plain face a line is opened with Enter; the screen shows what it asks at once."""
SCRIPT = [
    same(""),  # wipe
    OPENS,
    same("3"),  # not sure
    OPENS,
    same("2"),  # back to the wiping
    same(""),
    OPENS,
    same("3"),
    OPENS,
    same("2"),
    same(""),
    OPENS,
    same("3"),
    OPENS,  # going back is used up: its number stays empty
    Moment("-"),
    same("*"),
    same("4"),  # deviation
    same("2"),  # set aside
    same("1", "1", "enter"),  # arm 1
    Moment("bent by a fall", (*"bent", "space", *"by", "space", *"a", "space", *"fall", "enter")),
    same("*"),
    same("4"),
    same("4"),  # return to work
    same("1", "1", "enter"),
    same("8"),  # the reason given last, under its own number
    same("*"),
    same("5"),  # correct
    same("1"),
    same("1"),  # sound
    same("1"),
    same("*"),
    same("6"),  # undo
    Moment("-", ("minus", "minus")),
    same("*"),
    same("2"),  # photo
    Moment("-", ("minus", "minus")),
    same("*"),
    same("7"),  # hand over
    Moment("-", ("minus", "minus")),
    same("/"),
    Moment("-", ("minus",)),
    same("/"),
    same("4"),  # sums, over pages
    same("9"),
    Moment("-", ("minus", "minus", "minus")),
    same("/"),
    same("6"),  # supplies
    Moment("-", ("minus", "minus")),
    same("/"),
    same("5", "5", "minus", "minus"),  # where it stands: read out on one face, left on the other
]
SOAK = """\
procedure: small-soak
title: A small soak
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 2}
vessels: {tub: {title: tub, holds: 2}}
stages:
  - stage: All
    steps:
      - dwell: Soak the part.
        id: soak
        in: tub
        least: 10 min
        most: 40 min
        tend: {every: 4 min, do: Turn it.}
        early: [again]
        late: [set aside]
      - reading: Measure the bore.
        id: bore
        unit: mm
        low: 9 mm
        high: 10 mm
        outside: [set aside]
      - hold: Release the part.
        id: release
        signs: I looked at it.
"""
BACK = Moment("-", ("minus",))
SETTLED = Moment("", ("enter",))
"""Where an alarm stands, Enter does the act that it calls for, as on the plain face."""
TO_SIGNATURE = [
    same(""),  # into the tub
    same("/", wait=5 * MINUTE),
    BACK,
    SETTLED,  # tended
    same("/", wait=6 * MINUTE),
    BACK,
    SETTLED,  # tended again
    SETTLED,  # out
    OPENS,
    Moment("9.5", ("9", ".", "5", "enter")),
    same(""),  # the hold asks who signs
    same("1"),
    Moment("1234", ("1", "2", "3", "4", "enter")),
    same("/"),
    BACK,
]


class Prompts(io.StringIO):
    """Gives a script's lines one by one, and takes note of what was printed before each."""

    def __init__(self, bench: Bench, out: io.StringIO, script: list[Moment]) -> None:
        super().__init__()
        self._bench, self._out, self._script = bench, out, list(script)
        self._read = 0
        self.seen: list[dict[int, str]] = []

    def readline(self, size: int = -1) -> str:
        """The next line of the script, after the time that passes before it."""
        del size
        printed = self._out.getvalue()[self._read :]
        self._read = len(self._out.getvalue())
        if printed.endswith(f"{HEARD} "):
            return "\n"  # the screen has its cautions on the page: nobody is asked to hear them
        self.seen.append(
            numbered(printed, r"^ *(\d+) (?:\(wait\) |[A-Z0-9 ]+\. )?(\S.*?)(?:: | \(|$)")
        )
        if not self._script:
            return ""
        moment = self._script.pop(0)
        self._bench.clock.wait(600 + moment.wait)
        return f"{moment.typed}\n"


def numbered(text: str, pattern: str) -> dict[int, str]:
    """The numbered lines of a text; of long words the beginning, as a narrow page cuts them."""
    found = {}
    if re.search(r"^And \d+ more line", text, re.MULTILINE):
        found[COUNTED] = "counted"
    for line in text.split("\n"):
        both = re.match(r" *1 to 2 arm 1/2: ", line)
        if both:  # parts that stand at the same are one line for ears
            found |= {1: ARMS[0], 2: ARMS[1]}
            continue
        match = re.match(pattern, line)
        if match and match[1] != REST:  # what only says more is no line of its own
            found[int(match[1])] = match[2].rstrip(". …")[:16]
    return found


def waits_on(page: str) -> frozenset[int]:
    """The numbers of the lines on a page of offers that say that they cannot be done yet."""
    rows = re.split(r"^ {3}(\d)  ", page, flags=re.MULTILINE)
    return frozenset(
        int(n) for n, row in zip(rows[1::2], rows[2::2], strict=True) if "not yet" in row
    )


def on_plain(
    folder: Path, procedure: Path, parts: list[str], script: list[Moment]
) -> tuple[list[dict[int, str]], list[str]]:
    """What stands on the plain face before each line that is typed, and what was kept."""
    bench, out = Bench(folder, people=["Bea Mill"]), io.StringIO()
    session = bench.begin(procedure, parts)
    typed = Prompts(bench, out, script)
    run = PlainRun(Talk(typed, out, listens_s=math.inf), session)
    with pytest.raises(Gone):
        run.carry_on()
    session.leave()
    return typed.seen, kinds(session)


def kinds(session) -> list[str]:
    """The kinds of the entries that a person made."""
    return [one.kind for one in session.entries if one.kind not in ("seal", "beat")]


async def on_screen(
    folder: Path, procedure: Path, parts: list[str], script: list[Moment]
) -> tuple[list[tuple[dict[int, str], frozenset[int] | None]], list[str]]:
    """What stands on the screen before each key, and what was kept.

    At the work itself it is all offers, with the numbers of those that wait; else None beside it.
    """
    bench = Bench(folder, people=["Bea Mill"])
    session = bench.begin(procedure, parts)
    seen = []
    async with bench.app.run_test(size=(120, 40)) as pilot:
        screen = await show_run(bench.app, session)
        asked = False
        for moment in [*script, Moment("")]:
            opens = asked or len(screen.panes) > 1
            if not opens:
                await press(pilot, "slash", "7")
            page = bench.screen()
            batch = isinstance(screen.panes[-1], PartsPane)
            waits = None if opens else waits_on(page)
            seen.append((numbered(page, BATCH if batch else LINES), waits))
            if not opens:
                await press(pilot, "minus", "minus")
            asked = not moment.keys and moment.typed == ""
            bench.clock.wait(moment.wait)
            screen.tick()
            if moment.keys:
                await press(pilot, *(NAMES.get(key, key) for key in moment.keys))
    return seen, kinds(session)


async def test_both_faces_offer_and_ask_the_same_with_the_same_numbers(tmp_path):
    await both_are_the_same(tmp_path, EVERY_STATE, ARMS, SCRIPT)


async def test_a_dwell_a_reading_and_a_signature_are_asked_alike_on_both_faces(tmp_path):
    (tmp_path / "soak.yaml").write_text(SOAK)
    kept = await both_are_the_same(tmp_path, tmp_path / "soak.yaml", ["bracket"], TO_SIGNATURE)
    assert kept == ["open", "in", "tend", "tend", "out", "do", "do", "sign"]


async def both_are_the_same(
    folder: Path, procedure: Path, parts: list[str], script: list[Moment]
) -> list[str]:
    """Hold both faces against each other at each moment of a script; what was kept.

    What is on offer is said line by line only when it is new, and of what waits only the first:
    its clock says when. What is said has the number that it has on the screen.
    """
    plain, kept = on_plain(folder / "plain", procedure, parts, script)
    screen, as_well = await on_screen(folder / "screen", procedure, parts, script)
    assert len(plain) == len(screen) == len(script) + 1
    told = [m.typed for m in script]
    said: set[tuple[int, str]] = set()
    for at, (one, (other, waits)) in enumerate(zip(plain, screen, strict=True)):
        place = f"moment {at}, after {told[:at]}"
        if waits is None:
            assert one == other, place
            continue
        counted = one.pop(COUNTED, "")
        assert one.items() <= other.items(), place
        due = {(n, who) for n, who in other.items() if n == 1 or n not in waits}
        said |= {line for line in due if counted and line[0] > 1}
        assert due <= said | one.items(), place
        said |= one.items()
    assert sum(bool(one) for one in plain) > len(script) // 2
    assert kept == as_well
    return kept
