import subprocess

import pytest

from benchrun.errors import BenchrunError
from benchrun.moment import utc_ms
from benchrun.record.keys import make_key
from benchrun.record.signers import (
    Signer,
    Signers,
    parse_signers,
    principal_of,
    read_signers,
    write_signers,
)
from benchrun.record.sshsig import SEAL, SIGN, sign_digest
from benchrun.record.trouble import NotKept

WHO = "ann-bench@museum-shed"
NOON = utc_ms("2026-06-01T12:00:00.000Z")
DAY = 86_400_000


@pytest.fixture
def key(tmp_path):
    return make_key(tmp_path / "key", None)


@pytest.fixture
def signers(key):
    return Signers().add(Signer(WHO, key.public, (SIGN,), NOON, comment="Ann Bench"))


def test_a_file_of_signers_reads_back_as_it_was_written(signers, key, tmp_path):
    path = tmp_path / "signers"
    full = Signers(("# invented", "", *signers.rows)).withdraw(WHO, key.public, NOON, "left about")
    for some in (Signers(), signers, signers.retire(WHO, key.public, NOON + DAY), full):
        write_signers(path, some)
        assert read_signers(path) == some
        assert parse_signers(some.text) == some
    assert read_signers(tmp_path / "none") == Signers()


def test_a_key_is_trusted_for_its_purpose_and_time_only(signers, key, tmp_path):
    other = make_key(tmp_path / "other", None)
    assert signers.trusted(WHO, key.public, SIGN, NOON).trusted
    assert signers.trusted(WHO, key.public, SIGN, NOON + 999 * DAY).trusted
    early = signers.trusted(WHO, key.public, SIGN, NOON - 1)
    assert (early.trusted, early.why) == (False, "is good only from 2026-06-01T12:00:00Z")
    assert signers.trusted(WHO, key.public, SEAL, NOON).why == f"may not sign for {SEAL}"
    assert not signers.trusted("ben@museum-shed", key.public, SIGN, NOON).known
    assert not signers.trusted(WHO, other.public, SIGN, NOON).known


def test_a_retired_key_still_stands_for_its_old_work(signers, key):
    end = NOON + DAY
    retired = signers.retire(WHO, key.public, end + 400)
    assert retired.trusted(WHO, key.public, SIGN, end).trusted
    assert retired.trusted(WHO, key.public, SIGN, end + 999).trusted  # the whole last second
    late = retired.trusted(WHO, key.public, SIGN, end + 1000)
    assert (late.trusted, late.why) == (False, "was good only until 2026-06-02T12:00:00Z")
    # Ending it again later does not prolong it.
    assert retired.retire(WHO, key.public, end + 9 * DAY) == retired
    with pytest.raises(BenchrunError, match="begins only later"):
        signers.retire(WHO, key.public, NOON - DAY)
    with pytest.raises(BenchrunError, match="has no key"):
        signers.retire("ben@museum-shed", key.public, end)


def test_a_compromised_key_stands_for_nothing_any_more(signers, key):
    gone = signers.withdraw(WHO, key.public, NOON + DAY, "laptop lost")
    verdict = gone.trusted(WHO, key.public, SIGN, NOON)
    assert (verdict.trusted, verdict.compromised) == (False, True)
    assert gone.of(WHO) == ()
    assert gone.compromised[0].why == "laptop lost"
    assert gone.text.startswith("# compromised 2026-06-02T12:00:00Z ann-bench@museum-shed ssh-ed")
    with pytest.raises(BenchrunError, match="compromised"):
        gone.add(signers.signers[0])
    with pytest.raises(BenchrunError, match=r"U\+000A"):
        signers.withdraw(WHO, key.public, NOON, "two\nlines")


def test_a_person_may_have_two_keys_but_no_key_two_people(signers, key, tmp_path):
    other = make_key(tmp_path / "other", None)
    both = signers.add(Signer(WHO, other.public, (SIGN,), NOON))
    assert len(both.of(WHO)) == 2
    assert both.trusted(WHO, other.public, SIGN, NOON).trusted
    with pytest.raises(BenchrunError, match="has that key already"):
        both.add(both.signers[1])
    with pytest.raises(BenchrunError, match="belongs to"):
        both.add(Signer("ben@museum-shed", key.public, (SIGN,)))


