"""Makes vectors.json: small records, whole and tampered, on which any reader can be tried.

    python tests/record/vectors/make_vectors.py

The keys are made for it and thrown away. Where a form is wrong, all that comes after it is chained
and signed anew, so that nothing else is wrong. Kept with the tests, as only who writes a reader
needs it.
"""

import base64
import hashlib
import json
import os
import re
import shutil
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parents[1] / "session"))

from benchrun.procedure.load import load_bytes  # noqa: E402
from benchrun.record.clock import VirtualClock  # noqa: E402
from benchrun.record.keys import make_key  # noqa: E402
from benchrun.record.line import ZEROS, encode  # noqa: E402
from benchrun.record.signers import Signer  # noqa: E402
from benchrun.record.sshsig import SEAL, SIGN, sign_digest  # noqa: E402
from benchrun.run import commands as c  # noqa: E402
from benchrun.run.entries import PartSpec  # noqa: E402
from benchrun.session import begin, closing_statement  # noqa: E402
from benchrun.signing_keys import enrol, new_shop, person_key, station_key  # noqa: E402

PROCEDURE = b"""\
procedure: wipe-it
title: Wipe it (invented)
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
      - hold: Release the part.
        id: release
        signs: I looked at it.
"""
CLOSED, OPEN = "2026-03-10-wipe-it-cccc", "2026-03-10-wipe-it-aaaa"
ADA, BEN, STATION = "ada-brook@shed", "ben-mill@shed", "station@shed"


class Yard:
    """A shop with a run that was closed and one that was left, and the keys to make them anew."""

    def __init__(self, path):
        self.clock = VirtualClock("2026-03-10T08:00:00.000Z")
        self.shop = new_shop(path, "Shed", self.clock.now())
        self.ada = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="one")
        self.ben = enrol(self.shop, "Ben Mill", self.clock.now(), passphrase="two")
        picture = path.parent / "hub.jpg"
        picture.write_bytes(b"an invented picture")
        for tag in ("aaaa", "cccc"):
            self._run(tag, picture)
        self.keys = {
            ADA: person_key(self.ada).unlock("one"),
            BEN: person_key(self.ben).unlock("two"),
            STATION: station_key(self.shop),
        }
        self.strange = make_key(path.parent / "strange", None)

    def _run(self, tag, picture):
        self.clock.wait(60_000)
        procedure = load_bytes(PROCEDURE, "wipe.yaml")
        run = begin(self.shop, procedure, [PartSpec("a")], self.ada, self.clock, tag=tag)
        for command in (c.Do("wipe", ("a",), 1), c.KeepNote("a word")):
            self.clock.wait(5000)
            run.send(command).result()
        run.send(run.copy_photo(picture, unsure=True)).result()
        if tag == "cccc":
            self.clock.wait(5000)
            run.sign(c.Do("release", ("a",), run.run.n - 1), "one").result()
            run.sign(c.Close({}, closing_statement(run.hand)), "one").result()
        run.leave()


