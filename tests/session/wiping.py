"""A run of two invented steps that is begun and written in a window."""

from benchrun.procedure.load import load_bytes
from benchrun.record.clock import VirtualClock
from benchrun.run import commands as c
from benchrun.run.entries import PartSpec
from benchrun.session import Kept, begin
from benchrun.signing_keys import enrol, new_shop

PROCEDURE = b"""\
procedure: wipe-it
title: Wipe it (invented)
revision: 1
status: draft
scope: Invented, for tests only.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
      - {do: Dry the part., id: dry}
"""


class Wiping:
    """The shop, its clock and its person, and the window that writes the run."""

    def __init__(self, path):
        self.clock = VirtualClock()
        self.shop = new_shop(path / "shop", "Shop", self.clock.now())
        self.person = enrol(self.shop, "First Hand", self.clock.now(), passphrase="one")
        procedure = load_bytes(PROCEDURE, "wipe.yaml")
        self.writer = begin(self.shop, procedure, [PartSpec("a")], self.person, self.clock)
        self.folder = self.writer.folder

    def do(self, step):
        command = c.Do(step, ("a",), self.writer.run.n - 1)
        assert isinstance(self.writer.send(command).result(), Kept)
