import hashlib
import threading

import pytest

from benchrun.errors import BenchrunError
from benchrun.record.clock import VirtualClock
from benchrun.record.durable import make_folder, write_file
from benchrun.record.folder import RunFolder, run_folders, run_name
from benchrun.record.keys import make_key
from benchrun.record.line import ZEROS
from benchrun.record.register import Register, StationSeal
from benchrun.record.register_log import RunState
from benchrun.record.trouble import Locked, NotKept, RecordBroken
from benchrun.record.writer import LogWriter

CLOCK = VirtualClock("2026-11-25T14:02:18.041Z")
NOW = CLOCK.now()


def state(run="r", n=0, head="a" * 64):
    return RunState(run, n, head)


def test_a_run_is_named_by_its_date_and_title():
    assert run_name("Hub bearing removal", NOW, "k3f9") == "2026-11-25-hub-bearing-removal-k3f9"
    names = {run_name("../../Ø ☃", NOW) for _ in range(50)}
    assert len(names) > 45
    assert all(name.startswith("2026-11-25-") and "/" not in name for name in names)


def test_a_new_run_folder_holds_the_procedure_and_room_for_the_rest(tmp_path):
    folder = RunFolder.create(tmp_path / "shop" / "runs", "Axle", NOW, b"id: axle\n", tag="k3f9")
    assert folder.run == "2026-11-25-axle-k3f9"
    assert sorted(p.name for p in folder.path.iterdir()) == ["photos", "procedure.yaml", "signers"]
    assert folder.procedure.read_bytes() == b"id: axle\n"
    assert folder.procedure_sha256() == hashlib.sha256(b"id: axle\n").hexdigest()
    assert folder.read_signers().signers == ()
    with pytest.raises(NotKept, match="already") as told:
        RunFolder.create(tmp_path / "shop" / "runs", "Axle", NOW, b"", tag="k3f9")
    assert not told.value.retry


def test_runs_of_one_day_never_get_one_name_however_few_names_there_are(tmp_path, monkeypatch):
    monkeypatch.setattr("benchrun.record.folder._TAG_LETTERS", "ab")
    made = [RunFolder.create(tmp_path, "Axle", NOW, b"").run for _ in range(16)]
    assert len(set(made)) == 2**4


def test_only_folders_with_a_log_are_runs(tmp_path):
    assert list(run_folders(tmp_path / "none")) == []
    made = [RunFolder.create(tmp_path, title, NOW, b"") for title in ("b", "a", "c")]
    (tmp_path / "notes").mkdir()
    for folder in made[:2]:
        folder.start_log().close()
    assert [f.run for f in run_folders(tmp_path)] == sorted(f.run for f in made[:2])


def test_a_log_is_started_opened_and_read_along(shop):
    folder, writer = shop.begin()
    assert [line.kind for line in folder.read().lines] == ["open", "seal"]
    with pytest.raises(Locked):
        folder.open_log()
    writer.close()
    with folder.open_log() as again:
        assert again.n == 2


def test_a_picture_is_copied_once_under_a_plain_name(tmp_path):
    folder = RunFolder.create(tmp_path / "runs", "axle", NOW, b"")
    picture = tmp_path / "Hub, links (1).JPG"
    picture.write_bytes(b"picture")
    digest = hashlib.sha256(b"picture").hexdigest()
    for _ in range(2):
        kept = folder.keep_photo(picture, unsure=True)
        assert kept.as_data() == {
            "file": f"photos/hub-links-1-{digest[:8]}.jpg",
            "sha256": digest,
            "bytes": 7,
        }
    assert (folder.path / kept.file).read_bytes() == b"picture"
    picture.write_bytes(b"another")
    folder.keep_photo(picture, unsure=True)
    assert len(list(folder.photos.iterdir())) == 2
    with pytest.raises(BenchrunError, match="no such file"):
        folder.keep_photo(tmp_path / "none.jpg")


def test_a_small_file_is_written_in_full_or_not_at_all(tmp_path, monkeypatch):
    path = tmp_path / "file"
    write_file(path, b"one", mode=0o600)
    assert path.stat().st_mode & 0o777 == 0o600
    with pytest.raises(NotKept, match="there already"):
        write_file(path, b"two", replace=False)

    def failing(fd):
        raise OSError(5, "Input/output error")

    with monkeypatch.context() as broken:
        broken.setattr("benchrun.record.durable.os.fsync", failing)
        with pytest.raises(NotKept, match="input/output error"):
            write_file(path, b"two")
    assert path.read_bytes() == b"one"
    assert [p.name for p in tmp_path.iterdir()] == ["file"]
    write_file(path, b"two")
    assert path.read_bytes() == b"two"


