"""People and their keys: made here, brought along or in an agent; ended, distrusted, replaced."""

import os
import shutil
import stat
import subprocess

import pytest

from benchrun.errors import BenchrunError
from benchrun.record.signers import principal_of, read_signers
from benchrun.record.sshsig import SIGN
from benchrun.shop.books import read_books
from benchrun.shop.people import people_sheet, read_people
from benchrun.shopkeeping import people as commands
from benchrun.signing_keys import compromise, enrol, keys_of, new_key, new_shop, person_key, retire

HOUR = 3_600_000
needs_ssh = pytest.mark.skipif(shutil.which("ssh-agent") is None, reason="needs OpenSSH")


def trusted(shop, person, key, at):
    signers = read_signers(shop.signers)
    return signers.trusted(principal_of(person.id, shop.title), key, SIGN, at.utc_ms).trusted


def test_a_key_made_here_opens_with_its_passphrase_and_is_trusted(shop, person, clock):
    key = person_key(person)
    assert key.encrypted
    assert stat.S_IMODE(key.path.stat().st_mode) == 0o600
    assert trusted(shop, person, key.unlock("word").public, clock.now())


def test_a_second_of_the_same_name_is_refused_and_leaves_nothing_behind(shop, person, clock):
    before = sorted(path.name for path in shop.keys.iterdir())
    for name in ("Somebody", "SOMEBODY", "station"):
        with pytest.raises(BenchrunError, match="is taken"):
            enrol(shop, name, clock.now(), passphrase="word")
    assert sorted(path.name for path in shop.keys.iterdir()) == before


@pytest.mark.parametrize("name", ["", "  ", "a\x1b[2J", "a\u202eb", "x" * 61])
def test_a_name_that_cannot_be_written_down_is_refused(shop, clock, name):
    with pytest.raises(BenchrunError):
        enrol(shop, name, clock.now(), passphrase="word")
    assert read_people(shop) == ()


@pytest.mark.parametrize("name", ["../../up", "a: b", "- x", '"', "{a}", "O'Other", "no"])
def test_an_odd_name_is_kept_as_it_is_and_its_key_stays_inside(shop, clock, name):
    person = enrol(shop, name, clock.now(), passphrase="word")
    assert person.key.resolve().parent == shop.keys.resolve()
    (kept,) = read_people(shop)
    assert (kept.name, kept.key) == (name, person.key)
    assert read_books(shop).faults == ()


def test_whoever_retires_is_offered_no_more_and_earlier_signatures_stand(shop, person, clock):
    public, before = person_key(person).public, clock.now()
    clock.wait(HOUR)
    gone = retire(shop, person.id, clock.now())
    assert str(gone.left) == "2026-03-10"
    assert read_people(shop) == ()
    assert people_sheet(shop).named(person.id).left is not None
    clock.wait(HOUR)
    assert trusted(shop, person, public, before)
    assert not trusted(shop, person, public, clock.now())
    with pytest.raises(BenchrunError, match="left on 2026-03-10 already"):
        retire(shop, person.id, clock.now())
    with pytest.raises(BenchrunError, match="is taken"):
        enrol(shop, "Somebody", clock.now(), passphrase="word")


def test_a_compromised_key_is_good_for_nothing_and_another_takes_its_place(shop, person, clock):
    public, before = person_key(person).public, clock.now()
    clock.wait(HOUR)
    assert compromise(shop, person.id, clock.now(), "laptop lost") == public
    assert not trusted(shop, person, public, before)
    other = new_key(shop, person.id, clock.now(), passphrase="other")
    fresh = person_key(other).unlock("other").public
    assert trusted(shop, person, fresh, clock.now())
    assert read_people(shop) == (other,)
    assert [words for _, words in keys_of(shop, person.id)] == [
        "good from 2026-03-10",
        "compromised 2026-03-10: laptop lost",
    ]


