import json

import pytest

from benchrun.errors import BenchrunError
from benchrun.record.chain import read_log
from benchrun.record.check import check_run
from benchrun.record.keys import make_key
from benchrun.record.line import encode
from benchrun.record.signers import Signer, Signers
from benchrun.record.writer import LogWriter

ANN, STATION = "ann-bench@museum-shed", "station@museum-shed"


def full_check(shop, folder, **given):
    return check_run(folder.path, trusted=shop.signers, register=shop.register.read(), **given)


def faults(report):
    return [fault.text for fault in report.faults]


def doubts(report):
    return [doubt.text for doubt in report.doubts]


def test_a_closed_run_is_whole_and_without_doubt(closed):
    shop, folder = closed
    report = full_check(shop, folder)
    assert (faults(report), doubts(report)) == ([], [])
    lines = read_log(folder.log).lines
    assert report.whole
    assert report.closed
    assert (report.entries, report.covered) == (len(lines), len(lines))
    assert (report.signatures, report.seals, report.photos) == (2, 3, 1)
    assert report.head == lines[-1].head
    assert report.run == folder.run
    assert report.signers == {
        ANN: shop.ann.public.fingerprint,
        STATION: shop.station.public.fingerprint,
    }


def test_whoever_replays_sees_every_line_and_how_far_it_is(closed):
    shop, folder = closed
    seen, steps = [], []
    full_check(shop, folder, each=seen.append, progress=lambda *at: steps.append(at))
    assert [line.n for line in seen] == list(range(len(read_log(folder.log).lines)))


def test_progress_is_told_in_bytes(shop):
    folder, writer = shop.begin()
    for _ in range(600):
        shop.enter(writer, "do", step="x")
    writer.close()
    steps = []
    full_check(shop, folder, progress=lambda done, total: steps.append((done, total)))
    assert len(steps) == 2
    assert 0 < steps[0][0] < steps[1][0] < steps[1][1] == folder.log.stat().st_size


def test_a_line_changed_where_nothing_is_sealed_yet_is_told_with_its_place(shop):
    """No seal and no register speaks of the last lines of an open run: only the chain does."""
    folder, writer = shop.begin()
    for number in range(5):
        shop.enter(writer, "do", step=f"step-{number}")
    writer.close()
    report = full_check(shop, folder)
    assert (faults(report), report.entries) == ([], 7)
    raw = folder.log.read_bytes()
    folder.log.write_bytes(raw.replace(b"step-2", b"step-9"))
    report = full_check(shop, folder)
    assert [(fault.n, "a line was changed" in fault.text) for fault in report.faults] == [(5, True)]
    assert not report.whole


@pytest.mark.parametrize("how", ["flipped", "dropped", "doubled", "swapped"])
def test_no_byte_of_a_closed_log_can_be_changed(closed, copy_of, how):
    shop, folder = closed
    copied = copy_of(folder)
    raw, register = folder.log.read_bytes(), shop.register.read()
    tried = 0
    for at in range(len(raw)):
        if how == "flipped":
            changed = raw[:at] + bytes([raw[at] ^ (1 << at % 8)]) + raw[at + 1 :]
        elif how == "dropped":
            changed = raw[:at] + raw[at + 1 :]
        elif how == "doubled":
            changed = raw[: at + 1] + raw[at:]
        else:
            changed = raw[:at] + raw[at + 1 : at + 2] + raw[at : at + 1] + raw[at + 2 :]
        if changed == raw:
            continue
        copied.log.unlink()  # a file cut to nothing and written again waits for its disk
        copied.log.write_bytes(changed)
        try:
            whole = check_run(copied.path, trusted=shop.signers, register=register).whole
        except BenchrunError as told:  # a later format, which this program cannot tell
            whole = told.exit_code == 0
        assert not whole, f"{how} byte {at} was not told"
        tried += 1
    assert tried > len(raw) * 0.85
    copied.log.write_bytes(raw)
    assert full_check(shop, copied).whole  # the control: unchanged, it is whole


