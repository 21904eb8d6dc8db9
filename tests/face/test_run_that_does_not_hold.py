"""A run that does not hold is told alike on both faces, and going on is a person's decision."""

import hashlib
import io
import json
import math
import sys
from pathlib import Path

import pytest

from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.record.line import encode

sys.path.insert(0, str(Path(__file__).parents[1] / "screen"))
from screen_bench import Bench, press, settled

EVERY_STATE = Path(__file__).parents[1] / "screen" / "procedures" / "every-state.yaml"
WHY = "the time was put right by hand"
FOUND = "entry 1: the signature does not hold"


@pytest.fixture
def bench(tmp_path):
    """A run whose first entry was changed behind its seal, the chain made anew."""
    made = Bench(tmp_path, people=["Bea Mill"])
    session = made.begin(EVERY_STATE, ["arm"])
    session.leave()
    lines = [json.loads(raw) for raw in session.folder.log.read_bytes().splitlines()]
    lines[0]["at"]["utc"] = lines[0]["at"]["utc"].replace("14:02", "14:01")
    prev, raw = "0" * 64, []
    for line in lines:
        raw.append(encode({**line, "prev": prev}))
        prev = hashlib.sha256(raw[-1]).hexdigest()
    session.folder.log.write_bytes(b"".join(raw))
    made.log = session.folder.log
    return made


def kept_doubt(bench) -> dict:
    """The entry that keeps the decision."""
    lines = [json.loads(raw) for raw in bench.log.read_bytes().splitlines()]
    (doubt,) = [line for line in lines if line["kind"] == "doubt"]
    return doubt


def on_plain(bench, *lines: str) -> str:
    """What the plain face says of these lines."""
    out = io.StringIO()
    talk = Talk(io.StringIO("".join(f"{line}\n" for line in lines)), out, listens_s=math.inf)
    open_plain(bench.shop.path, talk=talk, clock=bench.clock)
    return out.getvalue()


async def test_on_the_screen_it_is_told_by_entry_and_nothing_is_written_before_a_reason(bench):
    before = bench.log.read_bytes()
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await press(pilot, "1")
        page = bench.screen()
        assert "What this run has kept does not hold" in page
        assert "Nothing was written." in page
        assert FOUND in page
        await press(pilot, "minus")
        assert "UNDER WAY" in bench.screen()
        assert bench.log.read_bytes() == before
        await press(pilot, "1", "enter")
        while "Who decides" not in bench.screen():
            await press(pilot, "enter")
        await press(pilot, "2")
        assert "every report repeats it" in " ".join(bench.screen().split())
        await press(pilot, *("space" if key == " " else key for key in WHY), "enter")
        assert "Resumed" in bench.screen()
        assert "Bea Mill" in bench.screen()
        bench.app.leave_runs()
    doubt = kept_doubt(bench)
    assert (doubt["by"], doubt["data"]["reason"]) == ("bea-mill", WHY)


def test_on_the_plain_face_it_is_told_by_entry_and_nothing_is_written_before_a_reason(bench):
    before = bench.log.read_bytes()
    said = on_plain(bench, "1", "-", "")
    assert "What this run has kept does not hold" in said
    assert FOUND in said
    assert bench.log.read_bytes() == before
    said = on_plain(bench, "1", "", "2", WHY, "-", "")
    assert "every report repeats it" in said
    doubt = kept_doubt(bench)
    assert (doubt["by"], doubt["data"]["reason"]) == ("bea-mill", WHY)
