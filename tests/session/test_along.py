"""Reading along with a run that another window writes, as a face does it."""

import shutil

import pytest
from wiping import PROCEDURE, Wiping

from benchrun.errors import BenchrunError
from benchrun.record.follow import ReadAlong
from benchrun.run import commands as c
from benchrun.run.commands import Refusal
from benchrun.session import read_along, take_up


class Bench(Wiping):
    """A run that is being written, and the same run read along."""

    def __init__(self, path):
        super().__init__(path)
        self.along = read_along(self.shop, self.folder, self.person, self.clock)

    def tick(self):
        self.along.tick().result(5)


@pytest.fixture
def bench(tmp_path):
    made = Bench(tmp_path)
    yield made
    made.along.leave()
    made.writer.leave()


def test_what_is_read_folds_to_the_run_of_the_writer(bench):
    assert bench.along.run == bench.writer.run
    for step in ("wipe", "dry"):
        bench.do(step)
        assert bench.along.run != bench.writer.run
        bench.tick()
        assert bench.along.run == bench.writer.run
        assert list(bench.along.entries) == list(bench.writer.entries)


def test_nothing_can_be_done_and_the_log_stays_as_it_is(bench, tmp_path):
    before, along = bench.folder.log.read_bytes(), bench.along
    picture = tmp_path / "hub.jpg"
    picture.write_bytes(b"an invented picture")
    sent = along.send(c.Do("wipe", ("a",), along.run.n - 1)).result(5)
    signed = along.sign(c.Close({}), "one").result(5)
    for reply in (sent, signed):
        assert isinstance(reply, Refusal)
        assert reply.text == "Nothing is recorded from here: another window writes this run."
    with pytest.raises(BenchrunError, match="another window writes"):
        along.copy_photo(picture)
    for _ in range(3):
        bench.clock.wait(3_600_000)
        bench.tick()
    assert bench.folder.log.read_bytes() == before
    assert list(bench.folder.photos.iterdir()) == []


def test_it_shows_when_the_writer_lets_go_and_when_another_one_comes(bench):
    bench.tick()
    assert bench.along.written
    bench.writer.leave()
    bench.tick()
    assert not bench.along.written
    assert bench.along.entries[-1].data.why == "suspend"  # the last line was read before that
    assert "carry on here first" in bench.along.refusal
    bench.writer = take_up(bench.shop, bench.folder, bench.person, bench.clock)
    bench.tick()
    assert bench.along.written
    assert bench.along.run == bench.writer.run


def test_a_log_that_no_longer_follows_ends_the_reading_with_its_place(bench):
    bench.do("wipe")
    bench.tick()
    lines = bench.folder.log.read_bytes().count(b"\n")
    with bench.folder.log.open("ab") as file:
        file.write(b"{}\n")
    bench.tick()
    assert f"entry {lines}:" in bench.along.fault
    known = bench.along.run
    bench.tick()
    assert bench.along.run == known


def test_an_entry_that_does_not_fit_ends_the_reading(bench):
    bench.writer._writer.append(bench.clock.now(), "first-hand", "do", {"step": "no-such"})
    bench.tick()
    assert bench.along.fault


def test_a_run_without_its_procedure_cannot_be_read_along(bench, tmp_path):
    copied = tmp_path / "copy" / bench.folder.run
    shutil.copytree(bench.folder.path, copied)
    (copied / "procedure.yaml").write_bytes(PROCEDURE + b"# changed\n")
    with pytest.raises(BenchrunError, match="not the one that the run began with"):
        read_along(bench.shop, type(bench.folder)(copied), bench.person, bench.clock)


def test_leaving_twice_is_harmless(bench):
    bench.along.leave()
    bench.along.leave()


def test_looking_whether_a_log_is_written_keeps_nobody_from_opening_it(bench):
    bench.writer.leave()
    with ReadAlong(bench.folder.log) as one, ReadAlong(bench.folder.log) as other:
        for _ in range(200):
            assert not one.written()
            assert not other.written()
            with bench.folder.open_log():
                assert one.written()