def test_no_line_of_a_closed_log_can_be_dropped_doubled_or_swapped(closed, copy_of):
    shop, folder = closed
    copied = copy_of(folder)
    lines = folder.log.read_bytes().splitlines(keepends=True)
    for at in range(len(lines)):
        others = [
            lines[:at] + lines[at + 1 :],
            lines[: at + 1] + lines[at:],
            lines[:at],
            *(
                [*lines[:at], lines[to], *lines[at + 1 : to], lines[at], *lines[to + 1 :]]
                for to in range(at + 1, len(lines))
            ),
        ]
        for changed in others:
            copied.log.write_bytes(b"".join(changed))
            assert not full_check(shop, copied).whole


def test_the_last_entry_of_an_unsealed_log_can_be_changed_and_that_is_said(shop):
    """The control of the tests above, and the limit of what a log without a seal can show."""
    folder, writer = shop.begin()
    shop.enter(writer, "do", step="lift-hub")
    writer.close()
    before = full_check(shop, folder)
    folder.log.write_bytes(folder.log.read_bytes().replace(b"lift-hub", b"drop-hub"))
    after = full_check(shop, folder)
    assert before.whole
    assert after.whole
    for report in (before, after):
        assert doubts(report) == [
            "the run is not closed",
            "entry 2 lies under no signature or seal: nobody can tell whether anything was changed "
            "or dropped here",
        ]


def test_a_log_forged_anew_from_its_first_changed_line_is_told(closed, copy_of):
    """Who recomputes the chain still lacks the keys."""
    shop, folder = closed
    copied = copy_of(folder)
    lines = [json.loads(raw) for raw in folder.log.read_bytes().splitlines()]
    lines[2]["data"]["step"] = "never-done"
    prev, out = lines[0]["prev"], []
    import hashlib

    for line in lines:
        raw = encode({**line, "prev": prev})
        prev = hashlib.sha256(raw).hexdigest()
        out.append(raw)
    copied.log.write_bytes(b"".join(out))
    report = full_check(shop, copied)
    assert read_log(copied.log).lines  # the chain itself is sound
    assert any(fault.n == 6 for fault in report.faults)
    assert sum("does not fit the bytes" in text for text in faults(report)) == 4
    assert any("another entry" in text for text in faults(report))


def forged(shop, tmp_path, ann, station):
    """A run signed in these names with keys of the forger's own, and its register."""
    mine = {**shop.__dict__, "path": tmp_path / "forger", "signers": Signers()}
    mine["path"].mkdir()
    forger = type(shop)(**mine)
    keys = make_key(tmp_path / "a", None), make_key(tmp_path / "s", None)
    signers = Signers().add(Signer(ann, keys[0].public)).add(Signer(station, keys[1].public))
    forger = type(shop)(**{**mine, "ann": keys[0], "station": keys[1], "signers": signers})
    return forger.closed_run(), forger.register.read()


def test_a_log_signed_anew_in_the_names_of_the_shop_is_told(shop, tmp_path):
    folder, register = forged(shop, tmp_path, ANN, STATION)
    report = check_run(folder.path, trusted=shop.signers, register=register)
    *of_the_run, of_the_register = faults(report)
    assert all("is not one of theirs by the shop's signers" in text for text in of_the_run)
    assert of_the_register.startswith("entry 1 of the shop's register is sealed by station@")
    assert {fault.n for fault in report.faults} >= {1}
    # Where the shop's own signers are not at hand it is whole in itself, and that is said.
    report = check_run(folder.path, register=register)
    assert report.whole
    assert any("own signers were not at hand" in text for text in doubts(report))


