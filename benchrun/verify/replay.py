"""Deciding every entry of a run again: whether the rules could have made its log."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from itertools import accumulate, islice
from typing import Final, TypeVar

from benchrun.account.deviations import correction_in
from benchrun.account.facts import RemarkFacts
from benchrun.account.papers import remark_words
from benchrun.account.signing_list import lacking_remarks
from benchrun.account.walk import AccountWalk
from benchrun.carried_runs import carried_by
from benchrun.errors import BenchrunError
from benchrun.load_run import entry_of, kept_procedure
from benchrun.part_names import part_names
from benchrun.record.chain import FORMAT
from benchrun.record.folder import RunFolder
from benchrun.record.glimpse import run_paths
from benchrun.record.identity import Identities
from benchrun.record.line import Line
from benchrun.record.roster import KnownPerson, Roster
from benchrun.run import entries as e
from benchrun.run.commands import Hand, Refusal
from benchrun.run.decide import decide
from benchrun.run.effects import Unfit
from benchrun.run.fold import fold
from benchrun.run.replay import command_of, same_outcome
from benchrun.run.state import Run
from benchrun.text import shown

_REMARKS_SINCE: Final = 2
"""The number of the format since which a statement names what was signed over."""

_AT_ONCE: Final = 64
"""So many lines are judged together."""

T = TypeVar("T")

_AS_THEY_ARE: Final = (e.Recovered, e.Sealed, e.Signed)


class Replay:
    """Decides every entry again, some lines at a time.

    Of those all are read, then all folded, decided again from the run before each, and told: doing
    all of it for each line took a third longer, as a processor's caches hold the one or the other.
    """

    def __init__(self, folder: RunFolder, roster: Roster | None) -> None:
        self._folder = folder
        self._walk: AccountWalk | None = None
        self._roster = roster
        self._people = Identities({}, roster)
        self._hands: dict[str, tuple[KnownPerson | None, Hand]] = {}
        self._broken = False
        self._format = 0
        self._rehearsal = False
        self._waiting: list[Line] = []
        self._end: tuple[int, str] | None = None
        self._faults: list[tuple[int, str]] = []
        self._notes: list[tuple[int, str]] = []
        self._corrections: list[RemarkFacts] = []

    def take(self, line: Line) -> None:
        """Take the next line."""
        self._waiting.append(line)
        if len(self._waiting) >= _AT_ONCE:
            self.catch_up()

    def catch_up(self) -> None:
        """Judge the lines that wait, up to the first that the rules cannot follow."""
        lines, self._waiting = self._waiting, []
        if self._broken:
            return
        entries = self._followed(lines, map(entry_of, lines))
        if self._walk is None and entries:
            self._followed(lines, map(self._begin, lines[:1], entries))
        if self._walk is not None:
            self._replay(self._walk, entries)
        if self._end is not None:
            n, why = self._end
            self._broken = True
            self._fault(n, f"the rules cannot follow it: {why}")

    def _followed(self, rows: Sequence[Line | e.Entry], works: Iterable[T]) -> list[T]:
        """The results of a work for some rows: for all, or for those before one it cannot follow.

        Each work is done of no more rows than the one before it, so that the end that is told is
        that of the first row.
        """
        done: list[T] = []
        try:
            for one in works:
                done.append(one)  # noqa: PERF402  # what was done before a fault is kept
        except (BenchrunError, Unfit, ValueError, KeyError) as error:
            self._end = (rows[len(done)].n, str(error))
        return done

    def _replay(self, walk: AccountWalk, entries: Sequence[e.Entry]) -> None:
        folds = islice(accumulate(entries, fold, initial=walk.run), 1, None)
        after = self._followed(entries, folds)
        # The entry that cannot be folded is still decided again, from the run before it.
        before = [walk.run, *after]
        decided = self._followed(entries, map(self._compare, before, entries))
        told = map(partial(self._tell, walk), entries[: len(decided)], [*after, None])
        self._followed(entries, told)

    def _tell(self, walk: AccountWalk, entry: e.Entry, after: Run | None) -> None:
        self._remarks(walk, entry)
        self._note(entry)
        if after is not None:
            walk.follow(entry, after)

    def _begin(self, line: Line, entry: e.Entry) -> None:
        self._people = Identities(line.data, self._roster)
        self._rehearsal = bool(line.data.get("rehearsal"))
        if self._rehearsal:
            said = shown(str(line.data["rehearsal"]), 100)
            self._notes.append((line.n, f"this is a rehearsal in virtual time: {said}"))
        try:
            procedure = kept_procedure(self._folder, line.data)
        except BenchrunError as error:
            self._broken = True
            told = f"no entry could be decided again by the rules: {error}"
            self._faults.append((line.n, told))
            return
        number = line.data.get("format")
        self._format = number if type(number) is int else 0
        self._walk = AccountWalk(procedure, entry, to_sign=True)

    def _hand(self, entry: e.Entry) -> Hand:
        people, by, at = self._people, entry.by, entry.at.utc_ms
        registered = people.registered(by, at)
        kept = self._hands.get(by)
        if kept is None or kept[0] is not registered:
            kept = registered, Hand(by, people.name(by, at), people.roles(by, at))
            self._hands[by] = kept
        return kept[1]

    def _compare(self, run: Run, entry: e.Entry) -> None:
        data = entry.data
        if isinstance(data, _AS_THEY_ARE):
            return
        hand = self._hand(entry)
        if isinstance(data, e.Did) and data.says:
            stated = data.says.split(": ", 1)[0]
            if stated in self._people.names(entry.by, entry.at.utc_ms):
                hand = replace(hand, name=stated)  # a name may change while a run goes on
            elif hand.name == "":
                # Nothing says who this is, which is a doubt already: the words give a name.
                hand = replace(hand, name=stated, roles=_every_role(run))
        decided = decide(run, command_of(entry.n, data), entry.at, hand)
        if isinstance(decided, Refusal):
            self._fault(entry.n, f"the rules refuse this {entry.kind}: {decided.text}")
        elif not same_outcome(decided, data):
            self._fault(entry.n, f"the rules come to another outcome of this {entry.kind}")
        elif isinstance(data, e.Did) and data.says:
            self._role(run, entry, data.step)
        elif isinstance(data, e.Did) and data.carried is not None:
            self._carried(run, entry.n, data.step, data.carried)

    def _carried(self, run: Run, n: int, step: str, carried: e.Carried) -> None:
        """Hold what another run came to against its own log, where that is at hand."""
        about = f"the run {shown(carried.run, 100)}, which carried a procedure out,"
        beside = self._folder.path.absolute().parent
        path = next((path for path in run_paths(beside) if path.name == carried.run), None)
        if path is None:
            if not self._rehearsal:
                self._doubt(n, f"{about} is not at hand: its head was held against no log")
            return
        try:
            found = carried_by(RunFolder(path), run.route.steps[step], tuple(carried.parts))
        except (BenchrunError, ValueError) as error:
            self._doubt(n, f"{about} cannot be read: {error}")
            return
        if found is None or found.head != carried.head:
            self._fault(n, f"{about} has another last line than this entry says")
        elif found != carried:
            self._fault(n, f"{about} came to something else than this entry says")

    def _role(self, run: Run, entry: e.Entry, step: str) -> None:
        """Say where a hold asks for a role that the register did not give at that time."""
        role = getattr(run.route.steps[step].detail, "role", "")
        roles = self._people.register_roles(entry.by, entry.at.utc_ms)
        if role and roles is not None and role not in roles:
            who = shown(entry.by, 80)
            said = f"signed as {shown(role, 40)}, a role that the shop's register did not give then"
            self._doubt(entry.n, f"{who} {said}")

    def _remarks(self, walk: AccountWalk, entry: e.Entry) -> None:
        """Say what a statement does not name of what was signed over.

        Another program may tell more than the one that wrote a log of an earlier number.
        """
        if isinstance(entry.data, e.Sealed) and entry.data.format:
            self._format = entry.data.format
        if self._format < _REMARKS_SINCE or not isinstance(entry.data, (e.Did, e.Closed)):
            return
        for remark in lacking_remarks(walk, entry.data):
            tell = self._fault if self._format == FORMAT else self._doubt
            tell(entry.n, f"what was signed over lacks {remark_words(remark)}")

    def _note(self, entry: e.Entry) -> None:
        """List what a reader should know though it makes nothing less whole."""
        if isinstance(entry.data, e.Retracted):
            of = entry.data.of
            self._corrections = [one for one in self._corrections if one.n != of]
        elif isinstance(entry.data, e.Corrected):
            self._corrections.append(correction_in(entry, entry.data))

    def _fault(self, n: int, text: str) -> None:
        self._faults.append((n, f"entry {n}: {text}"))

    def _doubt(self, n: int, text: str) -> None:
        self._notes.append((n, f"entry {n}: {text}"))

    @property
    def faults(self) -> list[str]:
        """The faults, a line each, in the order of the log."""
        return _in_order(self._faults)

    @property
    def doubts(self) -> list[str]:
        """Notes for the reader, a line each."""
        deviations = self._walk.deviations if self._walk else ()
        remarks = sorted([*deviations, *self._corrections], key=lambda one: one.n)
        return _in_order(self._notes) + [_remark_words(one) for one in remarks]


def _in_order(told: list[tuple[int, str]]) -> list[str]:
    return [text for _, text in sorted(told, key=lambda one: one[0])]


def _remark_words(remark: RemarkFacts) -> str:
    who = f"{shown(part_names(remark.parts), 200)}: " if remark.parts else ""
    reason = f", {shown(remark.reason, 200)}" if remark.reason else ""
    return f"entry {remark.n}: {who}{shown(remark.words, 300)}{reason}"


def _every_role(run: Run) -> frozenset[str]:
    steps = run.route.steps.values()
    return frozenset(
        {step.who for step in steps} | {getattr(step.detail, "role", "") for step in steps}
    )