class Place:
    """A copy of the shop in which a vector changes something."""

    def __init__(self, yard, path):
        self.yard, self.path = yard, path

    def file(self, name, run=CLOSED):
        return self.path / "runs" / run / name

    @property
    def register(self):
        return self.path / "register.jsonl"

    def lines(self, run=CLOSED):
        return [json.loads(raw) for raw in self.file("log.jsonl", run).read_bytes().splitlines()]

    def raw(self, change, run=CLOSED):
        """Change the bytes of a log and nothing else."""
        log = self.file("log.jsonl", run)
        log.write_bytes(change(log.read_bytes()))

    def anew(self, change=lambda lines: None, spell=lambda n, raw: raw, run=CLOSED, sign=None):
        """Change the lines of a log, or how they are spelt; chain, sign and register them anew."""
        lines = self.lines(run)
        lines = change(lines) or lines
        made, heads = b"", []
        for n, old in enumerate(lines):
            line = {**old, "n": n, "prev": heads[-1] if heads else ZEROS}
            if line["kind"] in ("sign", "seal") and "sshsig" in line["data"]:
                line["data"] = {**line["data"], **self._signed(line, made, sign)}
            raw = spell(n, encode(line))
            made += raw
            heads.append(hashlib.sha256(raw).hexdigest())
        self.file("log.jsonl", run).write_bytes(made)
        if self.file("log.jsonl.sig", run).exists():
            digest = hashlib.sha512(made).digest()
            seal = sign_digest(self.yard.keys[STATION], SEAL, digest)
            self.file("log.jsonl.sig", run).write_text(seal)
        self.enter(heads, run)

    def _signed(self, line, before, sign):
        key = self.yard.keys.get(line["data"]["who"], self.yard.strange)
        space, algorithm = (SIGN if line["kind"] == "sign" else SEAL), "sha512"
        if sign is not None:
            key, space, algorithm, before = sign(line, key, space, algorithm, before)
        return {
            "sshsig": sign_digest(key, space, hashlib.new(algorithm, before).digest(), algorithm)
        }

    def enter(self, heads, run=CLOSED, change=lambda rows: None):
        """Write the register anew with the heads of a run, each line sealed."""
        rows = [json.loads(raw) for raw in self.register.read_bytes().splitlines()]
        for row in rows:
            if row["data"].get("run") == run and heads:
                n = min(row["data"]["n"], len(heads) - 1)
                n = len(heads) - 1 if row["kind"] != "opened" else n
                row["data"] |= {"n": n, "head": heads[n]}
        rows = change(rows) or rows
        prev, made = ZEROS, b""
        for n, row in enumerate(rows):
            data = {key: value for key, value in row["data"].items() if key != "sshsig"}
            line = {**row, "n": n, "prev": prev, "data": data}
            digest = hashlib.sha512(encode(line)).digest()
            seal = sign_digest(self.yard.keys[STATION], SEAL, digest)
            raw = encode({**line, "data": {**data, "sshsig": seal}})
            made, prev = made + raw, hashlib.sha256(raw).hexdigest()
        self.register.write_bytes(made)

    def rows(self, change, path=None):
        """Change the rows of a file of signers as text; else of the run's own and the shop's."""
        both = (self.path / "signers", self.file("signers"))
        for file in (path,) if path else both:
            file.write_text("".join(f"{row}\n" for row in change(file.read_text().splitlines())))


VECTORS = []


def vector(verdict, reason, run=CLOSED):
    """One record: `whole`, `not whole` or `could not tell`, and why."""

    def keep(change):
        VECTORS.append((change.__name__.strip("_").replace("_", " "), verdict, reason, run, change))
        return change

    return keep


def spelt(n, old, new):
    """One line spelt otherwise; all after it is right."""
    return lambda number, raw: raw.replace(old, new, 1) if number == n else raw


def form(name, reason, old, new, n=0):
    """A line that is out of form, in a log that is signed anew."""

    def change(place):
        before = place.file("log.jsonl").read_bytes().splitlines(keepends=True)[n]
        assert old in before, (name, before)
        place.anew(spell=spelt(n, old, new))

    VECTORS.append((name, "not whole", reason, CLOSED, change))


def ended(rows, who, stamp):
    return [
        re.sub(r'namespaces="[^"]*"', rf'\g<0>,valid-before="{stamp}"', row)
        if row.startswith(who)
        else row
        for row in rows
    ]


def _put(line, by="", **data):
    """Give a line other data, and perhaps somebody else who entered it."""
    line["data"] |= data
    line["by"] = by or line["by"]


def _drop(line, key):
    """Take a key out of a line's data."""
    del line["data"][key]


def _at(lines, kind):
    return next(line for line in lines if line["kind"] == kind)


@vector("whole", "as the program left it")
def _a_closed_run(place):
    pass


@vector("whole", "it is open, and says so", OPEN)
def _an_open_run(place):
    pass


@vector("whole", "nothing of the shop is at hand: whose keys they are is not known")
def _a_run_alone(place):
    (place.path / "signers").unlink()
    place.register.unlink()


@vector("whole", "no seal covers its last entries, as a kill leaves them", OPEN)
def _a_run_that_was_broken_off(place):
    shutil.rmtree(place.file(""))  # it was begun under a register that marked this one
    place.raw(lambda raw: b"".join(raw.splitlines(keepends=True)[:-1]), OPEN)
    own = ("marked", "closed")
    place.enter(
        [],
        change=lambda rows: [
            row for row in rows if row["kind"] not in own and row["data"].get("run") != CLOSED
        ],
    )


@vector("whole", "the torn end was never acknowledged", OPEN)
def _a_torn_end(place):
    place.raw(lambda raw: raw + b'{"at":{"boot":', OPEN)


