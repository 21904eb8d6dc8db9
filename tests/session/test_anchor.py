"""How far this machine saw a register is kept outside the shop: one that lacks it is told."""

import shutil
import stat

import pytest
from wiping import Wiping

from benchrun.board import look
from benchrun.record.anchor import read_anchor, state_folder
from benchrun.record.register import Register
from benchrun.record.trouble import Unsound
from benchrun.run import commands as c
from benchrun.session import closing_statement, take_up
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import trust_of, verify, verify_shop


@pytest.fixture
def bench(tmp_path):
    made = Wiping(tmp_path)
    made.do("wipe")
    yield made
    made.writer.leave()


def register(bench):
    return Register(bench.shop.path).read()


def verdict_of_shop(bench):
    return verify_shop(bench.shop.path, trust_of(bench.shop.path))


def put_back(bench, tmp_path):
    """Leave the run, and put the older copy of the shop back that was made before."""
    older = tmp_path / "older"
    shutil.copytree(bench.shop.path, older)
    bench.writer.leave()
    shutil.rmtree(bench.shop.path)
    older.rename(bench.shop.path)


def resume(bench, reason=""):
    bench.writer = take_up(bench.shop, bench.folder, bench.person, bench.clock, reason=reason)


def test_the_anchor_is_the_last_entry_and_lies_in_the_users_folder_for_its_owner_alone(bench):
    seen, lines = read_anchor(bench.shop.path), register(bench).lines
    assert (seen.n, seen.head) == (lines[-1].n, lines[-1].head)
    (file,) = state_folder().iterdir()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert not file.is_relative_to(bench.shop.path)


def test_an_older_copy_that_was_put_back_is_told_and_asked_about_once(bench, tmp_path):
    put_back(bench, tmp_path)
    with pytest.raises(Unsound, match="an older copy of the shop was put back"):
        resume(bench)
    (row,) = [one for one in look(bench.shop, bench.clock.now()).open_runs if one.run is None]
    assert (row.title, row.words) == ("The shop's register", "set back")
    assert any("this machine saw entry" in text for text in verify(bench.folder.path).faults)
    resume(bench, "the disk broke, this is last night's copy")
    bench.writer.leave()
    resume(bench)
    bench.writer.leave()
    shop = verdict_of_shop(bench)
    assert shop.whole
    (told,) = [text for text in shop.doubts if "this machine saw" in text]
    assert f"{bench.person.id} went on although" in told
    assert "last night's copy" in told
    assert all(one.run is not None for one in look(bench.shop, bench.clock.now()).open_runs)


def test_work_goes_on_before_anybody_decided_and_the_register_tells_it(bench, tmp_path):
    put_back(bench, tmp_path)
    enrol(bench.shop, "Second Hand", bench.clock.now(), passphrase="two")
    enrol(bench.shop, "Third Hand", bench.clock.now(), passphrase="three")
    (doubt,) = register(bench).doubts
    assert (doubt.by, doubt.reason) == ("station", "")
    assert not verdict_of_shop(bench).whole
    with pytest.raises(Unsound, match="this machine saw"):
        resume(bench)


def test_without_an_anchor_or_a_folder_for_it_work_goes_on(bench, tmp_path, monkeypatch):
    file = tmp_path / "a-file"
    file.write_text("no folder")
    monkeypatch.setenv("BENCHRUN_STATE", str(file))
    bench.do("dry")
    says = closing_statement(bench.writer.hand)
    bench.writer.sign(c.Close({}, says), "one").result()
    assert verify(bench.folder.path).whole
    assert verdict_of_shop(bench).whole


@pytest.mark.parametrize("text", ["", "{", "[]", '{"n": "x"}', '{"n": 1}'])
def test_an_anchor_that_cannot_be_read_says_nothing(bench, text):
    (file,) = state_folder().iterdir()
    file.write_text(text)
    assert read_anchor(bench.shop.path) is None
    bench.writer.leave()
    resume(bench)
    assert read_anchor(bench.shop.path).head == register(bench).head


def test_a_machine_that_never_saw_a_shop_keeps_what_it_finds_intact(bench, tmp_path, monkeypatch):
    bench.writer.leave()
    monkeypatch.setenv("BENCHRUN_STATE", str(tmp_path / "another machine"))
    assert read_anchor(bench.shop.path) is None
    assert verdict_of_shop(bench).whole
    assert read_anchor(bench.shop.path).head == register(bench).head


def test_a_new_shop_where_one_was_tells_it_and_asks_nothing(bench):
    bench.writer.leave()
    shutil.rmtree(bench.shop.path)
    new_shop(bench.shop.path, "Another", bench.clock.now())
    shop = verdict_of_shop(bench)
    assert shop.whole
    assert any("this machine saw entry" in text for text in shop.doubts)
