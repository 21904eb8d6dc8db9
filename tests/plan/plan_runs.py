"""A shop with open runs, its clock moved by hand, to be planned."""

import datetime as dt
from dataclasses import replace

from benchrun.board import look
from benchrun.plan.evening import plan_shop
from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.signing_keys import change_settings, enrol, new_shop

HEAD = """\
procedure: {id}
title: {title}
revision: 1
status: draft
scope: Arms. Invented.
batch: {{part: arm, at most: 9}}
vessels: {{tub: {{title: etch tub, holds: 2}}}}
stages:
  - stage: All
    steps:
"""
JOB = (
    HEAD.format(id="two-coats", title="Two coats on an arm")
    + """\
      - {do: Brush on the first coat., id: first}
      - do: Brush on the second coat.
        id: second
        window:
          after: first
          least: 2 h
          most: 24 h
          late:
            - first: [{do: Scuff the coat., id: scuff}]
              at most: 3
            - set aside
      - {do: Look at the coats., id: look}
"""
)


class Shop:
    """A shop of one person on a Wednesday, 14:02 UTC."""

    ETCH = (
        HEAD.format(id="etch-arms", title="Etch arms")
        + """\
      - dwell: Keep it wet.
        id: etch
        in: tub
        least: 20 min
        most: 30 min
        late: [set aside]
      - do: Rinse it.
        id: rinse
        window: {after: etch, most: 2 min, late: [set aside]}
"""
    )

    def __init__(self, folder, hours):
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="plan")
        self.shop = new_shop(folder / "shop", "Ropewalk shop", self.clock.now())
        self.person = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="1234")
        if hours:
            self.shop = change_settings(self.shop, {"hours": hours})
        self.runs = 0

    @property
    def now(self):
        return self.clock.now()

    def begin(self, text, parts):
        procedure = load_bytes(text.encode(), f"{text.split()[1]}.yaml")
        self.runs += 1
        specs = [PartSpec(part) for part in parts]
        return begin(self.shop, procedure, specs, self.person, self.clock, tag=f"pln{self.runs}")

    def give(self, session, command):
        seen = session.run.n - 1
        assert isinstance(session.send(replace(command, seen=seen)).result(), Kept)

    def plan(self):
        return plan_shop(self.shop, look(self.shop, self.now).open_runs, self.now, zone=dt.UTC)