@vector("whole", "what lacks is a doubt")
def _no_seal_over_the_whole(place):
    place.file("log.jsonl.sig").unlink()


@vector("whole", "the page of the format is no part of the record")
def _no_page_of_the_format(place):
    place.file("FORMAT.md").unlink(missing_ok=True)


@vector("whole", "a file that nothing names is a doubt")
def _a_file_that_nothing_names(place):
    place.file("stray.txt").write_text("nobody entered this\n")


@vector("whole", "the key of a name that the shop does not know is a doubt")
def _a_signer_unknown_to_the_shop(place):
    place.rows(lambda rows: [row for row in rows if ADA not in row], place.path / "signers")


@vector("whole", "a key that signed nothing is a doubt")
def _a_key_that_signed_nothing(place):
    row = Signer(BEN, place.yard.keys[BEN].public, (SIGN,)).text
    place.rows(lambda rows: [*rows, row], place.file("signers"))


@vector("whole", "two keys of one name at once are a doubt")
def _two_keys_of_one_name(place):
    row = Signer(ADA, place.yard.strange.public, (SIGN,)).text
    place.rows(lambda rows: [*rows, row], place.path / "signers")


@vector("whole", "what a key signed before its end stands")
def _a_key_that_ended_later(place):
    place.rows(lambda rows: ended(rows, ADA, "20260601000000Z"))


@vector("whole", "comments and blank lines say nothing")
def _comments_among_the_signers(place):
    place.rows(lambda rows: ["# the shed's own", "", *rows])


@vector("whole", "somebody else's key is bad, and signed nothing here")
def _another_key_is_compromised(place):
    print_ = place.yard.keys[BEN].public.fingerprint
    place.rows(lambda rows: [*rows, f"# compromised 2026-04-01T08:00:00Z {BEN} {print_} lost"])


@vector("whole", "SHA-256 is accepted")
def _a_signature_with_sha_256(place):
    place.anew(sign=lambda line, key, space, algorithm, raw: (key, space, "sha256", raw))


@vector("whole", "the register says nothing of the close: a doubt")
def _a_register_without_the_close(place):
    place.enter([], change=lambda rows: [row for row in rows if row["kind"] != "closed"])


@vector("whole", "there is no register: a doubt")
def _no_register(place):
    place.register.unlink()


@vector("whole", "only the clock was not in step, and says so")
def _a_clock_that_is_not_in_step(place):
    place.anew(lambda lines: lines[-1]["at"].update(sync=False))


@vector("whole", "the log was made anew, and signed by all whose keys it needs")
def _signed_anew(place):
    place.anew()


@vector("not whole", "a word was changed, and nothing was made anew")
def _a_changed_word(place):
    place.raw(lambda raw: raw.replace(b"a word", b"a wird"))


@vector("not whole", "a word was changed under the last seal of an open run", OPEN)
def _a_changed_word_in_an_open_run(place):
    place.raw(lambda raw: raw.replace(b"a word", b"a wird"), OPEN)


def moved(name, reason, change):
    """Lines put elsewhere; the chain is made anew, no signature is."""

    def forge(place):
        rows = change(place.file("log.jsonl").read_bytes().splitlines(keepends=True))
        prev, made = ZEROS, b""
        for n, old in enumerate(rows):
            raw = encode({**json.loads(old), "n": n, "prev": prev})
            made, prev = made + raw, hashlib.sha256(raw).hexdigest()
        place.file("log.jsonl").write_bytes(made)

    VECTORS.append((name, "not whole", reason, CLOSED, forge))
    plain = f"{name}, and the chain left as it was"

    def leave(place):
        place.raw(lambda raw: b"".join(change(raw.splitlines(keepends=True))))

    VECTORS.append((plain, "not whole", "the chain is broken", CLOSED, leave))


moved("a line dropped", "no signature after it holds", lambda rows: [*rows[:3], *rows[4:]])
moved("a line doubled", "no signature after it holds", lambda rows: [*rows[:4], *rows[3:]])
moved("two lines swapped", "none holds", lambda rows: [*rows[:2], rows[3], rows[2], *rows[4:]])
moved("the end cut off", "the register knows more", lambda rows: rows[:-2])

