"""Runs worked for the tests of reports: invented, in a virtual clock, by the live session."""

import struct
import zlib
from pathlib import Path

from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run.close_lines import lines_to_tick
from benchrun.run.entries import PartSpec, Tool
from benchrun.session import Kept, begin, closing_statement
from benchrun.signing_keys import enrol, new_shop

WORD = "six words nobody else would guess"
PAGE = """\
procedure: seat-look
title: {title}
revision: 3
status: draft
scope: Invented, for tests only.
batch: {{part: hub, at most: {most}}}
needs:
  instruments:
    - {{instrument: bore gauge, measures: bores, resolution: 0.001 mm}}
sources:
  practice: common practice, no source
vessels: {{tub: {{title: hot tub, holds: 4}}}}
stages:
  - stage: Clean
    steps:
      - do: Wipe the part clean{tail}.
        id: wipe
      - dwell: Soak the part in the tub.
        id: soak
        in: tub
        least: 10 min
        most: 20 min
        tend: {{every: 2 min, do: Turn the parts.}}
        early: [again, go on]
        late: [go on, set aside]
        source: practice
  - stage: Measure
    steps:
      - reading: Measure the bore.
        id: bore
        unit: mm
        places: [A, B]
        low: 61.949 mm
        high: 61.979 mm
        outside: [set aside, go on]
        in doubt: [go on, set aside]
        instrument: bore gauge
        resolution: 0.001 mm
        source: practice
      - work out: Work out the mean bore.
        id: bore-mean
        unit: mm
        formula: mean(bore)
        low: 61.949 mm
        high: 61.979 mm
        outside: [set aside, go on]
        source: practice
      - inspect: Look for cracks.
        id: cracks
        findings:
          none seen: go on
          crack: scrap
  - stage: Coat
    steps:
      - repeat: Coats
        id: coats
        at least: 2
        at most: 3
        until: cover is "even"
        steps:
          - do: Brush one thin coat on.
            id: coat
            window:
              {{after: coat, least: 1 min, most: 24 h, late: [go on, set aside], source: practice}}
          - inspect: Look along the wet coat.
            id: cover
            findings: {{even: go on, thin: go on}}
          - if: cover is "thin"
            id: has-thin
            steps:
              - do: Dab the thin places.
                id: dab
      - hold: Stop for a look.
        id: look
        signs: I looked at these parts{tail}.
close:
  restore: [Tub covered.]
  released by: restorer
  signs: The parts are as the log says.
"""


def png(wide=8, high=6):
    """A small grey picture."""
    rows = b"".join(b"\0" + bytes([120 + y] * wide) for y in range(high))

    def chunk(kind, data):
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


