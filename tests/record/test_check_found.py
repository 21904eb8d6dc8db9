"""The check of a log that is to be written on: all before is judged before anything is added."""

import hashlib
import json

import pytest

from benchrun.record.check import check_found
from benchrun.record.findings import Grade
from benchrun.record.line import encode
from benchrun.record.writer import LogWriter


def open_run(shop, seal="suspend"):
    """A run that was left, with four entries under its last seal and two more behind it."""
    folder, writer = shop.begin()
    for number in range(4):
        shop.enter(writer, "do", step=f"step-{number}")
    shop.seal(writer, seal)
    shop.note_in_register("marked", folder, writer)
    for number in range(2):
        shop.enter(writer, "do", step=f"tail-{number}")
    writer.close()
    return folder


def chained_anew(raw, change):
    """The lines of a log with their data changed and the chain made anew, as a forger would."""
    lines = [json.loads(line) for line in raw.splitlines()]
    change(lines)
    prev, made = lines[0]["prev"], []
    for line in lines:
        made.append(encode({**line, "prev": prev}))
        prev = hashlib.sha256(made[-1]).hexdigest()
    return b"".join(made)


def found(shop, folder):
    with LogWriter.open(folder.path) as writer:
        return check_found(
            folder, writer.found, trusted=shop.signers, register=shop.register.read()
        )


def test_an_open_run_with_a_tail_that_no_seal_covers_is_fine(shop):
    report = found(shop, open_run(shop))
    assert (report.faults, report.doubts) == ((), ())
    assert [(one.n, one.grade) for one in report.fine] == [(None, Grade.FINE)] * 2
    assert "entries 7 to 8 lie under no signature or seal" in report.fine[1].text


def test_a_changed_reading_under_a_seal_is_told_with_the_entries_that_no_longer_fit(shop):
    folder = open_run(shop)

    def change(lines):
        lines[3]["data"]["step"] = "never-done"

    folder.log.write_bytes(chained_anew(folder.log.read_bytes(), change))
    report = found(shop, folder)
    assert not report.whole
    assert report.faults[0].placed.startswith("entry 6: the signature does not hold")
    assert any("with another entry 6 than the log has" in one.text for one in report.faults)


def test_dropping_the_later_seals_is_told_by_the_register(shop):
    folder = open_run(shop)

    def change(lines):
        lines[3]["data"]["step"] = "never-done"
        del lines[6:]

    folder.log.write_bytes(chained_anew(folder.log.read_bytes(), change))
    report = found(shop, folder)
    assert ["which the log no longer has" in one.text for one in report.faults] == [True]


@pytest.mark.parametrize("name", ["signers", "procedure.yaml"])
def test_the_files_beside_the_log_are_judged_before_it_is_written_on(shop, name):
    folder = open_run(shop)
    (folder.path / name).write_bytes(b"")
    assert not found(shop, folder).whole
