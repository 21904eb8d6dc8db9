"""Forgers of a run, each as good as what they hold allows, for the table on the format's page."""

import hashlib
import json
import shutil
from dataclasses import dataclass, field

from benchrun.account.gather import gather
from benchrun.board import look
from benchrun.errors import BenchrunError
from benchrun.procedure.load import load_bytes
from benchrun.record.anchor import state_folder
from benchrun.record.clock import VirtualClock
from benchrun.record.keys import make_key
from benchrun.record.line import ZEROS, encode
from benchrun.record.register import Register
from benchrun.record.signers import Signer, Signers, read_signers, write_signers
from benchrun.record.sshsig import SEAL, SIGN, sign_digest
from benchrun.record.trouble import Unsound
from benchrun.report.proof import trust_words
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import begin, closing_statement, take_up
from benchrun.signing_keys import enrol, new_shop, person_key, station_key
from benchrun.verify import trust_of, verify, verify_shop

PROCEDURE = b"""\
procedure: wipe-it
title: Wipe it
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
      - {do: Dry the part., id: dry}
"""
HOLDS = ("no key", "own key", "station's key", "whole folder")
DOES = (
    "change",
    "drop",
    "insert",
    "reorder",
    "replace run",
    "replace signers",
    "cut register",
    "swap picture",
    "swap procedure",
)
STATES = ("open", "suspended", "closed")
ADA, BEN, STATION = "ada-brook@shed", "ben-mill@shed", "station@shed"


@dataclass
class Victim:
    """A shop with a run in one of three states, and a later run that was closed."""

    path: object
    state: str
    later_run: bool = True
    clock: VirtualClock = field(default_factory=lambda: VirtualClock("2026-03-10T08:00:00.000Z"))

    def __post_init__(self):
        self.shop = new_shop(self.path / "shop", "Shed", self.clock.now())
        self.ada = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="one")
        self.ben = enrol(self.shop, "Ben Mill", self.clock.now(), passphrase="two")
        self.run = self._worked()
        self.folder = self.run.folder
        if self.state == "closed":
            self._close(self.run)
        else:
            self.run.leave()
        self.later = self._later()
        if self.state == "open":
            self._kill()
        self.head = Register(self.shop.path).read().short_head
        self.opened = json.loads(self.folder.log.read_bytes().splitlines()[0])["data"]

    def _later(self):
        if not self.later_run:
            return None
        later = self._worked()
        self._close(later)
        return later.folder

    def _worked(self):
        self.clock.wait(5000)
        procedure = load_bytes(PROCEDURE, "wipe.yaml")
        run = begin(self.shop, procedure, [PartSpec("a")], self.ada, self.clock)
        self.clock.wait(5000)
        picture = self.path / "hub.jpg"
        picture.write_bytes(b"an invented picture")
        sent = [c.Do("wipe", ("a",), 1), c.KeepNote("first word"), c.KeepNote("second word")]
        sent.append(run.copy_photo(picture, unsure=True))
        for command in sent:
            run.send(command).result()
            self.clock.wait(5000)
        return run

    def _close(self, run):
        run.send(c.Do("dry", ("a",), run.run.n - 1)).result()
        run.sign(c.Close({}, closing_statement(run.hand)), "one").result()
        run.leave()

    def _kill(self):
        """Leave what a kill would have left: neither seal nor mark of the leaving."""
        raw = self.folder.log.read_bytes().splitlines(keepends=True)
        self.folder.log.write_bytes(b"".join(raw[:-1]))
        register = Register(self.shop.path).path
        rows = [json.loads(row) for row in register.read_bytes().splitlines()]
        rows = [row for row in rows if row["kind"] != "marked"]
        key = station_key(self.shop)
        register.write_bytes(chained(rows, lambda line, _: reseal_register(line, key)))
        self._after_kill()

    def _after_kill(self):
        """The later run was begun under the register as it is without the mark."""
        shutil.rmtree(state_folder(), ignore_errors=True)
        if self.later is None:
            Register(self.shop.path).read().keep_seen()
            return
        shutil.rmtree(self.later.path)
        register = Register(self.shop.path).path
        rows = register.read_bytes().splitlines(keepends=True)
        gone = self.later.run.encode()
        register.write_bytes(b"".join(row for row in rows if gone not in row))
        self.later = self._later()


def chained(lines, finish):
    """Lines numbered and chained anew; `finish` may make a signature over what stands before."""
    prev, made = ZEROS, b""
    for n, old in enumerate(lines):
        line = {**old, "n": n, "prev": prev}
        if line["kind"] == "sign":
            line["data"] = {**line["data"], "of": n - 1}
        raw = encode(finish(line, made))
        prev = hashlib.sha256(raw).hexdigest()
        made += raw
    return made