@pytest.mark.parametrize(
    "who",
    ["*", "*@museum-shed", "ann?@museum-shed", "!ann@museum-shed", "ann", "a b@c", "a,b@c", ""],
)
def test_patterns_and_odd_names_are_refused(key, who):
    with pytest.raises(BenchrunError):
        Signers().add(Signer(who, key.public))
    with pytest.raises(BenchrunError, match="line 1"):
        parse_signers(f"{who or '@'} {key.public.text}\n")


@pytest.mark.parametrize(
    "options",
    [
        'namespaces="*"',
        'namespaces="sign@*"',
        "cert-authority",
        'valid-after="yesterday"',
        'valid-after="20260601"',
        'valid-after="20261301Z"',
        'valid-after="202606011200"',
        'valid-before=""',
        'valid-before="20260601Z",valid-before="20270601Z"',
        'namespaces="sign@benchrun" more',
        'namespaces="sign@benchrun',
        "=",
    ],
)
def test_options_that_are_not_plain_are_refused_with_their_line(key, options):
    with pytest.raises(BenchrunError, match="signers line 2"):
        parse_signers(f"# x\n{WHO} {options} {key.public.text}\n")


@pytest.mark.parametrize(
    ("stamp", "utc"),
    [
        ("20260601Z", "2026-06-01T00:00:00.000Z"),
        ("202606011200Z", "2026-06-01T12:00:00.000Z"),
        ("20260601120030Z", "2026-06-01T12:00:30.000Z"),
    ],
)
def test_times_are_read_as_utc(key, stamp, utc):
    read = parse_signers(f'{WHO} valid-after="{stamp}" {key.public.text} a comment\n')
    assert read.signers[0].after == utc_ms(utc)
    assert read.signers[0].comment == "a comment"


def test_a_damaged_note_of_a_compromised_key_is_not_passed_over(key):
    with pytest.raises(BenchrunError, match="line 1"):
        parse_signers(f"# compromised {key.public.text}\n")


def test_a_file_that_is_not_text_is_told(tmp_path):
    (tmp_path / "signers").write_bytes(b"\xff\xfe")
    with pytest.raises(BenchrunError, match="UTF-8"):
        read_signers(tmp_path / "signers")
    with pytest.raises(NotKept):
        write_signers(tmp_path / "none" / "signers", Signers())


def test_names_become_principals():
    assert principal_of("Änn O'Bench", "Museum Shed") == "ann-o-bench@museum-shed"
    assert principal_of("station", "*") == "station@shop"


@pytest.mark.parametrize("seconds", [-1, 0, 3600, 86_400, 86_401])
def test_the_stock_tool_judges_times_as_we_do(signers, key, tmp_path, ssh_keygen, seconds):
    path = tmp_path / "signers"
    ended = signers.retire(WHO, key.public, NOON + DAY)
    write_signers(path, ended)
    import hashlib

    (tmp_path / "k.sig").write_text(sign_digest(key, SIGN, hashlib.sha512(b"x").digest()))
    at = NOON + seconds * 1000
    stamp = ended.add(Signer("ben@shop", make_key(tmp_path / "b", None).public, after=at)).text
    when = stamp.split('valid-after="')[-1].split('"')[0]
    done = subprocess.run(
        [
            *(ssh_keygen, "-Y", "verify", "-f", str(path), "-I", WHO, "-n", SIGN),
            *("-s", str(tmp_path / "k.sig"), "-O", f"verify-time={when}"),
        ],
        input=b"x",
        capture_output=True,
        check=False,
    )
    assert (done.returncode == 0) == ended.trusted(WHO, key.public, SIGN, at).trusted


def test_the_stock_tool_passes_over_a_compromised_key(signers, key, tmp_path, ssh_keygen):
    path = tmp_path / "signers"
    import hashlib

    (tmp_path / "k.sig").write_text(sign_digest(key, SIGN, hashlib.sha512(b"x").digest()))
    accepted = []
    for some in (signers, signers.withdraw(WHO, key.public, NOON)):
        write_signers(path, some)
        done = subprocess.run(
            [
                *(ssh_keygen, "-Y", "verify", "-f", str(path), "-I", WHO, "-n", SIGN),
                *("-s", str(tmp_path / "k.sig"), "-O", "verify-time=20260701Z"),
            ],
            input=b"x",
            capture_output=True,
            check=False,
        )
        accepted.append(done.returncode == 0)
    assert accepted == [True, False]
