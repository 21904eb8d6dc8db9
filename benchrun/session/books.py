"""The shop's books beside a live run: they follow its log and never hold it up."""

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.run import commands as c
from benchrun.run.commands import Command
from benchrun.run.corrections import Amended
from benchrun.run.entries import Entry
from benchrun.run.photos import photos_by_part
from benchrun.run.state import Run
from benchrun.run.strengths import baths_of, strengths
from benchrun.shop.amounts import day_of
from benchrun.shop.folder import Shop
from benchrun.shop.supplies import read_supplies
from benchrun.shop_use.part_states import book_states, enter_states
from benchrun.shop_use.strengths import enter_strengths
from benchrun.shop_use.supplies import enter_parts, enter_uses, tins_for

TOUCHING = (
    c.Do,
    c.PutIn,
    c.Lift,
    c.Skip,
    c.Settle,
    c.Put,
    c.GetBack,
    c.Retract,
    c.Correct,
    c.Add,
    c.KeepPhoto,
    c.Close,
)
"""The commands after which the books may have something to follow."""


_NOT_BOOKED: Final = (None, None)


class Books:
    """The books of one run's shop.

    Attributes:
        trouble: Why they do not say yet what the log does; empty when they do.
        taken: The ids of tins taken in hand, by what the procedure calls the supply.
    """

    def __init__(self, shop: Shop, run: str) -> None:
        self._shop = shop
        self._run = run
        self._entered: Mapping[str, Sequence[str]] = {}
        self._states: Mapping[str, str] = {}
        self._booked: tuple[object, object] = _NOT_BOOKED
        self._amended = Amended()
        self.trouble = ""
        self.taken: dict[str, str] = {}

    def with_tins(self, run: Run, command: Command, now: Moment) -> Command:
        """A command that says which of the shop's tins its supplies come from.

        What the command says itself stands; the rules refuse what is wrong with it.
        """
        if not isinstance(command, c.Do | c.PutIn):
            return command
        step = run.route.steps.get(command.step)
        if step is None or not step.uses or not run.markers.keys() >= set(command.parts):
            return command
        told = {one.supply: one for one in command.uses}
        if len(told) < len(command.uses):
            return command
        supplies, today = read_supplies(self._shop), day_of(now)
        for tin in tins_for(supplies, run, step, command.parts, today, self.taken):
            own = told.get(tin.supply)
            if own is None or not own.name:
                told[tin.supply] = replace(tin, typed=own.typed if own else "")
        return replace(command, uses=tuple(told.values()))

    def follow(self, run: Run, entries: Sequence[Entry]) -> None:
        """Make the books say what the log does; what they do not take is tried again next time."""
        self.trouble = ""
        try:
            shown = photos_by_part(entries)
            photos = {part: [photo.file for photo in shown.get(part, ())] for part in run.parts}
            if photos != self._entered:
                enter_parts(self._shop, self._run, photos)
                self._entered = photos
        except BenchrunError as error:
            self._told(error)
        for enter in (self._part_states, self._uses, self._strengths):
            try:
                enter(run, entries)
            except BenchrunError as error:
                self._told(error)

    def _part_states(self, run: Run, _entries: Sequence[Entry]) -> None:
        states = book_states(run)
        if states != self._states:
            enter_states(self._shop, self._run, states)
            self._states = states

    def _uses(self, run: Run, entries: Sequence[Entry]) -> None:
        if not any(step.uses for step in run.route.steps.values()):
            return
        used, sheet = self._booked
        if used is run.used and sheet is read_supplies(self._shop):
            return  # neither the log nor the book says anything else than when they agreed
        self._booked = _NOT_BOOKED
        enter_uses(self._shop, self._run, run.used, _days(entries))
        self._booked = run.used, read_supplies(self._shop)

    def _strengths(self, run: Run, entries: Sequence[Entry]) -> None:
        if baths_of(run.route):
            self._amended.read(entries)
            read = strengths(run.route, entries, self._amended)
            enter_strengths(self._shop, self._run, run.route.vessels, read, _days(entries))

    def _told(self, error: BenchrunError) -> None:
        """Keep the first trouble: what stands in one file's way mostly stands in all others'."""
        self.trouble = self.trouble or f"Recorded in the log, not yet in the books: {error.message}"


def _days(entries: Sequence[Entry]) -> Callable[[int], dt.date]:
    """The day of an entry by its number; of one that the log no longer has, that of the last."""
    return lambda n: day_of(entries[min(n, len(entries) - 1)].at)