def reseal_register(line, key):
    data = {k: v for k, v in line["data"].items() if k != "sshsig"}
    if "who" not in data:
        return line
    digest = hashlib.sha512(encode({**line, "data": data})).digest()
    return {**line, "data": {**data, "sshsig": sign_digest(key, SEAL, digest)}}


class Forger:
    """Somebody who can write the shop's folder, and holds what they hold."""

    def __init__(self, victim, holds, does):
        self.victim, self.holds, self.does = victim, holds, does
        self.folder, self.shop = victim.folder, victim.shop
        self.register = Register(self.shop.path).path
        path = victim.path / "forger"
        path.mkdir()
        self.strange = make_key(path / "strange", None)
        self.strange_station = make_key(path / "station", None)
        self.station = None
        if holds in ("station's key", "whole folder"):
            self.station = station_key(self.shop)
        self.bens = person_key(victim.ben).unlock("two") if holds == "own key" else None

    def forge(self):
        if self.does == "cut register":
            self._cut_register()
            return
        lines = [json.loads(raw) for raw in self.folder.log.read_bytes().splitlines()]
        lines = self._changed(lines)
        if self.station is None and self.does not in ("replace run", "replace signers"):
            lines = self._without_later_seals(lines)
        raw = chained(lines, self._signed)
        self.folder.log.write_bytes(raw)
        self._whole_seal(raw)
        if self.station is None:
            self._cut_register()
        else:
            self._rewrite_register(raw)

    def _changed(self, lines):
        notes = [n for n, line in enumerate(lines) if line["kind"] == "note"]
        first, second = notes
        if self.does in ("change", "replace run", "replace signers"):
            lines[first]["data"]["text"] = "another word"
        elif self.does == "drop":
            del lines[first]
        elif self.does == "insert":
            slipped = json.loads(json.dumps(lines[first]))
            slipped["data"]["text"] = "slipped in"
            lines.insert(second, slipped)
        elif self.does == "reorder":
            texts = [lines[n]["data"]["text"] for n in notes]
            lines[first]["data"]["text"], lines[second]["data"]["text"] = reversed(texts)
        elif self.does == "swap picture":
            photo = next(line for line in lines if line["kind"] == "photo")
            self._swap(self.folder.path / photo["data"]["file"], b"another invented one")
            photo["data"]["sha256"] = hashlib.sha256(b"another invented one").hexdigest()
            photo["data"]["bytes"] = len(b"another invented one")
        elif self.does == "swap procedure":
            other = PROCEDURE.replace(b"One part.", b"Any part.")
            self._swap(self.folder.procedure, other)
            lines[0]["data"]["procedure_sha256"] = hashlib.sha256(other).hexdigest()
        if self.does in ("replace run", "replace signers"):
            self._replace_signers()
        return lines

    def _swap(self, path, content):
        path.chmod(0o644)
        path.write_bytes(content)

    def _replace_signers(self):
        """Keys of the forger's own in the names of the shop."""
        station = self.station or self.strange_station
        rows = Signers().add(Signer(STATION, station.public, (SEAL,)))
        self.folder.write_signers(rows.add(Signer(ADA, self.strange.public, (SIGN,))))
        if self.holds == "whole folder":
            shops = read_signers(self.shop.signers)
            write_signers(self.shop.signers, shops.add(Signer(ADA, self.strange.public, (SIGN,))))

    def _without_later_seals(self, lines):
        """As a kill would have left it: what no key of theirs can make again is dropped."""
        last = max(n for n, line in enumerate(lines) if line["kind"] == "photo")
        lines = lines[: last + 1]
        kept = lines if self.does == "swap procedure" else lines[2:]
        fresh = [line for line in kept if line["kind"] not in ("seal", "sign")]
        self.folder.seal.unlink(missing_ok=True)
        if self.bens is None:
            return fresh if kept is lines else [*lines[:2], *fresh]
        own = json.loads(json.dumps(fresh[-1]))
        own["kind"], own["by"] = "sign", "ben-mill"
        own["data"] = {"who": BEN, "of": 0, "sshsig": "", "parts": []}
        rows = self.folder.read_signers()
        self.folder.write_signers(rows.add(Signer(BEN, self.bens.public, (SIGN,))))
        return [*(fresh if kept is lines else [*lines[:2], *fresh]), own]

    def _signed(self, line, before):
        """A seal or signature made anew by a key that they hold; else the old one."""
        digest, who = hashlib.sha512(before).digest(), line["data"].get("who", "")
        key = None
        replaced = self.does in ("replace run", "replace signers")
        if line["kind"] == "seal":
            key = self.station or (self.strange_station if replaced else None)
        elif line["kind"] == "sign":
            key = self.strange if replaced and who == ADA else None
            key = self.bens if who == BEN else key
        if key is None or (line["kind"] == "seal" and line["n"] == 1 and not self._touches_0()):
            return line
        namespace = SEAL if line["kind"] == "seal" else SIGN
        data = {**line["data"], "sshsig": sign_digest(key, namespace, digest)}
        return {**line, "data": data}

    def _touches_0(self):
        return self.does in ("replace run", "replace signers", "swap procedure")

    def _whole_seal(self, raw):
        if not self.folder.seal.exists():
            return
        replaced = self.does in ("replace run", "replace signers")
        key = self.station or (self.strange_station if replaced else None)
        if key is not None:
            self._swap(
                self.folder.seal, sign_digest(key, SEAL, hashlib.sha512(raw).digest()).encode()
            )

    def _cut_register(self):
        """Behind the line with which the run was opened."""
        rows = self.register.read_bytes().splitlines(keepends=True)
        mine = self.folder.run.encode()
        opened = next(n for n, row in enumerate(rows) if b'"opened"' in row and mine in row)
        self.register.write_bytes(b"".join(rows[: opened + 1]))

    def _rewrite_register(self, raw):
        heads = [hashlib.sha256(row).hexdigest() for row in raw.splitlines(keepends=True)]
        ends = {"opened": None, "marked": len(heads) - 1, "closed": len(heads) - 1}
        rows = [json.loads(row) for row in self.register.read_bytes().splitlines()]
        for row in rows:
            if row["data"].get("run") == self.folder.run:
                n = ends[row["kind"]]
                row["data"]["n"] = row["data"]["n"] if n is None else n
                row["data"]["head"] = heads[row["data"]["n"]]
        sealed = chained(rows, lambda line, _: reseal_register(line, self.station))
        self.register.write_bytes(sealed)


