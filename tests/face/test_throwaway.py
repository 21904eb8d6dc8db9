"""The folders that `try` and a rehearsal throw away, keys and all, also when they are killed."""

import os
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from patience import PATIENCE_S

from benchrun.rehearse.throwaway import throwaway


def trying(temporary: Path) -> subprocess.Popen:
    command = [str(Path(sys.executable).with_name("benchrun")), "--plain", "try"]
    env = {**os.environ, "TMPDIR": str(temporary)}
    return subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=env, text=True
    )


def said(bench: subprocess.Popen, words: str) -> None:
    assert bench.stdout is not None
    while words not in (line := bench.stdout.readline()):
        assert line


def left(temporary: Path) -> list[Path]:
    return sorted(temporary.glob("benchrun-try-*"))


def test_the_keys_of_a_killed_try_are_taken_away_by_the_next_and_a_living_one_is_left(tmp_path):
    strange = tmp_path / "benchrun-try-not-ours"
    strange.mkdir(mode=0o755)
    (strange / "work").write_text("somebody's")
    # As an older program that lives, and holds no lock, has it.
    older = tmp_path / "benchrun-try-older"
    older.mkdir(mode=0o700)
    (older / "keys").mkdir()
    (older / "keys" / "station").write_text("a key in use")
    os.utime(older, (0, 0))
    living, killed = trying(tmp_path), trying(tmp_path)
    for bench in (living, killed):
        said(bench, "Everybody's passphrase")
    killed.send_signal(signal.SIGKILL)
    killed.wait()
    before = left(tmp_path)
    assert len(before) == 4
    keys = [path for path in tmp_path.rglob("keys/*") if path.is_file()]
    assert keys
    third = trying(tmp_path)
    third.communicate("\n", timeout=PATIENCE_S)
    after = left(tmp_path)
    assert len(after) == 3
    assert {strange, older} < set(after)
    assert living.poll() is None
    living.communicate("\n", timeout=PATIENCE_S)
    deadline = time.monotonic() + PATIENCE_S
    while left(tmp_path) != sorted([strange, older]) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert left(tmp_path) == sorted([strange, older])
    assert (older / "keys" / "station").read_text() == "a key in use"
    assert not (tmp_path / "state" / "registers").exists()


def test_it_lies_in_memory_for_its_owner_alone_or_where_the_user_says(tmp_path, monkeypatch):
    """In memory where this system has a folder there with room, else where all such folders lie."""
    for name in ("TMPDIR", "TEMP", "TMP"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(tempfile, "tempdir", None)
    memory = Path("/dev/shm")
    there = os.access(memory, os.W_OK) and shutil.disk_usage(memory).free >= 64 << 20
    with throwaway("trial") as place:
        assert place.parent == (memory if there else Path(tempfile.gettempdir()))
        assert stat.S_IMODE(place.stat().st_mode) == 0o700
    assert not place.exists()
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr(tempfile, "tempdir", None)
    with throwaway("trial") as place:
        assert place.parent == tmp_path