form("a space in a line", "its bytes are not canonical", b'"at":{', b'"at": {')
form("a letter escaped", "its bytes are not canonical", b'"kind":"open"', b'"kind":"\\u006fpen"')
form("keys out of order", "not canonical", b'"run":"2026', b'"zun":"","run":"2026')
form(
    "a key twice",
    "its bytes are not canonical",
    b'"kind":"note"',
    b'"kind":"note","kind":"note"',
    3,
)
form("a fraction", "numbers are whole", b'"n":3', b'"n":3.0', 3)
form("an exponent", "numbers are whole", b'"n":3', b'"n":3e0', 3)
form("a number too large", "beyond 2^53 - 1", b'"up_ms":', b'"up_ms":90071992547', 3)
form("a negative time", "up_ms is not below 0", b'"up_ms":', b'"up_ms":-', 3)
form("no such day", "at.utc is no time", b"2026-03-10T", b"2026-02-30T", 3)
form("a time without milliseconds", "at.utc has three", b'.000Z"', b'Z"', 3)
form("a sync that is a number", "sync is true or false", b'"sync":true', b'"sync":1', 3)
form("a kind with a capital", "kind is lower case", b'"kind":"note"', b'"kind":"Note"', 3)
form("a kind of two words", "kind is one word", b'"kind":"note"', b'"kind":"side note"', 3)
form("a seventh key", "a line has six", b'"kind":"note"', b'"extra":"","kind":"note"', 3)
form("a key that is missing", "a line has six", b'"by":"ada-brook",', b"", 3)
form(
    "a private letter in a key", "keys end at U+DFFF", b'{"text"', '{"\ue001":"","text"'.encode(), 3
)
form("a line that is a list", "a line is an object", b'{"at"', b'[{"at"', 3)
form("a line ended as elsewhere", "CR LF", b"}\n", b"}\r\n", 3)
form("a mark before the first line", "byte order mark", b'{"at"', b'\xef\xbb\xbf{"at"')
form("a byte that is no UTF-8", "it is not UTF-8", b"a word", b"a w\xffrd", 3)
form("an empty line", "a line is an object", b"}\n", b"}\n\n", 3)
form("not a number", "NaN is no JSON", b'"n":3', b'"n":NaN', 3)


def lines_of(name, verdict, reason, change, run=CLOSED, sign=None):
    """Lines changed by whoever holds all keys."""
    VECTORS.append(
        (name, verdict, reason, run, lambda place: place.anew(change, run=run, sign=sign))
    )


def same(lines):
    """The lines as they are."""
    return lines


def signing(kind, change):
    """Sign one kind of line in another way."""
    return lambda line, *rest: change(line, *rest) if line["kind"] == kind else rest


lines_of(
    "an entry 0 that does not open",
    "not whole",
    "entry 0 has the kind open",
    lambda lines: lines[0].update(kind="note"),
)
lines_of(
    "no format",
    "not whole",
    "entry 0 gives the number of the format",
    lambda lines: _drop(lines[0], "format"),
)
lines_of(
    "no head of the register",
    "not whole",
    "entry 0 gives it",
    lambda lines: _drop(lines[0], "register_head"),
)
lines_of(
    "a head that the register never had",
    "not whole",
    "it was opened under another register",
    lambda lines: _put(lines[0], register_head="5" * 64),
)
lines_of(
    "a later format",
    "could not tell",
    "a reader of number 2 judges nothing from there on",
    lambda lines: _put(lines[0], format=99),
)
lines_of(
    "a later format from a seal on",
    "could not tell",
    "nothing is judged from there on",
    lambda lines: _put(lines[-1], format=99),
)
lines_of(
    "a line by nobody known",
    "not whole",
    "the register knows no such person",
    lambda lines: _at(lines, "note").update(by="zed-nobody"),
)
lines_of(
    "a signature of another entry",
    "not whole",
    "it signs the entry before it",
    lambda lines: _put(_at(lines, "sign"), of=1),
)
lines_of(
    "signed in another name",
    "not whole",
    "by and who are one person",
    lambda lines: _put(_at(lines, "sign"), who=BEN),
)
lines_of(
    "signed by another person",
    "not whole",
    "the words are somebody else's",
    lambda lines: _put(_at(lines, "sign"), "ben-mill", who=BEN),
)
lines_of(
    "the words of another person",
    "not whole",
    "the words begin with the signer's name",
    lambda lines: _put(
        next(line for line in lines if line["data"].get("says")), says="Ben Mill: I looked at it."
    ),
)
lines_of(
    "a seal in a person's name",
    "not whole",
    "a person's key is not for seals",
    lambda lines: _put(_at(lines[2:], "seal"), "ada-brook", who=ADA),
)
lines_of(
    "a picture outside the folder",
    "not whole",
    "it names a file outside",
    lambda lines: _put(_at(lines, "photo"), file="../../shop.yaml"),
)
lines_of(
    "a picture without its digest",
    "not whole",
    "sha256 is 64 digits",
    lambda lines: _put(_at(lines, "photo"), sha256="none"),
)
lines_of(
    "a seal over an earlier state",
    "not whole",
    "it signs all bytes before it",
    same,
    sign=signing("seal", lambda line, key, space, alg, raw: (key, space, alg, raw[:-1])),
)
lines_of(
    "a signature for another purpose",
    "not whole",
    "its namespace is sign@benchrun",
    same,
    sign=signing("sign", lambda line, key, space, alg, raw: (key, SEAL, alg, raw)),
)