def seen(victim):
    """By what the forgery is seen, best first: the run's own check, the shop's, the noted head."""
    trust = trust_of(victim.shop.path)
    verdict = verify(victim.folder.path, trust=trust)
    later = verify(victim.later.path, trust=trust) if victim.later else None
    runs = {one.run: one.run for one in (verdict, later) if one}
    shop = verify_shop(victim.shop.path, trust, runs)
    noted = verify_shop(victim.shop.path, trust, runs, head=victim.head)
    fine = {"the run is not closed"}
    doubts = [text for text in verdict.doubts if text not in fine and "under no" not in text]
    if not verdict.whole:
        return "fault"
    if not shop.whole or (later and not later.whole):
        return "fault of the shop"
    doubts += [text for text in later.doubts if "lies in" not in text] if later else []
    if doubts or shop.doubts:
        return "doubt"
    return "by the head" if not noted.whole else "unseen"


def handed_over(victim):
    """The front of the report of the run, and whether the board tells of a register set back."""
    verdict = verify(victim.folder.path)
    sheet = trust_words(gather(victim.folder.path, verdict.as_data())).text
    board = look(victim.shop, victim.clock.now()).open_runs
    told = any("this machine saw" in run.fault for run in board)
    return "DAMAGED" if "DAMAGED" in sheet else "whole", "told" if told else "not told"


def resumed(victim):
    """Whether the run is taken up without a word."""
    if victim.state == "closed" and victim.folder.seal.exists():
        return ""
    try:
        take_up(victim.shop, victim.folder, victim.ada, victim.clock).leave()
    except Unsound:
        return "refused"
    except BenchrunError:
        return ""
    return "resumed"


class Victims:
    """Shops to be forged, each made once and given as it was made."""

    def __init__(self, path):
        self.path, self._made = path, {}

    def fresh(self, state, *, later_run):
        """A victim as nobody has touched it, and what this machine saw of it."""
        place = self.path / f"{state}-{later_run}"
        kept, saw = place.with_suffix(".kept"), place.with_suffix(".saw")
        if place not in self._made:
            place.mkdir()
            self._made[place] = Victim(place, state, later_run)
            shutil.copytree(place, kept)
            shutil.copytree(state_folder(), saw)
        for now, before in ((place, kept), (state_folder(), saw)):
            shutil.rmtree(now, ignore_errors=True)
            shutil.copytree(before, now)
        return self._made[place]


def outcome(victim, holds, does, *, anchor):
    """What verify, report, resume and board say of a forgery.

    Args:
        victim: Whom it is done to.
        holds: What the forger holds.
        does: What is done.
        anchor: Whether this machine saw the shop before.

    Returns:
        Verify and resume as the tables have them; the front of the report; whether the board tells.
    """
    Forger(victim, holds, does).forge()
    if not anchor:
        shutil.rmtree(state_folder())
    verdict, (report, told) = seen(victim), handed_over(victim)
    return ", ".join(filter(None, (verdict, resumed(victim)))), report, told