def test_another_key_ends_the_old_one_without_taking_back_what_it_signed(shop, person, clock):
    old, before = person_key(person).public, clock.now()
    clock.wait(HOUR)
    other = new_key(shop, person.id, clock.now(), passphrase="other")
    clock.wait(HOUR)
    assert trusted(shop, person, old, before)
    assert not trusted(shop, person, old, clock.now())
    assert trusted(shop, person, person_key(other).public, clock.now())
    with pytest.raises(BenchrunError, match="say which key"):
        compromise(shop, person.id, clock.now(), "lost")
    assert compromise(shop, person.id, clock.now(), "lost", old.fingerprint) == old


def test_distrust_needs_a_reason_and_somebody(shop, person, clock):
    with pytest.raises(BenchrunError, match="say in a few words"):
        compromise(shop, person.id, clock.now(), " ")
    with pytest.raises(BenchrunError, match="known are none"):
        compromise(shop, "nobody", clock.now(), "lost")


def test_comments_in_the_file_of_people_stay(shop, person, clock):
    path = shop.path / "people.yaml"
    path.write_text(path.read_text().replace("roles:", "# works on Fridays\n    roles:"))
    enrol(shop, "Another", clock.now(), passphrase="word")
    retire(shop, person.id, clock.now())
    assert "    # works on Fridays\n    roles: [restorer, checker]\n" in path.read_text()


def test_a_shop_broken_off_in_the_making_is_finished(tmp_path, clock):
    path = tmp_path / "s"
    made = new_shop(path, "Shed", clock.now())
    (path / "shop.yaml").unlink()
    (path / "signers").unlink()
    again = new_shop(path, "Shed", clock.now())
    assert again == made
    assert len(read_signers(again.signers).signers) == 1
    with pytest.raises(BenchrunError, match=r"there is a shop in .* already"):
        new_shop(path, "Shed", clock.now())


@needs_ssh
def test_a_key_brought_along_is_used_where_it_lies(shop, clock, tmp_path):
    key = tmp_path / "id"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "word", "-f", key], check=True)
    person = enrol(shop, "Somebody", clock.now(), key=key)
    (kept,) = read_people(shop)
    assert kept.key == key.resolve()
    assert trusted(shop, person, person_key(kept).unlock("word").public, clock.now())


