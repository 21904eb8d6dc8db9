import hashlib
import os
import shutil

import pytest

from benchrun.errors import BenchrunError
from benchrun.record.chain import read_log
from benchrun.record.line import MOST_BYTES, ZEROS
from benchrun.record.trouble import Locked, NotKept, RecordBroken
from benchrun.record.writer import LogWriter


@pytest.fixture
def writer(shop, tmp_path):
    folder = tmp_path / "run"
    folder.mkdir()
    with LogWriter.create(folder) as made:
        yield made


def fail(monkeypatch, name, *, times=1, code=5, said="Input/output error"):
    """Let the next calls of one of the disk's functions fail, then work again."""
    module = "benchrun.record.durable" if name == "fsync" else "benchrun.record.writer"
    real, left = getattr(os, name), [None] * times

    def failing(*args):
        if left:
            left.pop()
            raise OSError(code, said)
        return real(*args)

    monkeypatch.setattr(f"{module}.os.{name}", failing)
    return left


def add(shop, writer, count=1):
    return [shop.enter(writer, "do", step=f"step-{writer.n}") for _ in range(count)]


def test_a_new_log_has_no_lines(writer):
    assert (writer.n, writer.head, writer.size) == (0, ZEROS, 0)
    assert writer.prefix_digest() == hashlib.sha512(b"").digest()


def test_what_append_returns_is_in_the_file(shop, writer):
    raws = add(shop, writer, 5)
    assert writer.path.read_bytes() == b"".join(raws)
    assert writer.n == 5
    assert writer.head == hashlib.sha256(raws[-1]).hexdigest()
    assert writer.prefix_digest() == hashlib.sha512(b"".join(raws)).digest()
    assert [line.raw for line in read_log(writer.path).lines] == raws


def test_every_append_reaches_the_disk_before_it_returns(shop, writer, monkeypatch):
    synced = []
    real = os.fsync
    monkeypatch.setattr(
        "benchrun.record.durable.os.fsync",
        lambda fd: (synced.append(os.fstat(fd).st_size), real(fd)),
    )
    for _ in range(3):
        add(shop, writer)
        assert synced[-1] == writer.size
    assert len(synced) == 3


def test_a_log_goes_on_where_it_ended(shop, writer):
    raws = add(shop, writer, 3)
    digest = writer.prefix_digest()
    writer.close()
    with LogWriter.open(writer.folder) as again:
        assert (again.n, again.size) == (3, sum(map(len, raws)))
        assert again.prefix_digest() == digest
        assert [line.raw for line in again.found.lines] == raws
        assert again.set_aside == []
        add(shop, again)
    assert len(read_log(writer.path).lines) == 4


def test_a_log_without_lines_can_be_opened_again(shop, writer):
    writer.close()
    with LogWriter.open(writer.folder) as again:
        assert again.n == 0
        add(shop, again)


def test_there_is_never_a_second_writer(shop, writer):
    with pytest.raises(Locked, match="another window"):
        LogWriter.open(writer.folder)
    with pytest.raises(NotKept, match="there already"):
        LogWriter.create(writer.folder)
    writer.close()
    LogWriter.open(writer.folder).close()  # the control: once it is let go of, it opens


def test_a_closed_writer_writes_nothing(shop, writer):
    writer.close()
    with pytest.raises(NotKept, match="is closed"):
        add(shop, writer)
    writer.close()


def test_a_missing_log_is_told(tmp_path):
    with pytest.raises(RecordBroken, match="is missing"):
        LogWriter.open(tmp_path)


def test_a_folder_that_is_not_there_is_told(tmp_path):
    with pytest.raises(NotKept, match="no such file"):
        LogWriter.create(tmp_path / "none")


@pytest.mark.parametrize(
    "data", [{"value": 25.43}, {"note": "\udcff"}, {"n": 2**60}, {1: "x"}, {"x": "y" * (1 << 20)}]
)
def test_an_entry_that_no_line_can_hold_is_refused_and_the_log_goes_on(shop, writer, data):
    add(shop, writer)
    before = writer.path.read_bytes()
    with pytest.raises(BenchrunError, match="entry 1 is not kept"):
        writer.append(shop.clock.now(), "ann", "note", data)
    assert writer.path.read_bytes() == before
    add(shop, writer)
    with pytest.raises(BenchrunError, match="kind"):
        writer.append(shop.clock.now(), "ann", "Not A Kind", {})