class Worked:
    """A run that is being worked; every command must be taken."""

    def __init__(
        self, place: Path, parts, title="Look at the seat", tail="", name="Ann Ode", most=6, book=""
    ):
        self.clock = VirtualClock("2026-03-02T08:00:00.000Z", name="bench")
        self.shop = new_shop(place / "shop", "Invented Shop", self.clock.now())
        roles = ("restorer", "checker")
        self.ann = enrol(self.shop, name, self.clock.now(), passphrase=WORD, roles=roles)
        if book:
            (self.shop.path / "instruments.yaml").write_text(book, "utf-8")
        page = place / "seat-look.yaml"
        page.write_text(PAGE.format(title=title, tail=tail, most=most), "utf-8")
        self.procedure = load(page)
        specs = [PartSpec(*((one,) if isinstance(one, str) else one)) for one in parts]
        self.session = begin(self.shop, self.procedure, specs, self.ann, self.clock)
        self.parts = tuple(spec.part for spec in specs)

    @property
    def seen(self):
        return self.session.run.n - 1

    @property
    def folder(self):
        return self.session.folder.path

    def send(self, command):
        reply = self.session.send(command).result()
        assert isinstance(reply, Kept), reply
        self.clock.wait(60_000)
        return reply.entries[-1].n

    def do(self, step, *parts, **more):
        return self.send(c.Do(step, parts or self.parts, self.seen, **more))

    def read(self, part, typed, tool=None):
        return self.do("bore", part, typed=typed, tool=tool)

    def soak(self, *parts, minutes=12, **more):
        parts = parts or self.parts
        self.send(c.PutIn("soak", parts, self.seen))
        self.clock.wait(minutes * 60_000 - 60_000)
        return self.send(c.Lift(parts, self.seen, **more))

    def answer(self, code, *parts, reason=""):
        asked = {part: self.session.run.markers[part].questions[0].id for part in parts}
        return self.send(c.Settle(parts, self.seen, asked, code, reason))

    def photo(self, content, name="hub.png", text="", parts=()):
        source = self.folder.parent.parent / name
        source.write_bytes(content)
        kept = self.session.folder.keep_photo(source, unsure=True)
        return self.send(c.KeepPhoto(kept.file, kept.sha256, kept.size, "bore", text, tuple(parts)))

    def tick(self, **not_done):
        for line in lines_to_tick(self.session.run):
            reason = not_done.get(line.sort.replace(" ", "_"), "")
            self.send(c.TickLine(line.sort, line.number, not reason, reason))

    def sign(self, step):
        if step == "release":
            self.tick()
        reply = self.session.sign(c.Do(step, self._at(step), self.seen), WORD).result()
        assert isinstance(reply, Kept), reply
        self.clock.wait(60_000)

    def _at(self, step):
        index = self.session.run.route.index[step]
        return tuple(m.part for m in self.session.run.each() if m.free and m.index == index)

    def coat(self, *parts, rounds=2):
        for _ in range(rounds):
            self.do("coat", *parts)
            self.do("cover", *parts, finding="even")

    def close(self, **reasons):
        for step in self.session.run.route.steps:
            if self._at(step):
                detail = self.session.run.route.steps[step].detail
                if type(detail).__name__ == "Hold":
                    self.sign(step)
                else:
                    self.do(step, *self._at(step))
        self.tick()
        says = closing_statement(self.session.hand)
        reply = self.session.sign(c.Close(reasons, says), WORD).result()
        assert isinstance(reply, Kept), reply


def troubled(place: Path) -> Worked:
    """A run with many deviations."""
    work = Worked(place, [("hub L", 1, "cast 4-117"), ("hub R", 1, "cast 4-118"), "hub S"])
    work.do("wipe")
    work.soak("hub L", "hub R", minutes=12)
    work.soak("hub S", minutes=5)
    work.answer("go on", "hub S", reason="the tub was wanted")
    gauge = Tool("bore gauge 7", "0.002")
    first = work.read("hub L", "61,96", gauge)
    work.read("hub L", "61.978", gauge)
    work.answer("go on", "hub L", reason="measured twice alike")
    work.read("hub R", "61.990")
    work.answer("go on", "hub R", reason="to be sleeved")
    work.read("hub R", "61.970")
    work.read("hub S", "61.960")
    work.read("hub S", "61.964")
    work.do("bore-mean")
    work.answer("go on", "hub R", reason="to be sleeved")
    work.send(c.Correct(first, "hub L", "two digits swapped", typed="61.956", place="A"))
    work.do("cracks", "hub L", "hub R", finding="none seen")
    tap = work.do("cracks", "hub S", finding="none seen")
    work.send(c.Retract(tap, work.seen, "wrong part looked at"))
    work.do("cracks", "hub S", finding="crack")
    work.answer("scrap", "hub S")
    work.photo(png(), text="crack at the web", parts=["hub S"])
    work.send(c.KeepLesson("Warm the gauge first.", "bore"))
    work.send(c.KeepNote("The left hub has a chipped edge.", "bore", ("hub L",)))
    work.clock.reboot(90_000, True)
    work.coat("hub L", "hub R")
    work.close()
    return work