@pytest.fixture
def agent(tmp_path, monkeypatch):
    socket = tmp_path / "agent"
    process = subprocess.Popen(
        ["ssh-agent", "-D", "-a", str(socket)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    process.stdout.readline()
    monkeypatch.setenv("SSH_AUTH_SOCK", str(socket))
    key = tmp_path / "held"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", key], check=True)
    environment = {**os.environ, "SSH_AUTH_SOCK": str(socket)}
    subprocess.run(["ssh-add", "-q", key], check=True, env=environment)
    yield key
    process.terminate()
    process.wait()


@needs_ssh
def test_a_key_in_an_agent_signs_a_whole_run(shop, clock, agent, tmp_path):
    from benchrun.procedure.load import load_bytes
    from benchrun.run.commands import Close, Do
    from benchrun.run.entries import PartSpec
    from benchrun.session import Kept, begin, closing_statement
    from benchrun.verify import verify

    person = enrol(shop, "Somebody", clock.now(), agent="yes")
    (kept,) = read_people(shop)
    assert kept.agent.startswith("SHA256:")
    agent.unlink()  # the agent alone has it now
    procedure = load_bytes(
        b"procedure: tiny\ntitle: Tiny\nrevision: 1\nstatus: draft\nuse: step by step\n"
        b"scope: One.\nchanges: {1: First.}\nsources: {s: from memory}\nbatch: {part: pin}\n"
        b"stages:\n  - stage: All\n    steps:\n      - do: Wipe it.\n        id: wipe\n"
        b"        source: s\n",
        "tiny.yaml",
    )
    session = begin(shop, procedure, [PartSpec("a")], person, clock)
    session.send(Do("wipe", ("a",), session.run.n - 1)).result()
    reply = session.sign(Close(says=closing_statement(session.hand)), "").result()
    assert isinstance(reply, Kept), reply
    assert verify(session.folder.path, shop=shop.path).whole


@needs_ssh
def test_an_agent_without_the_key_is_told_and_nothing_is_written(shop, clock, agent):
    with pytest.raises(BenchrunError, match="ssh-agent holds 0 keys that fit"):
        enrol(shop, "Somebody", clock.now(), agent="SHA256:other")
    assert read_people(shop) == ()


class Words:
    def __init__(self, *words):
        self.words = list(words)

    def __call__(self, question):
        return self.words.pop(0)


def test_people_are_taken_on_listed_and_changed_in_words(shop, clock):
    now = clock.now()
    said = commands.take_on(shop, "Some Body", now, Words("word", "word"), roles=["restorer"])
    assert said.startswith("Some Body signs as some-body with SHA256:")
    assert said.endswith("with the role restorer")
    commands.change_in_people(shop, "some-body", ["roles=restorer; checker"], clock.now())
    assert read_people(shop)[0].roles == ("restorer", "checker")
    text = commands.people(shop)
    assert "some-body  Some Body" in text
    assert text.splitlines()[-1].startswith("station")
    assert "still verifies" in commands.let_leave(shop, "some-body", now)
    assert "left 2026-03-10" in commands.people(shop)


def test_passphrases_that_differ_or_are_empty_change_nothing(shop, clock):
    for words in (("one", "two"), ("", "")):
        with pytest.raises(BenchrunError):
            commands.take_on(shop, "Somebody", clock.now(), Words(*words))
    assert read_people(shop) == ()
    assert sorted(path.name for path in shop.keys.iterdir()) == ["station", "station.pub"]


def test_an_id_cannot_be_changed_by_the_program(shop, person, clock):
    with pytest.raises(BenchrunError, match="'id' is no key here"):
        commands.change_in_people(shop, person.id, ["id=other"], clock.now())


def test_another_title_breaks_no_signature(tmp_path, clock):
    from benchrun.signing_keys import change_settings, enrol, new_shop, principal

    made = new_shop(tmp_path / "s", "Rope shed", clock.now())
    enrol(made, "Ada Brook", clock.now(), passphrase="word")
    before = (made.path / "shop.yaml").read_text()
    again = change_settings(made, {"title": "Ropewalk and sons"})
    assert again.title == "Ropewalk and sons"
    assert principal(again, "ada-brook") == principal(made, "ada-brook") == "ada-brook@rope-shed"
    after = (made.path / "shop.yaml").read_text()
    assert after == before.replace("title: Rope shed", "title: Ropewalk and sons")


def test_a_shop_of_old_keeps_its_signatures_when_it_is_called_otherwise(tmp_path, clock):
    from benchrun.shop.folder import open_shop
    from benchrun.signing_keys import change_settings, new_shop, principal

    made = new_shop(tmp_path / "s", "Rope shed", clock.now())
    path = made.path / "shop.yaml"
    path.write_text(path.read_text().replace("signs as: rope-shed\n", ""))
    path.write_text(path.read_text().replace("title: Rope shed", "title: By hand"))
    old = open_shop(made.path)
    assert (old.title, principal(old, "station")) == ("By hand", "station@rope-shed")
    again = change_settings(old, {"title": "By program"})
    assert principal(again, "station") == "station@rope-shed"
    assert "signs as: rope-shed" in path.read_text()


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("title", "", "title: the shop needs one"),
        ("title", "x" * 61, "at most 60 letters"),
        ("currency", "euro", "three capital letters"),
        ("remind days", "-3", "whole number from 0 to 366"),
        ("watched folder", "../phone", "whole path"),
        ("title", "a\x1b[2J", "cannot be written down"),
        ("currency", "9" * 2_000_000, "at most 600"),
    ],
)
def test_a_setting_that_will_not_do_changes_nothing(shop, key, value, said):
    from benchrun.signing_keys import change_settings

    before = (shop.path / "shop.yaml").read_bytes()
    with pytest.raises(BenchrunError, match=said) as error:
        change_settings(shop, {key: value})
    assert "\n" not in error.value.message
    assert len(error.value.message) < 300
    assert (shop.path / "shop.yaml").read_bytes() == before
