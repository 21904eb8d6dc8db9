"""A shop with one job: arms that are washed and coated, by runs moved by hand."""

from decimal import Decimal

from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.shop.folder import open_shop
from benchrun.signing_keys import change_settings, enrol, new_shop

WASH = """\
procedure: wash-arms
title: Wash arms
revision: 1
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 6, identity: cast number}
vessels: {tub: {title: etch tub, holds: 4}}
needs:
  supplies: [washing fluid]
  instruments: [{instrument: caliper, measures: width, range: 0 to 100 mm, resolution: 0.01 mm}]
stages:
  - stage: All
    steps:
      - dwell: Leave the arm in the tub.
        id: soak
        in: tub
        least: 10 min
        most: 20 min
        late: [go on]
        uses: {supply: washing fluid, amount: 50 ml}
      - reading: Measure the width.
        id: width
        unit: mm
        low: 10 mm
        high: 12 mm
        outside: [scrap, set aside]
        instrument: caliper
"""
COAT = """\
procedure: coat-arms
title: Coat arms
revision: 2
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 6}
stages:
  - stage: All
    steps:
      - repeat: Coats
        id: coats
        at least: 2
        at most: 2
        steps:
          - {do: Brush on a coat., id: coat}
"""
PARTS = """\
jobs:
  - id: trailer
    name: hose trailer
    owner: the museum
    figures:
      - {figure: end_float, value: 0.10 mm, document: workshop manual, page: 4-12}
parts:
  - {id: arm-1, name: arm, side: left, numbers: [cast 7], route: arm, job: trailer, where: shelf 2}
  - {id: arm-2, name: arm, side: right, numbers: [cast 8], route: arm, job: trailer}
  - id: arm-3
    name: arm
    route: arm
    job: trailer
    costs:
      - {on: 2026-11-20, what: welding, price: 12.50 EUR}
  - {id: arm-4, name: arm, route: arm, job: trailer}
  - id: pin
    name: pin
    own route: [coat-arms]
    job: trailer
    away:
      - {sent: 2026-11-02, to: the plater, count: 2, due: 2026-11-20}
  - {id: knob, name: knob, job: trailer}
"""
ROUTES = """\
routes:
  - id: arm
    name: arms
    procedures: [wash-arms, coat-arms]
    if scrapped: find-arms
"""
SUPPLIES = """\
supplies:
  - {id: fluid-1, name: washing fluid, amount: 1 l, price: 20.00 EUR, lot: W1}
"""
FIND = """\
procedure: find-arms
title: Find arms
revision: 1
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 6}
stages:
  - stage: All
    steps:
      - {do: Find another., id: find}
"""
INSTRUMENTS = """\
instruments:
  - {id: caliper-1, name: caliper, range: 0 to 150 mm, resolution: 0.01 mm, until: 2027-03-01}
"""
MINUTE = 60_000


class JobShop:
    """A shop of one person on a Wednesday, 14:02 UTC, with hours on that day."""

    def __init__(self, folder):
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="jobs")
        self.shop = new_shop(folder / "shop", "Ropewalk shop", self.clock.now())
        self.person = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="1234")
        hours = {"hours": "Wed 14:00-18:00, Fri 14:00-18:00"}
        self.shop = open_shop(change_settings(self.shop, hours).path)
        for name, text in (
            ("parts", PARTS), ("routes", ROUTES), ("supplies", SUPPLIES),
            ("instruments", INSTRUMENTS), ("vessels", ""),
        ):  # fmt: skip
            (self.shop.path / f"{name}.yaml").write_text(text)
        for name, text in (("wash-arms", WASH), ("coat-arms", COAT), ("find-arms", FIND)):
            (self.shop.path / "procedures" / f"{name}.yaml").write_text(text)

    @property
    def now(self):
        return self.clock.now()

    def begin(self, name, *tags, tag="aaaa"):
        procedure = load(self.shop.procedure(name))
        specs = [PartSpec(one) for one in tags]
        return begin(self.shop, procedure, specs, self.person, self.clock, tag=tag)

    def give(self, session, command, minutes=1):
        self.clock.wait(minutes * MINUTE)
        reply = session.send(command).result()
        assert isinstance(reply, Kept), reply
        session.tick().result()

    def washed(self, widths, tag="wash"):
        """A run in which each part is washed and measured; out of limits asks."""
        parts = tuple(widths)
        session = self.begin("wash-arms", *parts, tag=tag)
        self.give(session, c.PutIn("soak", parts, session.run.n))
        self.give(session, c.Lift(parts, session.run.n), minutes=12)
        for part, width in widths.items():
            number = str(Decimal(width))
            self.give(session, c.Do("width", (part,), session.run.n, typed=number))
        return session
