"""Real kills: each test with a control that shows it can fail."""

import os
import random
import signal
from collections.abc import Callable
from pathlib import Path

import pytest
from processes import CLOCK, entry, forked, missing, read_all, read_some

from benchrun.record.chain import read_log
from benchrun.record.trouble import RecordBroken
from benchrun.record.writer import RECOVERED, LogWriter


def honest(folder: Path, pipe: int) -> None:
    with LogWriter.open(folder) as writer:
        if writer.set_aside:
            files = [aside.as_data() for aside in writer.set_aside]
            writer.append(CLOCK.now(), "station", RECOVERED, {"files": files})
        while True:
            entry(writer)
            os.write(pipe, f"{writer.n - 1} {writer.head}\n".encode())


def boaster(folder: Path, pipe: int) -> None:
    """A writer that calls an entry kept before it is: what the test must find out."""
    with LogWriter.open(folder) as writer:
        while True:
            os.write(pipe, f"{writer.n} unknown\n".encode())
            entry(writer)


def kill_and_look(folder: Path, child: Callable[[Path, int], None], chance: random.Random) -> int:
    """Kill a writer at some moment; how many of its acknowledged entries are missing."""
    pid, pipe = forked(lambda theirs: child(folder, theirs))
    said = read_some(pipe, chance.randint(1, 2000))
    for _ in range(chance.randint(0, 3000)):
        pass
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return missing(said + read_all(pipe), read_log(folder / "log.jsonl").lines)


def kills(folder: Path, times: int) -> None:
    chance = random.Random(11)
    LogWriter.create(folder).close()
    for _ in range(times):
        assert kill_and_look(folder, honest, chance) == 0
    with LogWriter.open(folder) as writer:
        assert writer.n > times
        entry(writer)  # and the run can go on


def test_what_was_acknowledged_is_there_after_every_kill(tmp_path):
    kills(tmp_path, 60)


@pytest.mark.long
@pytest.mark.timeout(900)
def test_what_was_acknowledged_is_there_after_a_thousand_kills(tmp_path):
    kills(tmp_path, 1000)


def test_a_writer_that_boasts_is_found_out_by_the_same_test(tmp_path):
    LogWriter.create(tmp_path).close()
    chance = random.Random(11)
    assert sum(kill_and_look(tmp_path, boaster, chance) for _ in range(20)) > 0


def garbage(chance: random.Random) -> bytes:
    """What may stand in the rest of a block after a power cut, without the end of a line."""
    return chance.randbytes(chance.randint(1, 700)).replace(b"\n", b"?")


def test_a_kill_between_any_two_bytes_loses_nothing_acknowledged(tmp_path):
    """Every length that a kill or a power cut can leave the last write at, with stale bytes."""
    LogWriter.create(tmp_path).close()
    with LogWriter.open(tmp_path) as writer:
        raws = [entry(writer) for _ in range(4)]
    kept, last = b"".join(raws[:-1]), raws[-1]
    chance = random.Random(23)
    for length in range(1, len(last)):
        for tail in (b"", b"\0" * 9, garbage(chance)):
            (tmp_path / "log.jsonl").unlink()  # cut to nothing, it would wait for its disk
            (tmp_path / "log.jsonl").write_bytes(kept + last[:length] + tail)
            with LogWriter.open(tmp_path) as writer:
                assert writer.n == 3
                assert writer.path.read_bytes() == kept
                assert writer.set_aside[-1].size is not None
            for torn in tmp_path.glob("torn-*"):
                torn.unlink()


def test_garbage_that_holds_an_end_of_line_is_refused_and_nothing_is_cut_off(tmp_path):
    """Whole lines may be somebody's work, so only a fragment without its LF is set aside."""
    LogWriter.create(tmp_path).close()
    with LogWriter.open(tmp_path) as writer:
        raws = [entry(writer) for _ in range(3)]
    chance = random.Random(29)
    for length in range(1, len(raws[-1]), 5):
        damaged = b"".join(raws[:-1]) + raws[-1][:length] + garbage(chance) + b"\n" + b"x"
        (tmp_path / "log.jsonl").write_bytes(damaged)
        with pytest.raises(RecordBroken, match="entry 2"):
            LogWriter.open(tmp_path)
        assert (tmp_path / "log.jsonl").read_bytes() == damaged
        assert list(tmp_path.glob("torn-*")) == []
