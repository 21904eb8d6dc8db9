"""A kill before every file-changing system call of every act; every such call refused.

Afterwards each run is taken up, finished and verified: nothing acknowledged is lost, and the record
has no doubt that an unbroken run would not have.
"""

import re

import pytest
from cuts import ACTS, Bench, acted, calls_of, lay_out, lay_shop, need_strace

from benchrun.load_run import read_kept
from benchrun.record.folder import run_folders
from benchrun.record.register import Register
from benchrun.verify import verify

NAMES = [act.name for act in ACTS]
SAMPLE = 5
"""The normal suite cuts each act at every so-manieth call."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    need_strace()
    return lay_shop(tmp_path_factory.mktemp("cuts") / "shop")


@pytest.fixture(scope="module")
def usual(shop, tmp_path_factory):
    """The doubts of a run that nothing broke off; it makes every import that acting needs."""
    place = lay_out(ACTS[1], shop, tmp_path_factory.mktemp("usual") / "shop")
    bench = Bench(place)
    bench.take_up()
    bench.copy_photo()
    bench.keep_photo()
    bench.finish()
    verdict = verify(bench.folder.path)
    assert verdict.whole, verdict.faults
    return {without_numbers(doubt) for doubt in verdict.doubts}


def without_numbers(text):
    return re.sub(r"\d+", "N", text)


def recovered(place, outcome, usual):
    """Take up what an act left, finish it and verify it."""
    bench = Bench(place)
    assert "FAULT" not in outcome.error, outcome.error
    if bench.folder is None:
        assert not outcome.said
        bench.begin()
    elif not bench.folder.seal.is_file():
        bench.finish_close()  # takes it up, where it is not closed already
    entries = {f"{entry.n} {entry.kind}" for entry in read_kept(bench.folder)[1]}
    assert {row for row in outcome.said if not row.startswith("no ")} <= entries
    if bench.session is not None:
        bench.finish()
    (folder,) = run_folders(bench.shop.runs)
    assert [path.name for path in bench.shop.runs.iterdir()] == [folder.run]
    assert {said.state.run for said in Register(bench.shop.path).read().mentions} == {folder.run}
    verdict = verify(folder.path)
    assert verdict.whole, verdict.faults
    assert verdict.keeping.closed
    return {without_numbers(doubt) for doubt in verdict.doubts} - usual


def cut(act, shop, tmp_path, usual, step):
    calls = calls_of(act, shop, tmp_path / "as-it-is")
    assert calls
    killed = 0
    for number, call in list(enumerate(calls))[::step]:
        assert call.reachable, call
        place = lay_out(act, shop, tmp_path / f"cut-{number}")
        outcome = acted(
            act,
            place,
            *("-o", "/dev/null", "-e", f"trace={call.name}"),
            *("-e", f"inject={call.name}:signal=KILL:when={call.nth}"),
        )
        assert outcome.killed, call
        assert recovered(place, outcome, usual) == set(), call
        killed += 1
    print(f"cut {act.name}: {killed} kills of {len(calls)} file-changing calls")


@pytest.mark.parametrize("act", ACTS, ids=NAMES)
def test_a_kill_at_a_call_leaves_nothing_or_a_run_that_is_made_whole(act, shop, usual, tmp_path):
    cut(act, shop, tmp_path, usual, SAMPLE)


@pytest.mark.long
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("act", ACTS, ids=NAMES)
def test_a_kill_before_every_call_leaves_nothing_or_a_whole_run(act, shop, usual, tmp_path):
    cut(act, shop, tmp_path, usual, 1)


ERRORS = ("EIO", "ENOSPC", "EROFS")
SET_ASIDE = re.compile(r"entry N: \S+ was set aside after a kill or a disk fault")
FAULT_SAMPLE = 11


def starve(act, shop, tmp_path, usual, step):
    calls = calls_of(act, shop, tmp_path / "as-it-is")
    faults = [(call, f"error={error}") for call in calls for error in ERRORS]
    faults += [(call, "retval=7") for call in calls if call.name == "pwrite64"]
    done = 0
    for number, (call, fault) in list(enumerate(faults))[::step]:
        assert call.reachable, call
        place = lay_out(act, shop, tmp_path / f"fault-{number}")
        outcome = acted(
            act,
            place,
            *("-o", "/dev/null", "-e", f"trace={call.name}"),
            *("-e", f"inject={call.name}:{fault}:when={call.nth}"),
            again=True,
        )
        assert not outcome.killed
        assert "Traceback" not in outcome.error, (call, fault, outcome.error)
        more = recovered(place, outcome, usual)
        assert all(SET_ASIDE.fullmatch(doubt) for doubt in more), (call, fault, more)
        done += 1
    print(f"fault {act.name}: {done} faults at {len(calls)} file-changing calls")


@pytest.mark.parametrize("act", ACTS, ids=NAMES)
def test_a_refusing_disk_loses_nothing_acknowledged(act, shop, usual, tmp_path):
    starve(act, shop, tmp_path, usual, FAULT_SAMPLE)


@pytest.mark.long
@pytest.mark.timeout(7200)
@pytest.mark.parametrize("act", ACTS, ids=NAMES)
def test_a_refusing_disk_at_every_call_loses_nothing_acknowledged(act, shop, usual, tmp_path):
    starve(act, shop, tmp_path, usual, 1)


def test_a_file_that_a_failed_fsync_ended_is_named_by_the_next_entry(shop, usual, tmp_path):
    act = next(act for act in ACTS if act.name == "hand over")
    place = lay_out(act, shop, tmp_path / "shop")
    (call,) = [call for call in calls_of(act, shop, tmp_path / "as") if call.name == "fsync"]
    fault = f"inject=fsync:error=EIO:when={call.nth}"
    outcome = acted(act, place, "-o", "/dev/null", "-e", "trace=fsync", "-e", fault)
    assert outcome.said == ("5 note",)
    folder = Bench(place).folder
    entries = read_kept(folder)[1]
    assert [entry.kind for entry in entries[5:]] == ["note", "recovered"]
    (named,) = entries[6].data.files
    assert named.file == "log.jsonl.failed-1"
    assert (folder.path / named.file).is_file()
