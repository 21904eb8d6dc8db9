from dataclasses import replace

import pytest

from benchrun.moment import PROCESS, utc_ms
from benchrun.record.check import check_run
from benchrun.record.clock import VirtualClock
from benchrun.record.keys import make_key
from benchrun.record.seals import seal_data, seal_whole, sign_data
from benchrun.record.sshsig import SEAL, SIGN, sign_digest
from benchrun.record.writer import LogWriter

ANN, STATION = "ann-bench@museum-shed", "station@museum-shed"


def full_check(shop, folder, **given):
    return check_run(folder.path, trusted=shop.signers, register=shop.register.read(), **given)


def faults(report):
    return [fault.text for fault in report.faults]


def doubts(report):
    return [doubt.text for doubt in report.doubts]


def test_a_key_retired_later_still_stands_for_the_run(closed):
    shop, folder = closed
    end = shop.clock.now().utc_ms
    trusted = shop.signers.retire(ANN, shop.ann.public, end)
    report = check_run(folder.path, trusted=trusted, register=shop.register.read())
    assert (faults(report), doubts(report)) == ([], [])


def test_a_key_that_had_ended_before_is_told(closed):
    shop, folder = closed
    end = utc_ms("2026-11-20T17:00:00.000Z")
    trusted = shop.signers.retire(ANN, shop.ann.public, end)
    report = check_run(folder.path, trusted=trusted)
    assert len(report.faults) == 2
    assert "was good only until 2026-11-20T17:00:00Z by the shop's signers" in faults(report)[0]
    assert report.signatures == 0


def test_a_compromised_key_is_told_for_all_times(closed):
    shop, folder = closed
    at = shop.clock.now().utc_ms
    trusted = shop.signers.withdraw(STATION, shop.station.public, at, "disk stolen")
    report = check_run(folder.path, trusted=trusted)
    assert sum("on record as compromised" in text for text in faults(report)) == 3
    assert report.seals == 0


def test_a_person_cannot_seal_nor_the_station_sign(shop):
    folder, writer = shop.begin()
    shop.enter(writer, "seal", **seal_data(writer, shop.ann, ANN, "close"))
    shop.enter(writer, "sign", **sign_data(writer, shop.station, STATION))
    writer.close()
    report = full_check(shop, folder)
    assert [fault.n for fault in report.faults] == [2, 3, 3]
    assert f"may not sign for {SEAL}" in faults(report)[0]
    assert f"entered by {ANN} and signed as {STATION}" in faults(report)[1]
    assert f"may not sign for {SIGN}" in faults(report)[2]


def test_a_signature_in_another_name_is_told(shop):
    folder, writer = shop.begin()
    shop.enter(writer, "sign", **sign_data(writer, shop.ann, "ben@museum-shed"))
    writer.close()
    said = faults(full_check(shop, folder))
    assert said[0] == f"it was entered by {ANN} and signed as ben@museum-shed"
    assert "ben@museum-shed's key" in said[-1]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({}, "should hold a signature"),
        ({"sshsig": 7, "who": ANN, "of": 1}, "should hold a signature"),
        ({"sshsig": "x", "who": ANN, "of": 1}, "does not hold"),
        ({"sshsig": "x", "who": ANN, "of": 0}, "names the wrong entry (should be 1)"),
        ({"sshsig": "x", "who": [], "of": 1}, "should hold a signature"),
    ],
)
def test_a_malformed_signature_line_is_told(shop, data, said):
    folder, writer = shop.begin()
    shop.enter(writer, "sign", **data)
    writer.close()
    report = full_check(shop, folder)
    assert report.faults[0].n == 2
    assert said in faults(report)[0]


def test_a_signature_over_an_earlier_state_does_not_hold_later(shop):
    folder, writer = shop.begin()
    old = sign_data(writer, shop.ann, ANN)
    shop.enter(writer, "do", step="slipped-in")
    shop.enter(writer, "sign", **{**old, "of": writer.n - 1})
    writer.close()
    assert "does not fit the bytes" in faults(full_check(shop, folder))[0]


def test_a_seal_with_sha256_is_accepted(shop):
    import hashlib

    folder, writer = shop.begin()
    digest = hashlib.sha256(folder.log.read_bytes()).digest()
    armoured = sign_digest(shop.station, SEAL, digest, "sha256")
    shop.enter(writer, "seal", STATION, sshsig=armoured, who=STATION, why="hold")
    writer.close()
    report = full_check(shop, folder)
    assert (report.whole, report.seals) == (True, 2)


def test_a_whole_file_seal_by_a_stranger_is_told(shop, tmp_path):
    folder = shop.closed_run()
    stranger = make_key(tmp_path / "stranger", None)
    with LogWriter.open(folder.path) as writer:
        seal_whole(folder, writer, stranger)
    assert "which the run's signers do not name" in faults(full_check(shop, folder))[0]
    with LogWriter.open(folder.path) as writer:
        seal_whole(folder, writer, shop.ann)
    assert "may not sign for seal@benchrun" in faults(full_check(shop, folder))[0]


def test_signers_that_make_no_sense_are_told(closed, copy_of):
    shop, folder = closed
    copied = copy_of(folder)
    copied.signers.write_text("* ssh-ed25519 AAAA\n")
    assert "signers line 1" in faults(full_check(shop, copied))[0]


def test_clocks_that_cannot_be_relied_on_are_doubts(shop):
    folder, writer = shop.begin()
    shop.clock.step(-3_600_000)
    shop.enter(writer, "do", step="a")
    shop.enter(writer, "do", step="b")
    shop.clock.reboot(60_000, sync=False)
    shop.clock.step(-72_000_000)
    shop.enter(writer, "do", step="c")
    shop.clock.reboot(1000)
    shop.seal(writer, "suspend")
    writer.close()
    report = full_check(shop, folder)
    assert report.whole
    assert [(d.n, d.text) for d in report.doubts] == [
        (2, "the wall clock was set back by 1 h"),
        (4, "by the wall clock this is 19 h 58 min before the entry above"),
        (
            2,
            "no time service set the wall clock for 3 of 6 entries: times of day may be wrong",
        ),
        (None, "the run is not closed"),
    ]


def test_a_log_of_a_system_without_a_boot_clock_is_told_as_such_once(shop):
    clock = VirtualClock(shop.clock.now().utc, name=f"{PROCESS}invented")
    shop = replace(shop, clock=clock)
    folder, writer = shop.begin()
    shop.enter(writer, "do", step="a")
    writer.close()
    report = full_check(shop, folder)
    assert report.whole
    told = [d for d in report.doubts if "times rest on the wall clock alone" in d.text]
    assert [d.n for d in told] == [0]


@pytest.mark.parametrize("sync", [False, True])
def test_a_seal_by_a_clock_that_lost_its_time_or_was_set_back_is_a_doubt(shop, sync):
    folder, writer = shop.begin()
    shop.clock.reboot(1000)
    shop.clock.step(-10 * 365 * 86_400_000)
    shop.clock.set_sync(sync)
    shop.seal(writer, "resume")
    writer.close()
    report = full_check(shop, folder)
    assert report.whole
    assert any("is good only from 2026-11-19" in text for text in doubts(report))


def test_a_first_seal_before_its_key_is_good_is_a_fault(shop):
    shop.clock.step(-10 * 365 * 86_400_000)
    shop.clock.set_sync(True)
    folder, writer = shop.begin()
    writer.close()
    report = full_check(shop, folder)
    assert any("is good only from 2026-11-19" in text for text in faults(report))
