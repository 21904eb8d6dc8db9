"""Who is here on an evening: how many, and with which roles, by the hours and the people book."""

import datetime as dt
from collections.abc import Iterable, Mapping

from benchrun.errors import BenchrunError
from benchrun.plan.pieces import RunAhead
from benchrun.plan.trains import roles_of
from benchrun.plan.workload import Attendance
from benchrun.shop.folder import Shop
from benchrun.shop.hours import Hours
from benchrun.shop.people import Person, read_people
from benchrun.text import listed

Crew = Mapping[str, Person]
"""Everybody who works in the shop, by their ids; empty where the hours name nobody."""


def attendance_on(hours: Hours, day: dt.date, usual: int, crew: Crew) -> Attendance:
    """Who is here on a day.

    Args:
        hours: What is said of it.
        day: The day.
        usual: How many work where nothing is said.
        crew: The people of the shop.
    """
    said, names = hours.people_on(day), hours.names_on(day)
    people = usual if said is None else said
    if not names or any(name not in crew for name in names):
        return Attendance(people)
    return Attendance(people, _all(frozenset(crew[name].roles) for name in names))


def scarce_roles(runs: Iterable[RunAhead], here: Iterable[Attendance]) -> frozenset[str]:
    """The roles that steps ahead want and nobody has on some evening of which it is said."""
    known = [one.roles for one in here if one.roles is not None]
    if not known:
        return frozenset()
    wanted = _all(roles_of(step) for one in runs for step in one.run.route.steps.values())
    return frozenset(role for role in wanted if any(role not in roles for roles in known))


def crew_of(shop: Shop, hours: Hours) -> tuple[Crew, tuple[str, ...]]:
    """The people of a shop whose hours name some, and what is wrong where they name others."""
    if not hours.named:
        return {}, ()
    try:
        crew = {person.id: person for person in read_people(shop)}
    except BenchrunError:
        return {}, ()  # the book tells its own fault
    strangers = sorted(hours.named - crew.keys())
    return crew, (f"shop.yaml: not in people.yaml: {listed(strangers)}",) if strangers else ()


def _all(roles: Iterable[frozenset[str]]) -> frozenset[str]:
    return frozenset[str]().union(*roles)