def test_a_full_disk_is_cut_back_and_the_entry_may_be_tried_again(shop, writer, monkeypatch):
    raws = add(shop, writer, 2)
    fail(monkeypatch, "pwrite", code=28, said="No space left on device")
    with pytest.raises(NotKept, match=r"no space left.*try again") as told:
        add(shop, writer)
    assert told.value.retry
    assert writer.path.read_bytes() == b"".join(raws)
    assert writer.n == 2
    assert add(shop, writer) == [read_log(writer.path).lines[2].raw]


def test_a_short_write_is_cut_back(shop, writer, monkeypatch):
    raws = add(shop, writer, 2)
    real, left = os.pwrite, [1]

    def short(fd, raw, at):
        return real(fd, raw[:40] if left and left.pop() else raw, at)

    monkeypatch.setattr("benchrun.record.writer.os.pwrite", short)
    with pytest.raises(NotKept, match="only 40 of") as told:
        add(shop, writer)
    assert told.value.retry
    assert writer.path.read_bytes() == b"".join(raws)
    add(shop, writer)
    assert len(read_log(writer.path).lines) == 3


def test_a_failed_fsync_moves_the_log_to_a_new_file(shop, writer, monkeypatch):
    raws = add(shop, writer, 3)
    old = writer.path.stat().st_ino
    fail(monkeypatch, "fsync")
    raws += add(shop, writer)
    assert writer.path.stat().st_ino != old
    assert writer.path.read_bytes() == b"".join(raws)
    failed = writer.folder / "log.jsonl.failed-1"
    assert failed.stat().st_ino == old
    assert [aside.file for aside in writer.set_aside] == [failed.name]
    assert not writer.set_aside[0].torn
    raws += add(shop, writer)
    assert writer.path.read_bytes() == b"".join(raws)
    assert writer.prefix_digest() == hashlib.sha512(b"".join(raws)).digest()


def test_an_fsync_that_failed_is_never_tried_again_on_that_file(shop, writer, monkeypatch):
    add(shop, writer)
    synced, real, left = [], os.fsync, [1]

    def watched(fd):
        inode = os.fstat(fd).st_ino
        synced.append(inode)
        if left:
            left.pop()
            raise OSError(5, "Input/output error")
        real(fd)

    ended = writer.path.stat().st_ino
    monkeypatch.setattr("benchrun.record.durable.os.fsync", watched)
    add(shop, writer, 3)
    assert synced.count(ended) == 1
    assert len(synced) > 3


def test_the_new_file_is_locked_too(shop, writer, monkeypatch):
    add(shop, writer)
    fail(monkeypatch, "fsync")
    add(shop, writer)
    with pytest.raises(Locked):
        LogWriter.open(writer.folder)


def test_a_disk_that_fails_for_good_ends_the_log_with_its_proven_lines(shop, writer, monkeypatch):
    raws = add(shop, writer, 3)
    fail(monkeypatch, "fsync", times=100)
    with pytest.raises(NotKept, match="sound disk") as told:
        add(shop, writer)
    assert not told.value.retry
    with pytest.raises(NotKept, match="is ended"):
        add(shop, writer)
    monkeypatch.undo()
    assert writer.path.read_bytes() == b"".join(raws)
    assert sorted(p.name for p in writer.folder.iterdir()) == ["log.jsonl"]
    writer.close()
    with LogWriter.open(writer.folder) as again:
        assert again.n == 3


def test_a_disk_that_gives_the_log_back_changed_is_not_believed(shop, writer, monkeypatch):
    raws = add(shop, writer, 3)
    with writer.path.open("r+b") as file:
        file.seek(len(raws[0]) + 5)
        file.write(b"#")
    fail(monkeypatch, "fsync")
    with pytest.raises(NotKept, match="gives the proven entries back changed"):
        add(shop, writer)


def test_a_log_moves_where_there_are_no_hard_links(shop, writer, monkeypatch):
    raws = add(shop, writer, 3)

    def refuse(self, target):
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr("pathlib.Path.hardlink_to", refuse)
    fail(monkeypatch, "fsync")
    raws += add(shop, writer)
    assert writer.path.read_bytes() == b"".join(raws)
    assert (writer.folder / "log.jsonl.failed-1").read_bytes() == b"".join(raws)


