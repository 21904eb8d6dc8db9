"""The common part of writing a run and of following one: the run, who is at it, what time it is."""

from collections.abc import Sequence

from benchrun.moment import Moment
from benchrun.procedure.route import Procedure
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.run import entries as e
from benchrun.run.commands import Hand
from benchrun.run.course import Course
from benchrun.run.fold import fold
from benchrun.run.state import Run
from benchrun.session.books import Books
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person
from benchrun.signing_keys import hand_of


class RunSitting:
    """A run that is open in a window, before anything was read of it.

    Attributes:
        shop: Where.
        folder: Where it is kept.
        procedure: What it follows.
        run: The run as it stands.
        clock: What tells the time.
        books: The shop's books, which follow the log.
        left: Whether it was let go of here.
    """

    def __init__(
        self, shop: Shop, folder: RunFolder, procedure: Procedure, person: Person, clock: Clock
    ) -> None:
        self.shop = shop
        self.folder = folder
        self.procedure = procedure
        self.run = Run(Course(procedure.route))
        self.clock = clock
        self.books = Books(shop, folder.run)
        self.left = False
        self._person = person
        self._entries: list[e.Entry] = []

    @property
    def entries(self) -> Sequence[e.Entry]:
        """Everything that was kept, in order."""
        return self._entries

    @property
    def hand(self) -> Hand:
        """Who is at it now."""
        return hand_of(self._person)

    @property
    def person(self) -> Person:
        """Who is at it now, with the key."""
        return self._person

    def hand_over(self, person: Person) -> None:
        """Let somebody else go on; whatever is done from now on is in that name."""
        self._person = person

    def now(self) -> Moment:
        """The moment now."""
        return self.clock.now()

    def _take(self, entry: e.Entry) -> None:
        """Follow an entry that is on the disk."""
        self.run = fold(self.run, entry)
        self._entries.append(entry)
