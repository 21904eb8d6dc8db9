"""What a program does with a log that says or holds more than it knows."""

import hashlib
import json

import pytest
from wiping import Wiping

from benchrun.account.record_text import show
from benchrun.board import look
from benchrun.cli import main
from benchrun.errors import BenchrunError
from benchrun.record import chain
from benchrun.record.line import decode, encode
from benchrun.session import read_along, take_up
from benchrun.verify import verify
from benchrun.version import VERSION


class Bench(Wiping):
    """A run that was left open."""

    def __init__(self, path):
        super().__init__(path)
        self.do("wipe")
        self.writer.leave()

    def rewrite(self, change):
        """Change lines and make the chain anew, as whoever can write the file can."""
        prev, rows = "0" * 64, []
        for raw in self.folder.log.read_bytes().splitlines(keepends=True):
            value = decode(raw)
            change(value)
            value["prev"] = prev
            rows.append(encode(value))
            prev = hashlib.sha256(rows[-1]).hexdigest()
        self.folder.log.write_bytes(b"".join(rows))

    def readers(self):
        return {
            "take up": lambda: take_up(self.shop, self.folder, self.person, self.clock).leave(),
            "read along": lambda: read_along(self.shop, self.folder, self.person, self.clock),
            "show": lambda: show(self.folder),
            "verify": lambda: verify(self.folder.path),
        }


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path)


def later_run(value):
    if value["kind"] == "open":
        value["data"]["format"] = chain.FORMAT + 1
        value["data"]["turned"] = "in a way that only a later program knows"


def later_seal(value):
    if value["kind"] == "seal" and value["data"]["why"] == "suspend":
        value["data"]["format"] = chain.FORMAT + 1
        value["data"]["moon"] = "full"


@pytest.mark.parametrize("change", [later_run, later_seal])
@pytest.mark.parametrize("reader", ["take up", "read along", "show", "verify"])
def test_a_log_of_a_later_format_is_not_judged_but_sent_to_a_later_program(bench, change, reader):
    if change is later_run:
        bench.rewrite(change)
        n = 0
    else:
        # A seal signs what is before it, so that it may be made anew at the end.
        bench.rewrite(change)
        n = 3
    before = bench.folder.log.read_bytes()
    with pytest.raises(BenchrunError) as told:
        bench.readers()[reader]()
    number = chain.FORMAT
    assert told.value.message == (
        f"log.jsonl from entry {n} on was made by a newer benchrun: its format is {number + 1}, "
        f"and benchrun {VERSION} reads up to {number}. Install the newer benchrun; "
        "nothing was changed"
    )
    assert told.value.exit_code == 2
    assert bench.folder.log.read_bytes() == before


def test_verify_leaves_with_could_not_tell_on_a_later_format(bench, capsys):
    bench.rewrite(later_run)
    assert main(["verify", str(bench.folder.path)]) == 2
    assert "made by a newer benchrun" in capsys.readouterr().err


def test_the_board_tells_of_a_later_format(bench):
    bench.rewrite(later_run)
    (one,) = look(bench.shop, bench.clock.now()).open_runs
    assert "made by a newer benchrun" in one.fault


def test_what_was_wrong_before_a_later_format_is_still_told(bench):
    def change(value):
        later_seal(value)
        if value["kind"] == "seal" and value["data"]["why"] == "open":
            value["data"]["sshsig"] = "no signature"

    bench.rewrite(change)
    verdict = verify(bench.folder.path)
    assert not verdict.whole
    assert any("entry 1: the signature does not hold" in text for text in verdict.faults)


@pytest.mark.parametrize("kind", ["do", "seal"])
def test_a_field_that_the_number_does_not_have_makes_a_run_not_whole(bench, kind):
    def change(value):
        if value["kind"] == kind and value["data"].get("why") != "open":
            value["data"]["moon"] = "full"

    assert verify(bench.folder.path).whole
    bench.rewrite(change)
    verdict = verify(bench.folder.path)
    assert any("'moon' does not belong" in text for text in verdict.faults), verdict.faults
    with pytest.raises((BenchrunError, ValueError), match="moon"):
        show(bench.folder)


def test_a_kind_that_the_number_does_not_have_makes_a_run_not_whole(bench):
    bench.rewrite(lambda value: value.update(kind="moon") if value["kind"] == "do" else None)
    assert any("moon" in text for text in verify(bench.folder.path).faults)


def test_a_later_program_says_from_where_on_its_number_holds(bench, monkeypatch):
    """The one that began the run then knows where it must stop."""
    number = chain.FORMAT
    monkeypatch.setattr(chain, "FORMAT", number + 1)
    monkeypatch.setattr("benchrun.session.inspection.FORMAT", number + 1)
    for _ in range(2):
        take_up(bench.shop, bench.folder, bench.person, bench.clock).leave()
    assert verify(bench.folder.path).whole
    lines = bench.folder.read().lines
    raised = [(line.n, line.data["format"]) for line in lines if "format" in line.data]
    assert raised == [
        (0, number),
        (4, number + 1),
    ]  # once, at the seal with which it took the run up
    monkeypatch.undo()
    with pytest.raises(
        BenchrunError, match=f"entry 4 on was made by a newer benchrun: its format is {number + 1}"
    ):
        verify(bench.folder.path)


def test_a_run_that_is_taken_up_under_its_own_number_says_nothing_of_it(bench):
    take_up(bench.shop, bench.folder, bench.person, bench.clock).leave()
    rows = bench.folder.log.read_bytes().splitlines()
    assert ["format" in json.loads(row)["data"] for row in rows] == [True] + [False] * 5