@vector("not whole", "the armour is not as the stock tool writes it")
def _a_signature_in_longer_rows(place):
    def rewrap(n, raw):
        line = json.loads(raw)
        if line["kind"] != "sign":
            return raw
        body = "".join(line["data"]["sshsig"].splitlines()[1:-1])
        rows = "".join(body[at : at + 76] + "\n" for at in range(0, len(body), 76))
        armour = f"-----BEGIN SSH SIGNATURE-----\n{rows}-----END SSH SIGNATURE-----\n"
        return encode({**line, "data": {**line["data"], "sshsig": armour}})

    place.anew(spell=rewrap)


@vector("not whole", "a stranger's key stands for a name that the shop knows by another")
def _a_strangers_key(place):
    public = place.yard.strange.public
    row = Signer(ADA, public, (SIGN,)).text
    place.rows(lambda rows: [*(r for r in rows if ADA not in r), row], place.file("signers"))
    place.anew(sign=signing("sign", lambda line, key, *rest: (place.yard.strange, *rest)))


@vector("not whole", "the run's own signers do not have the key")
def _a_key_that_the_run_lacks(place):
    place.rows(lambda rows: [row for row in rows if ADA not in row], place.file("signers"))


@vector("not whole", "the run has no signers")
def _no_signers(place):
    place.file("signers").unlink()


@vector("not whole", "the shop had ended the key before")
def _a_key_that_had_ended(place):
    place.rows(lambda rows: ended(rows, ADA, "20260310075900Z"), place.path / "signers")


@vector("not whole", "nothing that a compromised key signed stands")
def _a_compromised_key(place):
    key = place.yard.keys[ADA].public.text
    place.rows(
        lambda rows: [
            *(row for row in rows if ADA not in row),
            f"# compromised 2026-04-01T08:00:00Z {ADA} {key} stolen",
        ]
    )


@vector("not whole", "nothing that a compromised key signed stands")
def _a_key_compromised_by_its_fingerprint(place):
    print_ = place.yard.keys[ADA].public.fingerprint
    place.rows(lambda rows: [*rows, f"# compromised 2026-04-01T08:00:00Z {ADA} {print_} stolen"])


@vector("not whole", "the register says that the key was ended before")
def _a_key_that_the_register_ended(place):
    key = place.yard.keys[ADA].public.text

    def end(rows):
        at = next(n for n, row in enumerate(rows) if row["data"].get("run") == CLOSED)
        change = {"principal": ADA, "key": key, "change": "ended"}
        return [
            *rows[:at],
            {**rows[at - 1], "kind": "keys", "data": {"changes": [change], "who": STATION}},
            *rows[at:],
        ]

    heads = [
        hashlib.sha256(raw).hexdigest()
        for raw in place.file("log.jsonl").read_bytes().splitlines(keepends=True)
    ]
    place.enter(heads, change=end)


@vector("not whole", "a key is good from its first second on")
def _a_key_that_was_not_good_yet(place):
    place.rows(
        lambda rows: [
            re.sub(r'valid-after="[^"]*"', 'valid-after="20270101000000Z"', row)
            if row.startswith(ADA)
            else row
            for row in rows
        ]
    )


@vector("not whole", "patterns are not accepted")
def _a_pattern_among_the_signers(place):
    place.rows(lambda rows: [row.replace(ADA, "*@shed") for row in rows], place.file("signers"))


