"""Starting the plain face: the board, beginning a run, reading along, the first start."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Final

from benchrun.alarms.calls import CallingRun
from benchrun.board import Board, look, stands
from benchrun.dialogue.conversation import converse
from benchrun.dialogue.duties import duties_page, read_duties
from benchrun.dialogue.leaving import leave
from benchrun.dialogue.new_run import NewRun
from benchrun.dialogue.past_runs import past_runs
from benchrun.dialogue.people import only_person
from benchrun.dialogue.resumption import Resumption
from benchrun.dialogue.situation import load_words
from benchrun.errors import BenchrunError
from benchrun.history.estimates import keep_up
from benchrun.plain.books import tell_books
from benchrun.plain.face import PlainFace
from benchrun.plain.log_lines import LogLines
from benchrun.plain.run import PlainRun
from benchrun.plain.talk import Gone, Talk
from benchrun.procedure.load import load
from benchrun.record.clock import Clock, SystemClock
from benchrun.record.folder import RunFolder
from benchrun.run.clocks import loads
from benchrun.session import Along, Sitting, begin
from benchrun.session.follow import READ_ONLY
from benchrun.shop.duties import Duty
from benchrun.shop.folder import Shop, exists, open_shop
from benchrun.shop.people import Person, read_people
from benchrun.signing_keys import enrol, new_shop
from benchrun.text import count

EVERY_S: Final = 1.0
HELP: Final = (
    "Reading along: another window writes this run. Nothing is recorded from here.",
    "Each new entry is printed as it comes. Only Enter leaves.",
)


def open_plain(
    path: Path,
    *,
    procedure: Path | None = None,
    run: Path | None = None,
    ascii_only: bool = False,
    notice: str = "",
    talk: Talk | None = None,
    clock: Clock | None = None,
) -> int:
    """Open a shop's board line by line, begin a procedure or take up a run at once.

    Args:
        path: The shop's folder.
        procedure: A procedure to begin at once.
        run: The folder of an open run to take up at once.
        ascii_only: Whether only ASCII characters may be printed.
        notice: What is said first.
        talk: Speaks and listens; None for standard input and output.
        clock: What tells the time; None for this machine's.

    Raises:
        BenchrunError: The input ended before anything was answered, or the shop cannot be read.
    """
    talk, clock = talk or Talk(ascii_only=ascii_only), clock or SystemClock()
    if notice:
        talk.say(notice)
    try:
        shop = open_shop(path) if exists(path) else _first_start(talk, path, clock)
        person = only_person(shop) if read_people(shop) else _enrol(talk, shop, clock)
        bench = _Bench(talk, shop, person, clock)
        if procedure is not None:
            bench.begin(procedure)
        elif run is not None:
            bench.take_up(RunFolder(run), named=True)
        if procedure is run is None or not bench.may_leave():
            bench.board()
    except Gone:
        talk.say()
        if not talk.answered:
            raise BenchrunError(
                "the input ended at the first question, and nothing was done; benchrun board "
                "prints the board without asking"
            ) from None
    return 0


def _first_start(talk: Talk, path: Path, clock: Clock) -> Shop:
    talk.say(f"There is no shop in {path} yet. One is made now.")
    title = talk.ask("What is the shop called:") or "Shop"
    return new_shop(path, title, clock.now())


def _enrol(talk: Talk, shop: Shop, clock: Clock) -> Person:
    name = talk.ask("Your full name:")
    key = talk.ask("A key file of your own (only Enter makes a new one):")
    if key:
        return enrol(shop, name, clock.now(), key=Path(key))
    word = talk.ask_secret("A passphrase for your new key:")
    return enrol(shop, name, clock.now(), passphrase=word)


class _Bench(PlainFace):
    """The board, and the way into a run and back."""

    def __init__(self, talk: Talk, shop: Shop, person: Person | None, clock: Clock) -> None:
        self.talk = talk
        self._shop = shop
        self._person = person
        self._clock = clock
        self._to_begin: list[tuple[str, Path]] = []
        talk.first_aid = self._first_aid

    def _first_aid(self) -> None:
        runs = look(self._shop, self._clock.now()).open_runs
        in_hand = [(one.title, one.folder.procedure) for one in runs if not one.fault]
        self.say_first_aid(self._shop, self._to_begin or in_hand)

    def board(self) -> None:
        """Show what is open until it is left."""
        self.talk.say()
        self.talk.say(self._shop.title)
        while True:
            found = look(self._shop, self._clock.now())
            ways = list(self._ways(found))
            self.talk.said_s = 0.0  # what was read before is no part of this question
            lines = [line for line, _ in ways]
            at = self.pick("Number or words, only Enter leaves:", lines)
            if at is None:
                if self.may_leave():
                    return
                continue
            try:
                ways[at][1]()
            except BenchrunError as error:
                self.talk.say(error.message)

    def may_leave(self) -> bool:
        """Whether the program is to end: asked once where clocks run."""
        now = self._clock.now()
        runs = look(self._shop, now).open_runs
        calling = [CallingRun(one.id, one.title, one.run) for one in runs if one.run is not None]
        return converse(leave(calling, now), self)

    def _ways(self, found: Board) -> Iterator[tuple[str, Callable[[], object]]]:
        """The lines of the board, each with what it leads to; what calls first."""
        for one in found.open_runs:
            yield f"go on: {one.title}, {one.fault or one.words}", partial(self.take_up, one.folder)
        duties = self._duties(found)
        away = sum(len(one.away) for one in found.open_runs)
        if duties or away:
            late = sum(duty.late for duty in duties)
            words = f"{count(len(duties) + away, 'row')}{f', {late} now' if late else ''}"
            page = partial(duties_page, found.open_runs, duties)
            yield f"needs attention: {words}", lambda: converse(page(), self)
        yield "the shop's books", lambda: tell_books(self, self._shop, self._clock.now())
        yield "plan of the evening", partial(self._plan, found)
        yield "before the evening", self._before_evening
        yield "past runs", lambda: converse(past_runs(self._shop), self)
        for procedure in found.begin:
            yield f"begin: {procedure.title}", partial(self.begin, procedure.path)

    def _plan(self, found: Board) -> None:
        from benchrun.dialogue.evening import plan_page

        converse(plan_page(self._shop, found.open_runs, self._clock.now()), self)

    def _before_evening(self) -> None:
        from benchrun.dialogue.evening import before_evening

        converse(before_evening(self._shop, self._clock.now()), self)

    def _duties(self, found: Board) -> Sequence[Duty]:
        try:
            return read_duties(self._shop, found.left_away, self._clock.now())
        except BenchrunError as error:
            self.talk.say(error.message)
            return ()

    def take_up(self, folder: RunFolder, *, named: bool = False) -> None:
        """Take a run up, or read along for as long as another window writes it."""
        while True:
            resumption = Resumption(self._shop, folder, self._person, self._clock, named=named)
            if not converse(resumption.ask(), self):
                return
            session, self._person = resumption.session, resumption.person
            if not isinstance(session, Along):
                break
            try:
                if not follow(self.talk, session):
                    return
            finally:
                session.leave()
        if session is not None:
            self._carry_on(session, resumed=True)

    def begin(self, path: Path) -> None:
        """Ask what a procedure needs and begin it."""
        new = NewRun(self._shop, load(path), self._clock.now, self._person)
        self._to_begin = [(new.procedure.title, path)]
        try:
            self._begin(new)
        finally:
            self._to_begin = []

    def _begin(self, new: NewRun) -> None:
        known = converse(new.ask(), self)
        while known and new.person is not None:
            self._person = new.person
            try:
                session = begin(
                    self._shop,
                    new.procedure,
                    new.parts,
                    new.person,
                    self._clock,
                    readied=new.readied,
                    more=new.more,
                    figures=new.figures,
                    job=new.job,
                )
            except BenchrunError as error:
                self.talk.say(error.message)
                known = converse(new.ask_batch(), self)
            else:
                self._carry_on(session)
                return
        self.talk.say("Not begun.")

    def _carry_on(self, session: Sitting, *, resumed: bool = False) -> None:
        run = PlainRun(self.talk, session)
        try:
            run.carry_on(resumed=resumed)
        finally:
            self._person = session.person or self._person
            session.leave()
            keep_up(self._shop.path)
        if run.goes_to is not None:
            self.take_up(RunFolder(run.goes_to))


def follow(talk: Talk, along: Along) -> bool:
    """Print what comes until it is left, the run is closed, or the other window lets go.

    Args:
        talk: Speaks and listens.
        along: The run.

    Returns:
        Whether the run is to be taken up here.
    """
    talk.say(READ_ONLY if along.read_only else HELP[0])
    talk.say(HELP[1])
    _say_where(talk, along)
    telling, told = LogLines(along), len(along.entries)
    while True:
        along.tick().result()
        for entry in along.entries[told:]:
            talk.say(telling.of(entry))
        told = len(along.entries)
        if along.run.ended:
            talk.say(f"The run is closed. Its record: run {along.folder.run}")
            return False
        if along.fault:
            talk.say(along.fault)
            return False
        if not along.written:
            talk.say("The other window has left this run.")
            return talk.ask("1 carries on here, only Enter leaves:") == "1"
        if talk.heard(EVERY_S) is not None:
            return False


def _say_where(talk: Talk, along: Along) -> None:
    now = along.now()
    for clock in loads(along.run, now):
        talk.say(f"CLOCK {load_words(along.run, clock)}")
    talk.say(f"Next: {stands(along.run, now)}")