def test_keys_of_names_that_the_shop_does_not_know_are_a_doubt(shop, tmp_path):
    folder, _ = forged(shop, tmp_path, ANN, STATION)
    strangers = Signers().add(Signer("ben@elsewhere", shop.ann.public))
    report = check_run(folder.path, trusted=strangers)
    assert report.whole
    assert sum("unknown to the shop's own signers" in text for text in doubts(report)) == 2
    # The shop's own register knows nothing of it.
    report = full_check(shop, folder)
    assert "the shop's register does not know this run" in doubts(report)


def test_a_copy_judged_without_the_shop_says_what_it_cannot_tell(closed):
    _, folder = closed
    report = check_run(folder.path)
    assert report.whole
    assert len(doubts(report)) == 2
    assert any("own signers were not at hand" in text for text in doubts(report))
    assert any("register could not be asked" in text for text in doubts(report))


@pytest.mark.parametrize("name", ["procedure.yaml", "photos/hub-*.jpg", "log.jsonl.sig", "signers"])
@pytest.mark.parametrize("how", ["changed", "missing"])
def test_the_files_beside_the_log_are_judged(closed, copy_of, name, how):
    shop, folder = closed
    copied = copy_of(folder)
    (path,) = copied.path.glob(name)
    if how == "missing":
        path.unlink()
    else:
        path.write_bytes(path.read_bytes()[:-2] + b".\n")
    report = full_check(shop, copied)
    if (name, how) == ("log.jsonl.sig", "missing"):
        assert report.whole
        assert "log.jsonl.sig is missing: nothing seals the whole file" in doubts(report)
    else:
        assert not report.whole
        assert any(name.split("/")[-1].split("*")[0] in text for text in faults(report))


def test_a_seal_that_is_no_text_is_told(closed, copy_of):
    shop, folder = closed
    copied = copy_of(folder)
    copied.seal.write_bytes(b"\xff\xfe")
    assert "log.jsonl.sig does not hold" in faults(full_check(shop, copied))[0]


@pytest.mark.parametrize(
    "file", ["../secret", "/etc/hostname", "photos/../../secret", "", 7, "a\0b"]
)
def test_a_picture_outside_the_folder_is_never_opened(shop, tmp_path, file):
    (shop.runs.parent / "secret").write_bytes(b"s")
    folder, writer = shop.begin()
    shop.enter(writer, "photo", file=file, sha256="0" * 64)
    writer.close()
    assert "it names a file outside the run's folder" in faults(full_check(shop, folder))


def test_a_link_out_of_the_folder_is_never_followed(shop, tmp_path):
    (tmp_path / "secret").write_bytes(b"s")
    folder, writer = shop.begin()
    (folder.photos / "link.jpg").symlink_to(tmp_path / "secret")
    shop.enter(writer, "photo", file="photos/link.jpg", sha256="0" * 64)
    writer.close()
    assert "it names a file outside the run's folder" in faults(full_check(shop, folder))


def test_a_picture_without_its_digest_is_told(shop):
    folder, writer = shop.begin()
    shop.enter(writer, "photo", file="procedure.yaml", sha256="xyz")
    writer.close()
    assert "it should hold the file's SHA-256" in faults(full_check(shop, folder))


def test_what_was_set_aside_is_judged_and_said(shop):
    folder, writer = shop.begin()
    writer.close()
    with folder.log.open("ab") as file:
        file.write(b'{"torn')
    report = full_check(shop, folder)
    assert report.whole
    assert "the file ends in a torn fragment of 6 bytes" in doubts(report)[0]
    with LogWriter.open(folder.path) as again:
        shop.enter(again, "recovered", files=[a.as_data() for a in again.set_aside])
    report = full_check(shop, folder)
    assert report.whole
    assert "torn-1.bin was set aside after a kill or a disk fault" in doubts(report)
    torn = folder.path / "torn-1.bin"
    torn.chmod(0o644)
    torn.write_bytes(b"else")
    assert "torn-1.bin is not what was set aside" in faults(full_check(shop, folder))
    torn.unlink()
    report = full_check(shop, folder)
    assert report.whole
    assert "torn-1.bin is no longer there" in doubts(report)