@vector("not whole", "no other option is accepted")
def _an_authority_among_the_signers(place):
    place.rows(
        lambda rows: [row.replace("namespaces=", "cert-authority,namespaces=") for row in rows],
        place.file("signers"),
    )


@vector("not whole", "a line of signers is cut off")
def _a_line_of_signers_cut_off(place):
    place.rows(lambda rows: [*rows[:-1], rows[-1][:-9]], place.file("signers"))


@vector("could not tell", "the shop's own signers make no sense")
def _the_shops_signers_out_of_form(place):
    place.rows(lambda rows: [*rows, "anyone may sign"], place.path / "signers")


def beside(name, reason, file, content):
    """A file beside the log that is another, or gone."""

    def change(place):
        path = next(iter(place.file("photos").iterdir())) if file == "photo" else place.file(file)
        path.unlink(missing_ok=True)
        if content is not None:
            path.write_bytes(content)

    VECTORS.append((name, "not whole", reason, CLOSED, change))


beside("another procedure", "entry 0 gives its digest", "procedure.yaml", b"procedure: other\n")
beside("no procedure", "it is missing", "procedure.yaml", None)
beside("another picture", "its entry gives its digest", "photo", b"another")
beside("no picture", "it is missing", "photo", None)
beside("another seal over the whole", "it does not hold", "log.jsonl.sig", b"none\n")
beside(
    "another page of the format", "the seal of the close gives its digest", "FORMAT.md", b"# x\n"
)
beside(
    "another reader",
    "the seal of the close gives its digest",
    "record_reader.py",
    b"print('whole')\n",
)


@vector("could not tell", "there is no log")
def _no_log(place):
    place.file("log.jsonl").unlink()


@vector("not whole", "it has no entry")
def _an_empty_log(place):
    place.raw(lambda raw: b"")


@vector("not whole", "the log of a closed run ends within a line")
def _a_closed_run_that_ends_within_a_line(place):
    place.raw(lambda raw: raw[:-20])


@vector("not whole", "the register marked an entry that the log lacks", OPEN)
def _a_log_that_was_set_back(place):
    place.raw(lambda raw: b"".join(raw.splitlines(keepends=True)[:-2]), OPEN)


@vector("not whole", "its last entry has no seal that holds")
def _a_changed_register(place):
    place.register.write_bytes(place.register.read_bytes().replace(b'"n":0', b'"n":1', 1))


@vector("not whole", "another run was opened under a head that it lacks", OPEN)
def _a_cut_register(place):
    rows = place.register.read_bytes().splitlines(keepends=True)
    at = next(n for n, row in enumerate(rows) if b'"marked"' in row)
    place.register.write_bytes(b"".join(rows[:at]))


def last_row(change):
    """Change the last line of the register and nothing before it."""

    def forge(place):
        rows = place.register.read_bytes().splitlines(keepends=True)
        line = json.loads(rows[-1])
        change(place, line)
        place.register.write_bytes(b"".join([*rows[:-1], encode(line)]))

    return forge


def _strange_seal(place, line):
    data = {key: value for key, value in line["data"].items() if key != "sshsig"}
    digest = hashlib.sha512(encode({**line, "data": data})).digest()
    line["data"]["sshsig"] = sign_digest(place.yard.strange, SEAL, digest)


VECTORS += [
    (
        "a line of the register without its seal",
        "not whole",
        "each has one",
        CLOSED,
        last_row(lambda place, line: line["data"].pop("sshsig")),
    ),
    (
        "a line of the register sealed by a stranger",
        "not whole",
        "only the station seals",
        CLOSED,
        last_row(_strange_seal),
    ),
    (
        "a register with a line that lacks its run",
        "not whole",
        "opened names a run",
        CLOSED,
        lambda place: place.enter([], change=lambda rows: _drop(rows[-1], "run")),
    ),
]


@vector("not whole", "it has another head of the last entry")
def _a_register_with_another_head(place):
    def change(rows):
        rows[-1]["data"]["head"] = "7" * 64

    place.enter([], change=change)


def _text(raw):
    try:
        return {"text": raw.decode()}
    except UnicodeDecodeError:
        return {"base64": base64.b64encode(raw).decode()}


