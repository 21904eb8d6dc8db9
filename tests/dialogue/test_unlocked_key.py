"""A key stays unlocked for one person's sitting, for the minutes that their own settings give."""

import pytest
from scripted_face import WORD, ScriptedRun

from benchrun.dialogue.acts import act
from benchrun.dialogue.run_prompts import SignaturePrompt
from benchrun.errors import BenchrunError
from benchrun.shop.personal import read_unlocked, unlocked_ms
from benchrun.signing_keys import enrol

MINUTE = 60_000
JOB = """\
procedure: sign-job
title: Signatures
revision: 1
status: draft
scope: A part. Invented.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - hold: Look at it.
        id: first
        signs: I looked at it.
      - hold: Look at it again.
        id: second
        signs: I looked at it again.
      - hold: Let another look.
        id: third
        another person: yes
        signs: I looked at it too.
"""


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "sign.yaml"
    path.write_text(JOB)
    return ScriptedRun(tmp_path, path, ["a"], people=())


def locked(face):
    return [one.locked for one in face.asked if isinstance(one, SignaturePrompt)]


def test_nothing_stays_unlocked_unless_it_is_asked_for(job):
    job.drive(act(job.work), WORD)
    assert locked(job.drive(act(job.work), WORD)) == [True]


def test_the_second_signature_needs_no_passphrase_within_its_minutes(job):
    job.session.unlocked_ms = 10 * MINUTE
    assert locked(job.drive(act(job.work), WORD)) == [True]
    job.clock.wait(9 * MINUTE)
    face = job.drive(act(job.work), "")
    assert locked(face) == [False]
    assert job.kinds() == ["open", "do", "sign", "do", "sign"]


def test_it_is_locked_again_after_them(job):
    job.session.unlocked_ms = 10 * MINUTE
    job.drive(act(job.work), WORD)
    job.clock.wait(10 * MINUTE)
    assert locked(job.drive(act(job.work), WORD)) == [True]


def test_a_hold_that_wants_another_person_always_asks(job):
    job.session.unlocked_ms = 60 * MINUTE
    job.drive(act(job.work), WORD)
    job.drive(act(job.work), "")
    assert locked(job.drive(act(job.work), WORD)) == [True]
    offer = job.work.now.offer
    assert offer.deed.value == "close"
    assert locked(job.drive(act(job.work), "")) == [False]


def test_nobody_signs_another_person_s_hold_with_an_empty_passphrase(job):
    job.session.unlocked_ms = 60 * MINUTE
    job.drive(act(job.work), WORD)
    job.drive(act(job.work), "")
    from benchrun.run import commands as c

    hold = c.Do("third", ("a",), job.session.run.n - 1)
    reply = job.session.sign(hold, "").result()
    assert "does not open the key" in reply.text


def test_handing_over_locks_it(tmp_path, job):
    job.session.unlocked_ms = 60 * MINUTE
    job.drive(act(job.work), WORD)
    ada = job.session.person
    bea = enrol(job.shop, "Bea Mill", job.clock.now(), passphrase=WORD)
    job.session.hand_over(bea)
    job.session.hand_over(ada)
    assert not job.session.unlocked(ada)


def test_the_setting_is_read_from_the_person_s_own_file(tmp_path):
    own = tmp_path / "screen.yaml"
    assert unlocked_ms(own) == 0
    own.write_text("key stays unlocked: 15 min\nalarm command: [beep]\n")
    assert unlocked_ms(own) == 15 * MINUTE
    own.write_text("key stays unlocked: for ever\n")
    assert unlocked_ms(own) == 0


@pytest.mark.parametrize("text", ["2 h", "61 min", "ever", "-5 min", ""])
def test_longer_than_an_hour_is_refused(text):
    with pytest.raises(BenchrunError, match="up to 60 min"):
        read_unlocked(text)
