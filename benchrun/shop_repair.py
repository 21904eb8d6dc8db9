"""Putting right what stops a shop: a damaged register, a key of the station that is not good."""

from contextlib import suppress

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.record.findings import Grade
from benchrun.record.follow import ReadAlong
from benchrun.record.glimpse import LOG_NAME, run_paths
from benchrun.record.keys import make_key
from benchrun.record.register import Register, StationSeal
from benchrun.record.signers import read_signers, write_signers
from benchrun.record.sshsig import SEAL
from benchrun.record.trouble import RecordBroken
from benchrun.shop.file_writer import shop_lock
from benchrun.shop.folder import Shop
from benchrun.shop.people import people_sheet
from benchrun.signing_keys import (
    STATION,
    free_path,
    key_row,
    person_row,
    principal,
    register_of,
    station_key,
)


def repair(shop: Shop, by: str, at: Moment, why: str, *, new_key: bool = False) -> list[str]:
    """Put right what stops begin and close for ever: a damaged register, a key that is not good.

    Args:
        shop: The shop; no window may be writing a run.
        by: Who decides it.
        at: Now.
        why: What happened, in a few words.
        new_key: Whether the station gets another key although its own is good.

    Returns:
        A line for each thing that was done.

    Raises:
        BenchrunError: There is nothing to put right, no reason, or the disk refused.
    """
    if not why.strip():
        raise BenchrunError("say in a few words what happened, with --why")
    with shop_lock(shop.path):
        faults, set_back = _register_faults(shop)
        station = _station_fault(shop, at)
        if not (faults or set_back or station or new_key):
            raise BenchrunError("the register holds and the station's key is good: nothing to do")
        refuse_written(shop)
        done = []
        if station or new_key:
            done.append(_renew_station(shop, at, enter=not faults))
        wrong = [*faults, *([set_back] if set_back else []), *([station] if station else [])]
        if faults:
            people = [person_row(person) for person in people_sheet(shop).rows]
            file = register_of(shop).renew(at, by, wrong, why.strip(), people)
            done.append(f"the register was set aside as {file}, and another one begun")
        elif wrong:
            register_of(shop).enter_doubt(at, by, wrong, why.strip())
            done.append("the register tells it from now on as a doubt, and work goes on from it")
    return done


def _register_faults(shop: Shop) -> tuple[list[str], str]:
    """Why nothing can be sealed over the register, and whether this machine saw more of it."""
    try:
        register = Register(shop.path).read()
    except RecordBroken as error:
        return [error.found], ""
    found = register.seal_findings(read_signers(shop.signers))
    return [one.text for one in found if one.grade is Grade.FAULT], register.set_back()


def _station_fault(shop: Shop, at: Moment) -> str:
    """Why the station's key is not good, or empty."""
    try:
        key = station_key(shop).public
    except BenchrunError as error:
        return error.message
    own = principal(shop, STATION)
    signers = read_signers(shop.signers)
    verdict = signers.trusted(own, key, SEAL, at.utc_ms)
    why = signers.seals_no_more(own, key, at.utc_ms)
    if not why and not verdict.trusted and not verdict.early:
        why = verdict.why
    return f"the station's key {key.fingerprint} {why}" if why else ""


def refuse_written(shop: Shop) -> None:
    """Refuse while a window writes a run of the shop.

    Raises:
        BenchrunError: One does.
    """
    for path in run_paths(shop.runs):
        with suppress(RecordBroken), ReadAlong(path / LOG_NAME) as log:
            if log.written():
                raise BenchrunError(f"a window writes the run {path.name}: leave it first")


def _renew_station(shop: Shop, at: Moment, *, enter: bool) -> str:
    """Give the station another key; what the old one sealed until now still verifies."""
    own, path = principal(shop, STATION), shop.keys / STATION
    before = read_signers(shop.signers)
    new = free_path(path) if path.exists() else path
    key = make_key(new, None, STATION)
    after = before
    for row in before.of(own):
        if row.before is None or row.before > at.utc_ms:
            after = after.retire(own, row.key, at.utc_ms)
    after = after.add(key_row(shop, STATION, key.public, SEAL, at))
    if enter:
        Register(shop.path, StationSeal(key, own)).enter_signers(at, STATION, before, after)
    write_signers(shop.signers, after)
    if new != path:
        old = free_path(path.with_name(f"{STATION}-ended"))
        for ending in ("", ".pub"):
            with suppress(FileNotFoundError):
                path.with_name(f"{path.name}{ending}").rename(f"{old}{ending}")
            path.with_name(f"{new.name}{ending}").rename(f"{path}{ending}")
    return f"the station has the new key {key.public.fingerprint}; the old one has ended"
