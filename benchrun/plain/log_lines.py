"""The entries of a log as they are said: number, local time, name, then what was done."""

from benchrun.account.brief_words import MACHINES, brief_words
from benchrun.account.entry_words import EntryWords
from benchrun.moment import Moment
from benchrun.record.identity import STATION
from benchrun.run.entries import Entry
from benchrun.session import Sitting
from benchrun.shop.people import read_people
from benchrun.wording import clock_time


def local_time(at: Moment, now: Moment) -> str:
    """A moment gone by, as people say it here: `14:02`, `14:02 yesterday`."""
    return clock_time(at.utc_ms, now.utc_ms)


class LogLines:
    """Entries in lines, each told once; a name is said where it changes.

    Args:
        session: The run.
    """

    def __init__(self, session: Sitting) -> None:
        self._session = session
        self._names = {one.id: one.name for one in read_people(session.shop)}
        self._telling = EntryWords(session.procedure, session.entries, when=self._when)
        self._named = ""

    def _when(self, at: Moment) -> str:
        return local_time(at, self._session.now())

    def holds(self, entry: Entry, words: str) -> bool:
        """Whether an entry holds words, its name included."""
        said = [*self._telling.words(entry), entry.by, self._names.get(entry.by, "")]
        return words.casefold() in " ".join(said).casefold()

    def last(self, many: int) -> tuple[Entry, ...]:
        """The last entries, without those that the machine made."""
        made = [one for one in self._session.entries if one.kind not in MACHINES]
        return tuple(made[-many:])

    def of(self, entry: Entry) -> str:
        """The line of an entry: one act, one line."""
        self._telling.read(self._session.entries)
        name = "" if entry.by == STATION else self._names.get(entry.by, entry.by)
        named = f", {name}" if name and name != self._named else ""
        self._named = name or self._named
        return f"{entry.n}, {self._when(entry.at)}{named}. {brief_words(self._telling, entry)}"
