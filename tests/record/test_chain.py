import hashlib
import json
import random
from itertools import pairwise

import pytest

from benchrun.record.chain import Chain, ReadLog, read_log
from benchrun.record.follow import ReadAlong
from benchrun.record.line import ZEROS, encode
from benchrun.record.trouble import RecordBroken
from benchrun.record.writer import LogWriter


@pytest.fixture
def log(shop):
    folder, writer = shop.begin()
    for number in range(6):
        shop.enter(writer, "do", step=f"step-{number}")
    writer.close()
    return folder.log


def test_each_line_holds_the_digest_of_the_one_before(log):
    read = read_log(log)
    assert read.lines[0].prev == ZEROS
    for before, after in pairwise(read.lines):
        assert after.prev == before.head == hashlib.sha256(before.raw).hexdigest()
    assert read.head == read.lines[-1].head
    assert b"".join(line.raw for line in read.lines) == log.read_bytes()


def test_a_prefix_is_digested_as_the_file_has_it(log):
    read, raw = read_log(log), log.read_bytes()
    for n in range(len(read.lines) + 1):
        prefix = b"".join(raw.splitlines(keepends=True)[:n])
        assert read.prefix_digest(n) == hashlib.sha512(prefix).digest()
        assert read.prefix_digest(n, "sha256") == hashlib.sha256(prefix).digest()


def came_to(log, known):
    """What reading comes to: the lines and the tail, or the refusal in words."""
    try:
        read = read_log(log, known)
    except RecordBroken as error:
        return error.n, error.message
    return list(read.lines), read.torn_tail


def test_a_log_that_was_read_before_is_judged_alike_whatever_became_of_it(log):
    raw, known = log.read_bytes(), read_log(log)
    lines = raw.splitlines(keepends=True)
    changes = [raw, b"", raw[:-1], raw[:-9], raw + lines[-1], raw + b"{}\n", raw + b"torn"]
    changes += [b"".join(lines[:at] + lines[at + 1 :]) for at in range(len(lines))]
    changes += [b"".join([*lines[:at], lines[0], *lines[at:]]) for at in range(len(lines))]
    changes += [raw[:at] + b"0" + raw[at + 1 :] for at in range(0, len(raw), 3)]
    for changed in changes:
        log.write_bytes(changed)
        assert came_to(log, known) == came_to(log, None)


def test_lines_that_were_read_before_are_not_proven_again(log, monkeypatch):
    known = read_log(log)
    with LogWriter.open(log.parent) as writer:
        raw = writer.append(known.lines[-1].at, "ann@shop", "note", {})
    proven = []
    take = Chain.take
    monkeypatch.setattr(
        Chain, "take", lambda chain, line: (proven.append(line), take(chain, line))[1]
    )
    assert len(read_log(log, known).lines) == len(known.lines) + 1
    assert proven == [raw]


def test_an_empty_file_is_a_log_without_lines(tmp_path):
    path = tmp_path / "log.jsonl"
    path.write_bytes(b"")
    assert read_log(path) == ReadLog("log.jsonl", [])
    assert read_log(path).head == ZEROS


@pytest.mark.parametrize("tail", [b"", b"\0" * 7, b"\xff\xfe{", b'{"n":', b"x" * 5000])
def test_every_cut_leaves_the_whole_lines_and_a_torn_tail(log, tmp_path, tail):
    raw = log.read_bytes()
    ends = [i + 1 for i, byte in enumerate(raw) if byte == 10]
    cut = tmp_path / "cut.jsonl"
    for length in range(len(raw)):
        cut.write_bytes(raw[:length] + tail)
        read = read_log(cut)
        whole = sum(end <= length for end in ends)
        torn = raw[ends[whole - 1] if whole else 0 : length] + tail
        assert len(read.lines) == whole
        assert read.torn_tail == (torn or None)


def test_garbage_that_ends_its_line_is_refused_with_its_place(log):
    raw = log.read_bytes()
    for tail in (b"\n", b"x\n", b"{}\n", raw.splitlines(keepends=True)[-1]):
        log.write_bytes(raw + tail)
        with pytest.raises(RecordBroken) as told:
            read_log(log)
        assert told.value.n == raw.count(b"\n")
        assert f"entry {told.value.n}:" in told.value.message


