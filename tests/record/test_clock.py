import shutil
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from benchrun.moment import Moment, Timeline
from benchrun.record.clock import SystemClock, VirtualClock, wall_step_ms

HOUR = 3_600_000


def test_this_machines_clocks_go_forward_within_one_boot():
    clock = SystemClock()
    moments = [clock.now() for _ in range(1000)]
    assert all(b.up_ms >= a.up_ms for a, b in pairwise(moments))
    assert len({m.boot for m in moments}) == 1
    assert wall_step_ms(moments[0], moments[-1]) == 0
    assert clock.slept_ms() >= 0


@pytest.mark.skipif(sys.platform != "linux", reason="looks at Linux's own files")
def test_on_linux_the_boot_is_the_kernels():
    boot = Path("/proc/sys/kernel/random/boot_id").read_text().strip()

    def up_s() -> float:
        return float(Path("/proc/uptime").read_text().split()[0])

    before, now, after = up_s(), SystemClock().now(), up_s()
    assert now.boot == boot
    assert before <= now.up_ms / 1000 + 0.01  # the file has hundredths
    assert now.up_ms / 1000 <= after + 0.02
    assert (now.knows_boot, SystemClock().lacking()) == (True, "")


@pytest.mark.skipif(sys.platform != "linux", reason="looks at Linux's own files")
def test_where_the_boot_has_no_id_each_process_is_a_boot_of_its_own(monkeypatch, tmp_path):
    monkeypatch.setattr("benchrun.record.clock._BOOT_ID", tmp_path / "none")
    one, other = SystemClock(), SystemClock()
    assert one.now().boot != other.now().boot
    assert not one.now().knows_boot
    assert "times rest on the wall clock alone" in one.lacking()


def test_sleep_counts_on_the_boot_clock_for_real():
    unshare = shutil.which("unshare")
    if unshare is None:
        pytest.skip("unshare is not installed")
    program = (
        "from benchrun.record.clock import SystemClock; c = SystemClock();"
        "print(c.now().up_ms, c.slept_ms())"
    )

    def told(*prefix):
        done = subprocess.run(
            [*prefix, sys.executable, "-c", program], capture_output=True, text=True, check=False
        )
        return [int(word) for word in done.stdout.split()] if done.returncode == 0 else None

    plain, slept = told(), told(unshare, "-T", "--boottime", "3600", "--fork")
    if slept is None:
        pytest.skip("a time namespace needs root and a kernel that has them")
    assert plain is not None
    assert HOUR <= slept[0] - plain[0] < HOUR + 60_000
    assert HOUR <= slept[1] - plain[1] < HOUR + 60_000


def test_a_virtual_clock_moves_only_when_told():
    clock = VirtualClock("2026-11-25T14:02:18.041Z", up_ms=5000)
    start = clock.now()
    assert clock.now() == start == Moment(start.utc_ms, 5000, "virtual-1", True)
    assert start.utc == "2026-11-25T14:02:18.041Z"
    clock.wait(1500)
    assert (clock.now().utc_ms - start.utc_ms, clock.now().up_ms) == (1500, 6500)
    clock.sleep(HOUR)
    assert (clock.now().up_ms, clock.slept_ms()) == (6500 + HOUR, HOUR)
    clock.step(-HOUR)
    assert (clock.now().utc_ms - start.utc_ms, clock.now().up_ms) == (1500, 6500 + HOUR)
    assert not clock.now().sync  # set by hand, nobody knows it to be in step
    clock.reboot(60_000, sync=False)
    after = clock.now()
    assert (after.utc_ms - start.utc_ms, after.up_ms, after.boot) == (61_500, 0, "virtual-2")
    assert (after.sync, clock.slept_ms()) == (False, 0)
    clock.set_sync(True)
    assert clock.now().sync
    with pytest.raises(ValueError, match="backwards"):
        clock.wait(-1)


@pytest.mark.parametrize(
    ("wait", "step", "found"),
    [
        (60_000, 0, 0),
        (60_000, 1999, 0),
        (60_000, 2031, 2031),
        (60_000, -HOUR, -HOUR),
        (24 * HOUR, 40_000, 0),  # 500 parts in a million of a day are 43.2 s
        (24 * HOUR, 46_000, 46_000),
    ],
)
def test_a_set_wall_clock_is_told_from_a_drifting_one(wait, step, found):
    clock = VirtualClock()
    before = clock.now()
    clock.wait(wait)
    clock.step(step)
    assert wall_step_ms(before, clock.now()) == found


def test_a_step_across_a_reboot_is_not_claimed():
    clock = VirtualClock()
    before = clock.now()
    clock.reboot(1000)
    clock.step(-HOUR)
    assert wall_step_ms(before, clock.now()) == 0


@pytest.mark.parametrize("step", [-HOUR, HOUR, 0])
def test_a_clock_that_is_set_in_a_dwell_does_not_change_how_long_it_was(step):
    clock = VirtualClock()
    line = Timeline().then(clock.now())
    mark = line.mark(clock.now())
    clock.wait(5 * 60_000)
    clock.step(step)
    clock.sleep(10 * 60_000)
    elapsed = line.elapsed(mark, clock.now())
    assert (elapsed.proven_ms, elapsed.possible_ms) == (15 * 60_000, 15 * 60_000)


def test_a_restart_in_a_dwell_leaves_what_is_proven_and_what_is_possible():
    clock = VirtualClock()
    line = Timeline().then(clock.now())
    mark = line.mark(clock.now())
    clock.wait(7 * 60_000)
    line = line.then(clock.now())
    clock.reboot(6 * 60_000)
    clock.wait(60_000)
    elapsed = line.elapsed(mark, clock.now())
    assert (elapsed.proven_ms, elapsed.possible_ms) == (8 * 60_000, 14 * 60_000)
