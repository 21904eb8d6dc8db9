"""Two programs that write at once lose nothing, and a change is there in full or not at all."""

import datetime as dt
import os
import signal
import subprocess
import sys
import textwrap
import threading

import pytest
from patience import PATIENCE_S

from benchrun.errors import BenchrunError
from benchrun.record.keys import read_key_file
from benchrun.record.signers import principal_of, read_signers
from benchrun.shop.file_writer import LOCK_NAME, put_file, shop_lock
from benchrun.shop.movements import enter_in_book
from benchrun.shop.people import read_people
from benchrun.shop.row_editor import add_row, change_row
from benchrun.shop.supplies import SUPPLIES, read_supplies
from benchrun.shop.vessels import VESSELS, read_vessels

DAY = dt.date(2026, 3, 10)
BOOK = """\
import sys, datetime
from pathlib import Path
from benchrun.shop.movements import enter_in_book
from benchrun.shop.folder import open_shop
from benchrun.shop.row_editor import add_row
from benchrun.shop.vessels import VESSELS
shop, who = open_shop(Path(sys.argv[1])), sys.argv[2]
print("ready", flush=True)
sys.stdin.readline()
for number in range(int(sys.argv[3])):
    enter_in_book(shop, "paint", "used", "1 ml", datetime.date(2026, 3, 10), why=f"{who} {number}")
    add_row(shop.path, VESSELS, {"id": f"{who}-{number}", "name": "rail"})
    print(number, flush=True)
"""


@pytest.fixture
def paint(shop):
    add_row(shop.path, SUPPLIES, {"id": "paint", "name": "paint", "amount": "1 l"})
    return shop


