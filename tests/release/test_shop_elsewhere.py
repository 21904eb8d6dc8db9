"""A shop copied, moved and restored: nothing lost, keys for their owner alone, records whole."""

import filecmp
import os
import shutil
import stat

import pytest

from benchrun.cli import main
from benchrun.errors import BenchrunError
from benchrun.record.clock import SystemClock
from benchrun.record.folder import RunFolder
from benchrun.session import take_up
from benchrun.shop.folder import open_shop
from benchrun.shop.people import read_people
from benchrun.shop_place import copy_shop, move_shop

COATS = "2026-05-09-brush-coats-coat"


@pytest.fixture
def shop(root, tmp_path):
    shop = shutil.copytree(root / "samples" / "shop", tmp_path / "shop")
    for key in (shop / "keys").iterdir():
        key.chmod(0o600)
    return open_shop(shop)


def same(one, other):
    found = filecmp.dircmp(one, other, ignore=[".lock"])
    unlike = [*found.left_only, *found.right_only, *found.diff_files, *found.funny_files]
    return not unlike and all(same(one / name, other / name) for name in found.common_dirs)


def whole(capsys, path):
    code = main(["--shop", str(path), "verify", "--all"])
    capsys.readouterr()
    return code == 0


def test_a_copy_is_like_the_shop_with_keys_for_their_owner_alone(shop, tmp_path, capsys):
    to = tmp_path / "stick" / "shop"
    words, sound = copy_shop(shop, to)
    assert sound
    assert "compared" in words
    assert "the register holds" in words
    assert same(shop.path, to)
    modes = {stat.S_IMODE(key.stat().st_mode) for key in (to / "keys").iterdir()}
    assert modes == {0o600}
    assert whole(capsys, to)


def test_a_shop_is_restored_from_its_copy_and_work_goes_on(shop, tmp_path, capsys):
    copy = tmp_path / "stick"
    copy_shop(shop, copy)
    shutil.rmtree(shop.path)
    assert main(["--shop", str(copy), "shop", "copy", str(shop.path)]) == 0
    assert whole(capsys, shop.path)
    restored = open_shop(shop.path)
    folder = RunFolder(restored.runs / COATS)
    take_up(restored, folder, read_people(restored)[0], SystemClock()).leave()
    assert whole(capsys, shop.path)


def test_an_older_copy_that_is_put_back_is_told(shop, tmp_path, capsys):
    copy = tmp_path / "stick"
    copy_shop(shop, copy)
    take_up(shop, RunFolder(shop.runs / COATS), read_people(shop)[0], SystemClock()).leave()
    shutil.rmtree(shop.path)
    code = main(["--shop", str(copy), "shop", "copy", str(shop.path)])
    out = capsys.readouterr().out
    assert code == 1
    assert "this machine saw entry" in out


def test_a_moved_shop_is_whole_at_its_new_place_and_gone_from_the_old(shop, tmp_path, capsys):
    before = copy_shop(shop, tmp_path / "before")[1]
    words, sound = move_shop(shop, tmp_path / "new" / "shop")
    assert before
    assert sound, words
    assert not shop.path.exists()
    assert same(tmp_path / "before", tmp_path / "new" / "shop")
    assert whole(capsys, tmp_path / "new" / "shop")


@pytest.mark.skipif(
    not os.path.ismount("/dev/shm") or not os.access("/dev/shm", os.W_OK),
    reason="needs another file system at /dev/shm",
)
def test_a_shop_moves_to_another_disk(shop, tmp_path, capsys):
    copy_shop(shop, tmp_path / "before")
    other = f"/dev/shm/{tmp_path.name}-{os.getpid()}"
    to = type(tmp_path)(other)
    try:
        assert move_shop(shop, to)[1]
        assert same(tmp_path / "before", to)
        assert whole(capsys, to)
        assert not shop.path.exists()
    finally:
        shutil.rmtree(to, ignore_errors=True)


def test_nothing_is_laid_over_what_is_there_or_into_the_shop_itself(shop, tmp_path):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine").write_text("x")
    for to in (tmp_path / "full", shop.path, shop.path / "copy"):
        for take in (copy_shop, move_shop):
            with pytest.raises(BenchrunError, match="name a folder"):
                take(shop, to)
    assert (tmp_path / "full" / "mine").read_text() == "x"
    (tmp_path / "empty").mkdir()
    assert copy_shop(shop, tmp_path / "empty")[1]


def test_a_shop_in_which_a_run_is_written_is_not_taken_away(shop, tmp_path):
    session = take_up(shop, RunFolder(shop.runs / COATS), read_people(shop)[0], SystemClock())
    try:
        for take in (copy_shop, move_shop):
            with pytest.raises(BenchrunError, match=f"a window writes the run {COATS}"):
                take(shop, tmp_path / "new")
    finally:
        session.leave()
    assert not (tmp_path / "new").exists()
    assert copy_shop(shop, tmp_path / "new")[1]


def test_a_damaged_register_is_copied_and_told(shop, tmp_path, capsys):
    register = shop.path / "register.jsonl"
    register.write_bytes(register.read_bytes().replace(b"opened", b"moaned", 1))
    assert main(["--shop", str(shop.path), "shop", "copy", str(tmp_path / "new")]) == 1
    assert "the register does not hold" in capsys.readouterr().out
    assert same(shop.path, tmp_path / "new")


def test_the_shop_says_what_to_back_up(shop, capsys):
    main(["--shop", str(shop.path), "shop"])
    assert "back up this whole folder, keys and all: benchrun shop copy DIR" in (
        capsys.readouterr().out
    )


READ_ONLY = """
mount --bind "$1" "$1" && mount -o remount,ro,bind "$1" && shift && exec "$@"
"""


@pytest.fixture
def read_only(benchrun, shop):
    """Runs the program where the shop's folder can only be read."""
    import subprocess

    unshare = shutil.which("unshare")
    if unshare is None:
        pytest.skip("needs unshare")
    first = [unshare, "-rm", "sh", "-c", READ_ONLY, "sh", str(shop.path)]
    if subprocess.run([*first, "true"], capture_output=True).returncode:
        pytest.skip("this user may make no mounts of its own")

    def run(*words, **more):
        command = [*first, benchrun, "--shop", str(shop.path), *words]
        return subprocess.run(command, capture_output=True, text=True, **more)

    return run


def test_a_shop_that_can_only_be_read_is_looked_at(read_only, tmp_path):
    for words in (["board"], ["history", "--part", "hub-l"], ["people"], ["verify", "--all"]):
        done = read_only(*words)
        assert (done.returncode, done.stderr) == (0, ""), words
        assert done.stdout
    done = read_only("--plain", "run", COATS, input="\n")
    assert done.returncode == 0
    assert "the run's log cannot be written" in done.stdout
    done = read_only("shop", "copy", str(tmp_path / "out"))
    assert done.returncode == 0


def test_the_screen_reads_along_in_a_shop_that_can_only_be_read(read_only, shop, benchrun):
    from pty_program import Program

    first = ["unshare", "-rm", "sh", "-c", READ_ONLY, "sh", shop.path]
    program = Program(*first, benchrun, "--shop", shop.path, "run", COATS)
    try:
        program.see("Esc to the board")
        program.type("*")
        program.see("cannot be written")
        program.type("\x1b")
        program.see("BEGIN", standing=True)
        program.type("\x11")
        program.see("nobody is called")
        program.type("\x11")
        assert program.ended() == 0
        assert program.terminal_is_as_it_was()
    finally:
        program.close()
