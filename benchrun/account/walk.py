"""The one walk through a log: folded entry by entry, each fact taken by whoever keeps its kind."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from benchrun.account.acts import ActWalk, SupplyWalk
from benchrun.account.deviations import DeviationWalk
from benchrun.account.dwells import DwellWalk
from benchrun.account.facts import CloseLineFacts, PartFacts, RemarkFacts, RunFacts, Who
from benchrun.account.figures import FigureWalk
from benchrun.account.known_hands import KnownHands
from benchrun.account.papers import PaperWalk
from benchrun.account.questions import QuestionWalk
from benchrun.account.readings import ReadingWalk
from benchrun.account.rounds import RoundWalk
from benchrun.account.start import ToolWalk, conditions_of
from benchrun.account.walker import EVERY_KIND, Around, Takers
from benchrun.account.witnesses import WitnessWalk
from benchrun.procedure.route import Hold, Procedure
from benchrun.run import entries as e
from benchrun.run.course import Course
from benchrun.run.fold import fold
from benchrun.run.part_values import kind_id
from benchrun.run.state import TICKS_SINCE, Marker, Run, Status


class AccountWalk:
    """Takes entry after entry of one run; `finish` gives its facts, as often as it is asked.

    Args:
        procedure: What the run follows.
        first: Its first entry, which is not taken by that.
        to_sign: Whether only that is told of which a list under a signature is made: no acts,
            supplies, rounds, figures and sums, and no words for a report on a value.
    """

    def __init__(self, procedure: Procedure, first: e.Entry, *, to_sign: bool = False) -> None:
        run = Run(Course(procedure.route))
        self._around = around = Around(run, run)
        self._facts = facts = _head(procedure, first)
        questions = QuestionWalk(procedure, facts)
        asked = questions.asked.get
        self._to_sign = to_sign
        self._readings = ReadingWalk(procedure, facts, around)
        self._supplies = SupplyWalk(procedure, facts)
        self._rounds = RoundWalk(procedure)
        self._papers = PaperWalk(procedure, facts, around, questions.says)
        self._statements = e.Statements()
        self._known = KnownHands()
        walkers: list[Takers] = [
            self._readings.takes,
            DwellWalk(procedure, facts, around).takes,
            WitnessWalk(procedure, facts, around).takes,
            questions.takes,
            DeviationWalk(procedure, facts, around, asked).takes,
            ToolWalk(facts).takes,
            self._papers.takes,
            _statement_takers(self._statements),
        ]
        if not to_sign:
            walkers += [
                ActWalk(procedure, facts, asked).takes,
                self._rounds.takes,
                self._supplies.takes,
                FigureWalk(procedure, facts).takes,
                _hand_takers(self._known),
            ]
        self._takes = {
            kind: tuple([takes[kind] for takes in walkers if kind in takes]) for kind in EVERY_KIND
        }

    def take(self, entry: e.Entry) -> None:
        """Take the next entry.

        Raises:
            Unfit: It cannot follow.
        """
        self.follow(entry, fold(self._around.after, entry))

    def follow(self, entry: e.Entry, after: Run) -> None:
        """Take the next entry, which was folded already.

        Args:
            entry: The entry.
            after: The run that it and the run before it fold to.
        """
        around, data = self._around, entry.data
        around.before, around.after = around.after, after
        for take in self._takes[type(data)]:
            take(entry, data)
        around.last = entry

    @property
    def run(self) -> Run:
        """The run as it stands after the last entry."""
        return self._around.after

    @property
    def deviations(self) -> list[RemarkFacts]:
        """The deviations up to now, none of a statement that nobody signed."""
        void = self._statements.unsigned
        return [remark for remark in self._facts.deviations if remark.n not in void]

    def finish(self) -> RunFacts:
        """The facts of the run, as it stands after the last entry that was taken."""
        facts = self._facts
        if self._around.last is not None:
            facts.last = self._around.last.at.utc
        facts.entries = self.run.n
        self._readings.finish(to_sign=self._to_sign)
        self._supplies.finish(self.run)
        facts.deviations = self.deviations
        for act in facts.acts:
            act.proved = act.n in self._known.proofs
        facts.repeats = list(self._rounds.facts())
        facts.close_lines = tuple(_close_lines(self.run))
        facts.closed, facts.stopped = self.run.ended, self.run.stopped
        papers = self._papers
        facts.parts = tuple(
            _part(
                self.run,
                marker,
                papers.identities.get(marker.part, ""),
                papers.reasons.get(marker.part, ""),
            )
            for marker in self.run.each()
        )
        return facts


def _statement_takers(statements: e.Statements) -> Takers:
    def state(entry: e.Entry, data: e.Did | e.Closed) -> None:
        if data.says:
            statements.take(entry)

    def sign(entry: e.Entry, _: e.Signed) -> None:
        statements.take(entry)

    return {e.Did: state, e.Closed: state, e.Signed: sign}


def _hand_takers(known: KnownHands) -> Takers:
    def take(entry: e.Entry, _: e.Data) -> None:
        known.take(entry)

    return dict.fromkeys(EVERY_KIND, take)


def _close_lines(run: Run) -> Iterator[CloseLineFacts]:
    """How each line of the close stands; a log of an older number tells nothing of them."""
    for line in run.route.close_lines if run.format >= TICKS_SINCE else ():
        tick = run.ticks.get((line.sort, line.number))
        if tick is None:
            yield CloseLineFacts(None, "", "", line.sort, line.text, done=False)
        else:
            at = tick.at.utc
            yield CloseLineFacts(tick.n, at, tick.by, line.sort, line.text, tick.done, tick.reason)


def facts_of(
    procedure: Procedure, entries: Iterable[e.Entry], *, to_sign: bool = False
) -> RunFacts:
    """The facts of a log.

    Args:
        procedure: What the run follows.
        entries: Its entries.
        to_sign: As for `AccountWalk`.

    Raises:
        ValueError: The entries do not fit the procedure, or there are none.
    """
    walk: AccountWalk | None = None
    for entry in entries:
        walk = walk or AccountWalk(procedure, entry, to_sign=to_sign)
        walk.take(entry)
    if walk is None:
        raise ValueError("the log has no entry")
    return walk.finish()


def _head(procedure: Procedure, first: e.Entry) -> RunFacts:
    about: Mapping[str, Any] = first.data.about if isinstance(first.data, e.Opened) else {}
    return RunFacts(
        run=str(about.get("run", "")),
        title=procedure.title,
        procedure=procedure.id,
        revision=procedure.revision,
        status=procedure.status,
        dated=procedure.dated,
        use=procedure.use,
        scope=procedure.scope,
        applies_to=procedure.applies_to,
        first_aid=procedure.first_aid,
        procedure_sha256=procedure.sha256,
        sources=dict(procedure.sources),
        shop=str(about.get("shop", "")),
        program=str(about.get("program", "")),
        rehearsal=str(about.get("rehearsal") or ""),
        register_head=str(about.get("register_head", "")),
        began=first.at.utc,
        last=first.at.utc,
        closed=False,
        stopped="",
        entries=0,
        head="",
        log_sha256="",
        sealed=False,
        seals=0,
        people=tuple(_people(about.get("people"))),
        conditions=tuple(one.says for one in conditions_of(about.get("conditions"))),
        checked=conditions_of(about.get("conditions")),
        not_kept=tuple(str(book) for book in _list(about.get("not_kept"))),
        release=_release(procedure),
    )


def _release(procedure: Procedure) -> int | None:
    holds = [one.number for one in procedure.route.steps.values() if isinstance(one.detail, Hold)]
    return holds[-1] if holds else None


def _list(value: object) -> list[object]:
    return value if isinstance(value, list) else []


def _people(people: object) -> Iterator[Who]:
    for who, person in people.items() if isinstance(people, dict) else ():
        known = person if isinstance(person, dict) else {}
        roles = tuple(str(role) for role in _list(known.get("roles")))
        yield Who(str(who), str(known.get("name", who)), roles)


def _part(run: Run, marker: Marker, identity: str, reason: str) -> PartFacts:
    kind = run.route.kinds.get(kind_id(marker))
    op = run.route.step_at(marker.index)
    ended = marker.status in (Status.DONE, Status.SCRAP)
    stands = f"is at step {op.step.number}, {op.step.text}" if op and not ended else ""
    if marker.place:
        stands = f"at {marker.place}; {stands}"
    return PartFacts(
        marker.part,
        identity,
        kind.title if kind is not None else "",
        marker.pair,
        marker.size,
        "not done" if run.ended and marker.status is Status.PLAY else marker.status.value,
        stands,
        () if ended else tuple(question.says for question in marker.questions),
        "" if marker.status is Status.DONE else reason,
    )