def writer(shop, who, count):
    return subprocess.Popen(
        [sys.executable, "-c", BOOK, str(shop.path), who, str(count)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )


def let_go(*writers):
    """Let them write, once all have come so far: none has the file to itself by starting first."""
    for one in writers:
        assert one.stdout.readline() == b"ready\n"
    for one in writers:
        one.stdin.write(b"go\n")
        one.stdin.flush()


def test_two_programs_at_once_lose_nothing(paint):
    count = 25
    both = [writer(paint, who, count) for who in ("left", "right")]
    let_go(*both)
    for one in both:
        one.communicate(timeout=PATIENCE_S)
        assert one.returncode == 0
    book = read_supplies(paint).named("paint").book
    assert sorted(line.why for line in book) == sorted(
        f"{who} {number}" for who in ("left", "right") for number in range(count)
    )
    assert read_supplies(paint).named("paint").left.words == "950 ml"
    assert len(read_vessels(paint).rows) == 2 * count


def test_without_the_lock_something_is_lost(paint, monkeypatch):
    """The control: the same writing without taking turns does lose lines, or is refused."""
    from contextlib import nullcontext

    monkeypatch.setattr("benchrun.shop.row_editor.shop_lock", lambda _folder: nullcontext())
    refused = []
    gate = threading.Barrier(4)

    def work(who):
        gate.wait()
        for number in range(10):
            try:
                change_row(paint.path, SUPPLIES, "paint", {"note": f"{who} {number}"})
            except (BenchrunError, OSError) as error:
                refused.append(error)

    rounds = 0
    while not refused and rounds < 8:  # that they come in between each other is chance
        threads = [threading.Thread(target=work, args=(who,)) for who in range(4)]
        for one in threads:
            one.start()
        for one in threads:
            one.join()
        rounds += 1
    assert refused


def test_a_killed_writer_leaves_a_whole_file_and_no_lock(paint):
    for _ in range(6):
        one = writer(paint, f"w{os.urandom(3).hex()}", 1000)
        let_go(one)
        one.stdout.readline()
        one.stdout.readline()
        os.kill(one.pid, signal.SIGKILL)
        one.communicate()
        sheet = read_supplies(paint)
        assert sheet.faults == ()
        before = len(sheet.named("paint").book)
        enter_in_book(paint, "paint", "used", "1 ml", DAY)
        assert len(read_supplies(paint).named("paint").book) == before + 1


def test_somebody_who_holds_the_files_too_long_is_told_of(paint, monkeypatch):
    monkeypatch.setattr("benchrun.shop.file_writer._WAIT_S", 0.05)
    code = textwrap.dedent(
        """
        import sys
        from pathlib import Path
        from benchrun.shop.file_writer import shop_lock
        with shop_lock(Path(sys.argv[1])):
            print("held", flush=True)
            sys.stdin.read()
        """
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", code, str(paint.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    try:
        assert holder.stdout.readline() == b"held\n"
        with pytest.raises(BenchrunError, match="another program is writing"):
            add_row(paint.path, VESSELS, {"id": "rail", "name": "rail"})
    finally:
        holder.communicate()
    add_row(paint.path, VESSELS, {"id": "rail", "name": "rail"})


def test_the_lock_may_be_taken_again_inside(paint):
    with shop_lock(paint.path), shop_lock(paint.path):
        add_row(paint.path, VESSELS, {"id": "rail", "name": "rail"})
    assert (paint.path / LOCK_NAME).exists()


def test_what_an_editor_saved_meanwhile_is_not_overwritten(paint):
    path = paint.path / "vessels.yaml"
    before = path.read_bytes()
    path.write_text("vessels:\n  - {id: tub, name: tub}\n")
    with pytest.raises(BenchrunError, match="changed by somebody else just now"):
        put_file(path, b"vessels: []\n", before)
    assert "id: tub" in path.read_text()
    assert [one.name for one in paint.path.iterdir() if one.name.endswith(".draft")] == []


def test_a_full_disk_leaves_the_old_file(paint, monkeypatch):
    path = paint.path / "vessels.yaml"
    before = path.read_bytes()

    def full(_number):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("benchrun.shop.file_writer.os.fsync", full)
    with pytest.raises(BenchrunError, match=r"vessels\.yaml cannot be written: no space left"):
        add_row(paint.path, VESSELS, {"id": "rail", "name": "rail"})
    assert path.read_bytes() == before
    assert [one.name for one in paint.path.iterdir() if one.name.endswith(".draft")] == []


def test_a_row_that_was_added_twice_at_once_is_there_once(paint):
    add_row(paint.path, VESSELS, {"id": "rail", "name": "rail"})
    with pytest.raises(BenchrunError, match="there is a vessel rail already"):
        add_row(paint.path, VESSELS, {"id": "rail", "name": "other"})
    assert [one.name for one in read_vessels(paint).rows] == ["rail"]


PEOPLE = """\
import sys
import time
from pathlib import Path
from benchrun.record import keys
from benchrun.shop import file_writer
from benchrun.signing_keys import enrol
from benchrun.record.clock import SystemClock
from benchrun.shop.folder import open_shop
keys._ROUNDS = 1
file_writer._WAIT_S = 100.0  # on a busy machine the other's turn may take longer than usual
shop = open_shop(Path(sys.argv[1]))
for number in range(4):
    enrol(shop, f"{sys.argv[2]} {number}", SystemClock().now(), passphrase="word")
    time.sleep(0.05)  # nobody is taken on in no time: the other comes in between
"""


def test_two_programs_that_take_people_on_at_once_lose_nobody_and_no_key(shop):
    both = [
        subprocess.Popen([sys.executable, "-c", PEOPLE, str(shop.path), who])
        for who in ("Left", "Right")
    ]
    for one in both:
        assert one.wait(PATIENCE_S) == 0
    people = read_people(shop)
    assert sorted(one.name for one in people) == sorted(
        f"{who} {number}" for who in ("Left", "Right") for number in range(4)
    )
    signers = read_signers(shop.signers)
    for one in people:
        (row,) = signers.of(principal_of(one.id, shop.title))
        assert row.key == read_key_file(one.key).public