def aside(lines):
    """Enter a file that was set aside, as the program does after the close."""
    digest = hashlib.sha256(b"half a line").hexdigest()
    files = [{"file": "torn-1.bin", "sha256": digest, "bytes": 11}]
    return [*lines[:-1], {**lines[-1], "kind": "recovered", "data": {"files": files}}, lines[-1]]


def set_aside(content):
    """A file that was set aside, as it is now."""

    def change(place):
        place.anew(aside)
        if content is not None:
            place.file("torn-1.bin").write_bytes(content)

    return change


VECTORS += [
    ("a file set aside", "whole", "its entry gives its digest", CLOSED, set_aside(b"half a line")),
    ("a file set aside that is gone", "whole", "what lacks is a doubt", CLOSED, set_aside(None)),
    ("another file set aside", "not whole", "another digest", CLOSED, set_aside(b"another")),
]


@vector("whole", "a run that the register does not know is a doubt")
def _a_run_that_the_register_does_not_know(place):
    place.enter([], change=lambda rows: [r for r in rows if r["data"].get("run") != CLOSED])


@vector("whole", "a run that the register does not know is a doubt", OPEN)
def _an_open_run_that_the_register_does_not_know(place):
    shutil.rmtree(place.file(""))  # it was begun under a register that knew this one
    place.enter([], change=lambda rows: [r for r in rows if "run" not in r["data"]])


def told(**data):
    """Let the register end with an entry that tells what does not hold."""

    def change(place):
        row = {"kind": "doubt", "data": {"findings": ["it was cut"], "reason": "", **data}}
        place.enter(
            [],
            change=lambda rows: [
                *rows,
                {**rows[-1], **row, "data": {**row["data"], "who": STATION}},
            ],
        )

    return change


EARLIER = {"file": "register.jsonl.damaged-1", "sha256": "0" * 64, "head": "0" * 64}
VECTORS += [
    ("a doubt in the register", "whole", "somebody went on", CLOSED, told(reason="an old copy")),
    ("a register set aside that is gone", "not whole", "it stays", CLOSED, told(**EARLIER)),
]


def _alike(one, other):
    """How many bytes two texts begin with alike."""
    return next(
        (n for n, (a, b) in enumerate(zip(one, other, strict=False)) if a != b),
        min(len(one), len(other)),
    )


def _edits(before, after):
    """The shortest way from one tree to another: for each file what is put in place of what."""
    made = []
    for file in sorted({*before, *after}):
        old, new = before.get(file), after.get(file)
        if old == new:
            continue
        if new is None:
            made.append({"file": file, "gone": True})
            continue
        old = old or b""
        same = _alike(old, new)
        tail = _alike(old[same:][::-1], new[same:][::-1])
        cut = {"at": same, "cut": len(old) - same - tail}
        made.append({"file": file, **cut, **_text(new[same : len(new) - tail])})
    return made


def _tree(path):
    return {
        file.relative_to(path).as_posix(): file.read_bytes()
        for file in sorted(path.rglob("*"))
        if file.is_file() and not file.name.startswith(".") and file.parent.name != "keys"
    }


def _small(name):
    """What is laid beside a closed log is large, and no vector needs its own copy."""
    return Path(name).name not in ("FORMAT.md", "record_reader.py")


def main():
    """Write vectors.json beside this file."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["BENCHRUN_STATE"] = f"{folder}/state"
        yard = Yard(Path(folder) / "shop")
        base, kept = _tree(yard.shop.path), []
        shop = {name: _text(raw) for name, raw in base.items() if _small(name)}
        base = {name: raw for name, raw in base.items() if _small(name)}
        for number, (name, verdict, reason, run, change) in enumerate(VECTORS):
            place = Place(yard, Path(folder) / str(number))
            shutil.copytree(yard.shop.path, place.path)
            for file in [file for file in place.path.rglob("*") if not _small(file)]:
                file.unlink()
            change(place)
            row = {"name": name, "run": run, "verdict": verdict, "reason": reason}
            kept.append({**row, "edits": _edits(base, _tree(place.path))})
    about = "Invented records; apply the edits of a vector to a copy of shop, and judge its run."
    whole = {"about": about, "shop": shop, "vectors": kept}
    (HERE / "vectors.json").write_text(
        json.dumps(whole, indent=1, ensure_ascii=False) + "\n", "utf-8"
    )
    print(f"{len(kept)} vectors, {(HERE / 'vectors.json').stat().st_size} bytes")


if __name__ == "__main__":
    main()
