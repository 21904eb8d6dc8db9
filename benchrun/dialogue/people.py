"""Who works: asked when the first entry is to be made by somebody not yet named."""

from collections.abc import Generator

from benchrun.dialogue.prompts import Choose, Option
from benchrun.dialogue.turns import Say, Turn, choose
from benchrun.errors import BenchrunError
from benchrun.shop.folder import Shop, pasteable
from benchrun.shop.people import Person, read_people


def only_person(shop: Shop) -> Person | None:
    """Whoever works in a shop of one person; None where several do, or nobody.

    Raises:
        BenchrunError: The list of people cannot be read.
    """
    people = read_people(shop)
    return people[0] if len(people) == 1 else None


def ask_person(
    shop: Shop, title: str = "Who works", last: str = ""
) -> Generator[Turn, object, Person | None]:
    """Ask who it is; a shop of one person is not asked.

    Args:
        shop: The shop.
        title: What is asked.
        last: The id of whoever worked last: Enter takes them.

    Returns:
        None for going back, or if nobody is known.
    """
    try:
        people = read_people(shop)
    except BenchrunError as error:
        yield Say(error.message, strong=True)
        return None
    if not people:
        names = pasteable(shop.path, "people", "add", "YOUR NAME")
        yield Say(f"Nobody is known to work here. This names somebody: {names}", strong=True)
        return None
    if len(people) == 1:
        return people[0]
    options = tuple(Option(person.name, ", ".join(person.roles)) for person in people)
    usual = next((at for at, person in enumerate(people) if person.id == last), None)
    place = yield from choose(Choose(title, options, usual=usual))
    return None if place is None else people[place]
