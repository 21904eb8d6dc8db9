"""A kill before every file-changing call of a repair: the next repair mends it."""

import pytest
from cuts import AT_HOLD, CLOCK, Act, Bench, acted, calls_of, lay_out, lay_shop, need_strace

from benchrun.errors import BenchrunError
from benchrun.record.register import Register
from benchrun.shop_repair import repair
from benchrun.verify import trust_of, verify, verify_shop


def damage(bench):
    path = bench.shop.path / "register.jsonl"
    rows = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*rows[:2], rows[2].replace(b'"n":', b'"n": ', 1), *rows[3:]]))


def mend(bench, **more):
    repair(bench.shop, "first-hand", CLOCK.now(), "the card fell into the bath", **more)


def new_key(bench):
    mend(bench, new_key=True)


ACTS = (
    Act("repair a damaged register", (*AT_HOLD, damage), (), mend),
    Act("give the station another key", AT_HOLD, (), new_key),
)
SAMPLE = 9


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    need_strace()
    return lay_shop(tmp_path_factory.mktemp("cuts") / "shop")


def mended(place):
    """Mend what a cut left, finish the run, and verify run and shop."""
    bench = Bench(place)
    try:
        mend(bench)
    except BenchrunError as error:
        assert "nothing to do" in error.message  # noqa: PT017  either is right
    bench.take_up()
    bench.finish()
    verdict = verify(bench.folder.path)
    assert verdict.whole, verdict.faults
    assert verdict.keeping.closed
    shop = verify_shop(place, trust_of(place), {verdict.run: verdict.run})
    assert shop.whole, shop.faults
    assert Register(place).read().lines
    return shop.doubts


def cut(act, shop, tmp_path, step):
    calls = calls_of(act, shop, tmp_path / "as-it-is")
    killed = 0
    for number, call in list(enumerate(calls))[::step]:
        place = lay_out(act, shop, tmp_path / f"cut-{number}")
        inject = ("-e", f"inject={call.name}:signal=KILL:when={call.nth}")
        outcome = acted(act, place, "-o", "/dev/null", "-e", f"trace={call.name}", *inject)
        assert outcome.killed, call
        doubts = mended(place)
        assert not any("came from nowhere" in text or "no entry of" in text for text in doubts)
        killed += 1
    print(f"cut {act.name}: {killed} kills of {len(calls)} file-changing calls")


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.name)
def test_a_kill_in_a_repair_is_mended_by_the_next(act, shop, tmp_path):
    cut(act, shop, tmp_path, SAMPLE)


@pytest.mark.long
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.name)
def test_a_kill_before_every_call_of_a_repair_is_mended_by_the_next(act, shop, tmp_path):
    cut(act, shop, tmp_path, 1)