def test_a_folder_is_made_once(tmp_path):
    make_folder(tmp_path / "a")
    with pytest.raises(FileExistsError):
        make_folder(tmp_path / "a")
    with pytest.raises(NotKept):
        make_folder(tmp_path / "none" / "a")


@pytest.fixture
def sealing(tmp_path):
    """What seals a register: a station's key, apart from the shop's folder."""
    return StationSeal(make_key(tmp_path / "station", None), "station@museum-shed")


def test_the_register_chains_what_is_entered(tmp_path, sealing):
    register = Register(tmp_path, sealing)
    assert (register.head(), register.read().mentions) == (ZEROS, ())
    heads = [
        register.enter(NOW, "station", kind, state(n=n))
        for n, kind in enumerate(["opened", "marked", "closed"])
    ]
    assert register.head() == heads[-1]
    assert [line.head for line in register.read().lines] == heads
    assert [(m.n, m.kind, m.state.n) for m in register.read().mentions] == [
        (0, "opened", 0),
        (1, "marked", 1),
        (2, "closed", 2),
    ]
    with pytest.raises(ValueError, match="not one of"):
        register.enter(NOW, "station", "lost", state())


def test_two_windows_can_enter_at_once(tmp_path, sealing):
    def enter():
        for n in range(20):
            Register(tmp_path, sealing).enter(NOW, "station", "marked", state(n=n))

    threads = [threading.Thread(target=enter) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(Register(tmp_path, sealing).read().lines) == 80


def test_the_register_waits_for_its_lock_only_so_long(tmp_path, sealing, monkeypatch):
    register = Register(tmp_path, sealing)
    register.enter(NOW, "station", "opened", state())
    monkeypatch.setattr("benchrun.record.register._WAIT_MS", 30)
    with (
        LogWriter.open(tmp_path, register.path.name),
        pytest.raises(Locked, match="another window"),
    ):
        register.enter(NOW, "station", "closed", state())


def test_a_torn_register_is_mended_and_says_so(tmp_path, sealing):
    register = Register(tmp_path, sealing)
    register.enter(NOW, "station", "opened", state())
    with register.path.open("ab") as file:
        file.write(b'{"at"')
    register.enter(NOW, "station", "closed", state(n=9))
    assert [line.kind for line in register.read().lines] == ["opened", "recovered", "closed"]
    assert (tmp_path / "torn-1.bin").read_bytes() == b'{"at"'


def test_a_damaged_register_is_refused_with_its_line(tmp_path, sealing):
    register = Register(tmp_path, sealing)
    for n in range(3):
        register.enter(NOW, "station", "marked", state(n=n))
    raw = register.path.read_bytes()
    register.path.write_bytes(raw.replace(b'"n":1,"run"', b'"n":7,"run"'))
    for use in (register.head, lambda: register.enter(NOW, "s", "closed", state())):
        with pytest.raises(RecordBroken, match=r"register.jsonl entry 2"):
            use()


def test_the_register_and_a_log_are_compared(tmp_path, sealing):
    register = Register(tmp_path, sealing)
    register.enter(NOW, "station", "opened", state(n=0, head="a" * 64))
    register.enter(NOW, "station", "opened", state(run="other", n=0, head="f" * 64))
    register.enter(NOW, "station", "closed", state(n=5, head="b" * 64))
    read = register.read()
    assert read.disagreements("r", {0: "a" * 64, 5: "b" * 64}) == []
    assert read.disagreements("unknown", {}) == []
    rolled_back = read.disagreements("r", {0: "a" * 64})
    assert rolled_back == [
        "entry 2 of the shop's register says it was closed with entry 5, "
        "which the log no longer has"
    ]
    assert "another entry 0" in read.disagreements("r", {0: "c" * 64, 5: "b" * 64})[0]
    assert read.knows_head(ZEROS)
    assert read.knows_head(read.lines[1].head)
    assert not read.knows_head("e" * 64)


def test_a_register_in_a_folder_that_cannot_be_written_is_told(tmp_path, sealing):
    with pytest.raises(NotKept, match="can its folder be written"):
        Register(tmp_path / "none", sealing).enter(NOW, "station", "opened", state())