def test_a_changed_line_is_told_by_the_one_after_it(log):
    lines = log.read_bytes().splitlines(keepends=True)
    for at in range(2, len(lines) - 1):
        changed = [*lines[:at], lines[at].replace(b"step-", b"stop-"), *lines[at + 1 :]]
        log.write_bytes(b"".join(changed))
        with pytest.raises(RecordBroken) as told:
            read_log(log)
        assert told.value.n == at + 1
    log.write_bytes(b"".join(lines))
    assert len(read_log(log).lines) == len(lines)  # the control: unchanged, it reads


def test_lines_chained_anew_without_one_between_are_told(log):
    """Whoever can write the file can chain it anew; the numbers still tell what is missing."""
    kept = [json.loads(line) for line in log.read_bytes().splitlines()]
    del kept[3]
    raw, head = b"", ZEROS
    for line in kept:
        chained = encode({**line, "prev": head})
        raw, head = raw + chained, hashlib.sha256(chained).hexdigest()
    log.write_bytes(raw)
    with pytest.raises(RecordBroken, match="its number is 4, should be 3") as told:
        read_log(log)
    assert told.value.n == 3


def test_a_line_that_never_ends_is_refused_without_reading_it_all(tmp_path):
    path = tmp_path / "log.jsonl"
    path.write_bytes(b"x" * 3_000_000)
    with pytest.raises(RecordBroken, match="entry 0: it does not end"):
        read_log(path)


def test_a_loose_line_in_a_whole_chain_is_refused(shop, tmp_path):
    first = shop.clock.now().as_data()
    loose = encode({"at": first, "by": "a", "data": {}, "kind": "open", "n": 0, "prev": ZEROS})
    path = tmp_path / "log.jsonl"
    path.write_bytes(loose)
    assert len(read_log(path).lines) == 1
    path.write_bytes(loose.replace(b'"data":{}', b'"data": {}'))
    with pytest.raises(RecordBroken, match="canonical"):
        read_log(path)
    with pytest.raises(RecordBroken, match="canonical"):
        LogWriter.open(tmp_path)


def test_a_file_that_cannot_be_read_is_told_as_such(tmp_path):
    with pytest.raises(RecordBroken, match="no such file") as told:
        read_log(tmp_path / "none.jsonl")
    assert told.value.exit_code == 2


def test_a_second_window_sees_lines_as_they_come(shop):
    folder, writer = shop.begin()
    with ReadAlong(folder.log) as along:
        seen = along.more()
        assert [line.kind for line in seen] == ["open", "seal"]
        assert along.more() == []
        for number in range(5):
            shop.enter(writer, "do", step=f"step-{number}")
            seen += along.more()
        assert [line.n for line in seen] == list(range(7))
        assert seen[-1].head == writer.head


def test_a_second_window_waits_for_the_rest_of_a_line(log, tmp_path):
    raw = log.read_bytes()
    path = tmp_path / "growing.jsonl"
    path.write_bytes(b"")
    chance = random.Random(5)
    at = seen = 0
    with ReadAlong(path) as along:
        while at < len(raw):
            at += chance.randint(1, 90)
            path.write_bytes(raw[:at])
            seen += len(along.more())
            assert seen == raw[:at].count(b"\n")
        path.write_bytes(raw[:-200])
        with pytest.raises(RecordBroken, match="shorter"):
            along.more()


def test_a_second_window_follows_a_log_that_moved_to_a_new_file(shop, monkeypatch):
    folder, writer = shop.begin()
    with ReadAlong(folder.log) as along:
        along.more()
        _fail_next_fsync(monkeypatch)
        shop.enter(writer, "do", step="lift-hub")
        assert [line.data for line in along.more()] == [{"step": "lift-hub"}]


def _fail_next_fsync(monkeypatch):
    import os

    real, left = os.fsync, [1]

    def failing(fd):
        if left:
            left.pop()
            raise OSError(5, "Input/output error")
        real(fd)

    monkeypatch.setattr("benchrun.record.durable.os.fsync", failing)


def test_read_along_survives_a_writer_that_opens_again(shop):
    folder, writer = shop.begin()
    with ReadAlong(folder.log) as along:
        along.more()
        writer.close()
        with LogWriter.open(folder.path) as again:
            shop.enter(again, "do", step="x")
        assert len(along.more()) == 1
