"""What the full check before a run is gone on with costs, against taking the run up without it."""

import hashlib
import time
from pathlib import Path

import pytest

from benchrun.gc_pause import no_collecting
from benchrun.load_run import entry_of, folded, kept_procedure
from benchrun.procedure.load import load_bytes
from benchrun.procedure.route import Procedure
from benchrun.record.clock import VirtualClock
from benchrun.record.digests import RunningDigests
from benchrun.record.folder import RunFolder
from benchrun.record.line import ZEROS, encode
from benchrun.record.register_log import RunState
from benchrun.record.seals import seal_data
from benchrun.record.signers import Signers
from benchrun.record.sshsig import SEAL, sign_digest
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Hand
from benchrun.run.course import Course
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.run.offers import offers
from benchrun.run.state import Run
from benchrun.session import take_up
from benchrun.session.keeping import station_row
from benchrun.shop.folder import Shop
from benchrun.signing_keys import STATION, enrol, new_shop, principal, register_of, station_key

pytestmark = [pytest.mark.bench, pytest.mark.timeout(900)]

ENTRIES = 3_000
PROCEDURE = b"""\
procedure: many-wipes
title: Wipe many times (invented, for timings)
revision: 1
status: draft
scope: Invented, for timings only.
batch: {part: bracket, at most: 60}
stages:
  - stage: All
    steps:
      - repeat: Wipes
        id: wipes
        at least: 60
        steps:
          - do: Wipe the part clean.
            id: wipe
"""


def sealed_run(shop: Shop, procedure: Procedure, clock: VirtualClock) -> tuple[RunFolder, int]:
    """A run of 3,000 entries as the rules made them, an entry a minute and a seal every 15."""
    folder = RunFolder.create(shop.runs, procedure.id, clock.now(), procedure.content)
    folder.write_signers(Signers().add(station_row(shop, clock.now())))
    key, own, hand = station_key(shop), principal(shop, STATION), Hand("ann", "Ann")
    digests, rows, seals = RunningDigests("sha512"), [], 0
    run, head = Run(Course(procedure.route)), ZEROS

    def keep(data: e.Data, by: str) -> None:
        nonlocal run, head
        entry = e.Entry(run.n, clock.now(), by, data)
        line = {"n": run.n, "at": entry.at.as_data(), "by": by, "kind": entry.kind, "prev": head}
        raw = encode({**line, "data": e.data_of(data)})
        run, head = fold(run, entry), hashlib.sha256(raw).hexdigest()
        rows.append(raw)
        digests.add(raw)

    about = {
        "format": 1,
        "run": folder.run,
        "procedure_sha256": procedure.sha256,
        "register_head": ZEROS,
        "people": {hand.id: {"name": hand.name, "roles": []}},
    }
    specs = tuple(e.PartSpec(f"part {n}") for n in range(60))
    keep(decide(run, c.Open(specs, about), clock.now(), hand), hand.id)
    while run.n < ENTRIES - 1:
        clock.wait(60_000)
        if run.n % 15 == 0:
            sshsig = sign_digest(key, SEAL, digests.digest("sha512"))
            keep(e.Sealed(sshsig, own, "quarter hour"), STATION)
            seals += 1
        else:
            offer = offers(run, clock.now())[0]
            did = c.Do(offer.step.id, offer.parts[:1], run.n - 1)
            keep(decide(run, did, clock.now(), hand), hand.id)
    keep(e.Sealed(sign_digest(key, SEAL, digests.digest("sha512")), own, "suspend"), STATION)
    folder.log.write_bytes(b"".join(rows))
    register_of(shop).enter(
        clock.now(), STATION, "opened", RunState(folder.run, 0, hashlib.sha256(rows[0]).hexdigest())
    )
    return folder, seals + 1


def test_taking_up_a_run_of_3000_entries_with_the_full_check(tmp_path: Path):
    clock = VirtualClock()
    shop = new_shop(tmp_path / "shop", "Shop", clock.now())
    person = enrol(shop, "Somebody", clock.now(), passphrase="word")
    folder, seals = sealed_run(shop, load_bytes(PROCEDURE, "many.yaml"), clock)
    key, own = station_key(shop), principal(shop, STATION)

    def unchecked() -> None:
        """What taking a run up does besides the check."""
        with folder.open_log() as writer:
            lines = writer.take_found().lines
            known = kept_procedure(folder, lines[0].data)
            with no_collecting():
                folded(known, tuple(entry_of(line) for line in lines))
            writer.append(clock.now(), STATION, "seal", seal_data(writer, key, own, "resume"))

    ours, floor = [], []  # of processor time, as other work on the machine is no cost of this
    for _ in range(9):
        begun = time.process_time()
        session = take_up(shop, folder, person, clock)
        ours.append((time.process_time() - begun) * 1000)
        session.leave()
        begun = time.process_time()
        unchecked()
        floor.append((time.process_time() - begun) * 1000)
    mine, bare = min(ours), min(floor)
    print(f"a run of {ENTRIES} entries, {seals} seals")
    print(f"bench record.resume ratio={mine / bare:.2f} ours={mine:.3g} floor={bare:.3g} unit=ms")