def test_the_last_line_is_proven_again_on_opening(shop, writer, monkeypatch):
    raws = add(shop, writer, 3)
    writer.close()
    left = fail(monkeypatch, "fsync")
    with LogWriter.open(writer.folder) as again:
        assert left == []  # it did ask the disk, which failed once
        assert again.path.read_bytes() == b"".join(raws)
        assert [aside.file for aside in again.set_aside] == ["log.jsonl.failed-1"]
        add(shop, again)


def test_opening_on_a_failing_disk_takes_nothing_away(shop, writer, monkeypatch):
    raws = add(shop, writer, 3)
    writer.close()
    for name in ("fsync", "pwrite"):
        with monkeypatch.context() as broken:
            fail(broken, name, times=100)
            with pytest.raises(NotKept, match="cannot be opened"):
                LogWriter.open(writer.folder)
        assert writer.path.read_bytes() == b"".join(raws)


def test_a_torn_fragment_is_set_aside_and_named_until_it_is_entered(shop, writer):
    raws = add(shop, writer, 3)
    writer.close()
    fragment = raws[-1][:50]
    with writer.path.open("ab") as file:
        file.write(fragment)
    for _ in range(2):  # a kill before it is entered loses neither it nor its name
        with LogWriter.open(writer.folder) as again:
            aside = again.set_aside[0]
            assert aside.as_data() == {
                "file": "torn-1.bin",
                "sha256": hashlib.sha256(fragment).hexdigest(),
                "bytes": 50,
            }
            assert aside.torn
            assert (again.folder / aside.file).read_bytes() == fragment
            assert again.path.read_bytes() == b"".join(raws)
    with LogWriter.open(writer.folder) as again:
        shop.enter(again, "recovered", files=[a.as_data() for a in again.set_aside])
        assert again.set_aside == []
    with LogWriter.open(writer.folder) as again:
        assert (again.n, again.set_aside) == (4, [])


def test_a_kill_before_the_fragment_was_cut_off_does_not_keep_it_twice(shop, writer):
    add(shop, writer, 2)
    writer.close()
    whole = writer.path.read_bytes()
    for tail in (b'{"at"', b'{"at"', b"other"):
        writer.path.write_bytes(whole + tail)
        LogWriter.open(writer.folder).close()
    assert sorted(p.name for p in writer.folder.glob("torn-*")) == ["torn-1.bin", "torn-2.bin"]


def test_a_kill_while_the_log_was_moved_leaves_one_log(shop, writer):
    raws = add(shop, writer, 2)
    writer.close()
    (writer.folder / "log.jsonl.failed-1").hardlink_to(writer.path)
    (writer.folder / ".log.jsonl.new.draft").write_bytes(b"half of it")
    with LogWriter.open(writer.folder) as again:
        assert again.set_aside == []
        assert again.path.read_bytes() == b"".join(raws)
    assert not (writer.folder / "log.jsonl.failed-1").exists()


def test_damage_elsewhere_is_refused_with_its_line_and_nothing_is_touched(shop, writer):
    add(shop, writer, 4)
    writer.close()
    damaged = writer.path.read_bytes().replace(b"step-1", b"step-9")
    writer.path.write_bytes(damaged + b"torn")
    with pytest.raises(RecordBroken, match="entry 2"):
        LogWriter.open(writer.folder)
    assert writer.path.read_bytes() == damaged + b"torn"
    assert [p.name for p in writer.folder.iterdir()] == ["log.jsonl"]


@pytest.mark.parametrize("how", ["appended", "cut", "deleted", "replaced"])
def test_a_log_that_something_else_touched_is_not_written_any_more(shop, writer, how):
    raws = add(shop, writer, 2)
    if how == "appended":
        with writer.path.open("ab") as file:
            file.write(b"\n")
    elif how == "cut":
        os.truncate(writer.path, 10)
    elif how == "deleted":
        writer.path.unlink()
    else:
        other = writer.folder / "other"
        shutil.copy(writer.path, other)
        other.replace(writer.path)
    with pytest.raises(NotKept, match="while it was open") as told:
        add(shop, writer)
    assert not told.value.retry
    if how == "replaced":
        assert writer.path.read_bytes() == b"".join(raws)


def test_a_line_that_is_too_long_is_told_before_the_disk_is_asked(shop, writer):
    with pytest.raises(BenchrunError, match="too long"):
        writer.append(shop.clock.now(), "ann", "note", {"said": "x" * MOST_BYTES})
    assert (writer.n, writer.size) == (0, 0)
