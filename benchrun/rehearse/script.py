"""Reading a script of answers.

A script is YAML. Its head says what is rehearsed and what to answer when a step comes up; `then`
lists what happens, in order. Without `then` the run goes to its end by the first offers.

    rehearse: degrease-etch-coat
    path: a dwell late                what this path shows
    invented: yes                     nothing in it was measured
    parts: [arm L, arm R]             a part may also be {tag: frame, size: 2, identity: cast 12};
                                      where the procedure has kinds, {tag: arm L, kind: left}
    begins: 2026-03-02 08:00          wall time in UTC
    people: {first: Name One, second: Name Two}
    works alone: yes                  the first is the only one, and the shop's settings say so
    given:                            what a step gets when it comes up
      bath-temperature: 22 C          a reading
      seat-bore: [61.985, 61.990]     its places in order; the last one goes on for the rest
      film: [30, 65]                  more than it has places: the next time's follow
      look: {arm L: cracked, arm R: sound}      by part
      coat-film: {pass 1: 30, pass 2: 65}       by the pass of its repeat; a later one as the last
      etch: 12 min                    a dwell: how long parts stay in
      told: {came: Name One, for: the club}     a witness point: who came, or `not coming: NAME`;
                                      without, the notice runs out
    figures:                          typed when the first step needs one
      bore_low: 19.05 mm
      bore_high: {value: 19.10 mm, document: workshop manual, page: 4-12}
      slack: none                     not known: the run goes on without it
    job: trailer                      whose figures in the files of `shop` are taken at the begin
    answers:                          to questions, by step; a list is used up in order
      etch: [again, go on]
      coats: go on                      a query of a repeat, by the repeat's name
    takes: {coat: 10 min}             how long a step takes; else 1 min
    reasons: {arm L: no spare yet}  for parts not done at the close
    not done:                         lines of the close that are not done, and why; else all are
      Lock the cupboard.: key is lost
    shop: shed                        a folder beside the script with files of a shop
    lacks: [wrench is past its date]  all that the shop is told to lack before the start
    not reached:                      paths that no script of the procedure goes, and why
      "cracks: crack": shown by another procedure's script
    then:
      - to: etch                      by first offers, until some part stands at this step
      - put in: etch
        parts: [arm L]
      - wait: 25 min
      - lift: [arm L]
      - to the end

What can happen (`then`): to, to the end, begin, do, waive, put in, lift, tend, tell, witness,
leave out, raise, settle, answer, aside, scrap, into play, back to, got back, add, correct,
take back, stop, resume, close, note, lesson, hand over, wait, sleep, restart, set clock,
clock in step, come back, expect, other run, leave. A step that cannot be undone is begun by its
`do` where no `begin` went before. Each may carry parts, reason, and `refused: words` when it must
be refused with these words.

      - do: bore                      a reading of one part; `find: word` at an inspection
        give: 25.4 mm
        with: mic-0-25                the instrument of the shop that it is taken with
      - do: heat                      the first step of a load: `in` names its vessel
        in: oven-2
      - do: crack-check               a step that carries out another procedure names the newest
                                      closed run of it; play that first, as `other run`
      - answer: go on                 to the first question of the parts named, or of all that
        question: changed               have one; `question` chooses by why it was asked
      - correct: {step: bore, part: arm L, to: 25.6 mm}
        reason: misread
      - correct: {name: kind, part: arm L, to: right}     what is known from the begin
        reason: taken for the other
      - witness: [arm L]              `came: NAME` or `not coming: NAME`, `for: WHOM`; without,
        came: Name One                  the notice has run out
      - take back: last               or the number of an entry
      - restart: 5 min                for how long it was off; `clock: wrong` if not in step then
      - set clock: -2 h               by a person, so that it is no longer in step
      - other run: other.yaml         plays that script, in the same shop and time, to its next
                                      `leave`; the next such line goes on from there
      - expect: {arm L: [at etch, questions 0, etch window], run: going}
"""

from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import utc_ms
from benchrun.plain_file import read_plain
from benchrun.procedure.marked import Items, Map, Place, Unreadable
from benchrun.procedure.phrases import time_span
from benchrun.run.entries import PartSpec
from benchrun.text import listed, shown

ACTIONS: Final = (
    "to",
    "to the end",
    "begin",
    "do",
    "waive",
    "put in",
    "lift",
    "tend",
    "tell",
    "witness",
    "leave out",
    "raise",
    "settle",
    "answer",
    "aside",
    "scrap",
    "into play",
    "back to",
    "got back",
    "add",
    "correct",
    "take back",
    "stop",
    "resume",
    "close",
    "note",
    "lesson",
    "hand over",
    "wait",
    "sleep",
    "restart",
    "set clock",
    "clock in step",
    "come back",
    "expect",
    "other run",
    "leave",
)
HEAD_KEYS: Final = frozenset(
    {
        "rehearse",
        "path",
        "invented",
        "parts",
        "begins",
        "people",
        "works alone",
        "given",
        "answers",
        "takes",
        "reasons",
        "then",
        "figures",
        "job",
        "shop",
        "lacks",
        "not done",
        "not reached",
    }
)
QUALIFIERS: Final = frozenset(
    {
        "ago",
        "at",
        "came",
        "clock",
        "find",
        "for",
        "give",
        "kind",
        "in",
        "not coming",
        "parts",
        "question",
        "reason",
        "refused",
        "seen",
        "size",
        "waited for",
        "with",
    }
)
BEGINS: Final = "2026-01-05 08:00"
PEOPLE: Final = {"first": "Rehearsal First Hand", "second": "Rehearsal Second Hand"}

Words = str | Map | Items


@lean_dataclass(frozen=True, slots=True)
class ScriptLine:
    """One line of `then`: what happens, to what, and how it is qualified."""

    act: str
    what: Words
    more: Mapping[str, Words]
    place: str

    def text(self, key: str, default: str = "") -> str:
        """A qualifying word as text."""
        value = self.more.get(key, default)
        if not isinstance(value, str):
            raise BenchrunError(f"{self.place}: `{key}` needs a text")
        return value

    def number(self, key: str, default: int) -> int:
        """A qualifying word as a whole number."""
        text = self.text(key, str(default))
        if not text.isascii() or not text.isdigit():
            raise BenchrunError(f"{self.place}: `{key}` needs a whole number, found {shown(text)}")
        return int(text)

    def tags(self, key: str = "parts") -> tuple[str, ...]:
        """Parts named under a key; none when it is not there."""
        return tags_of(self.more.get(key, ""), self.place)

    @property
    def named(self) -> str:
        """The object of the act, as text."""
        if not isinstance(self.what, str):
            raise BenchrunError(f"{self.place}: `{self.act}` needs a text")
        return self.what


@lean_dataclass(frozen=True, slots=True)
class Script:
    """A script of answers that was read.

    Attributes:
        steps: The steps named under given, answers and takes: under which, the step, its place.
        home: The folder that it lies in.
        shop: A folder in it with files of a shop, or empty.
        unreached: Paths of the procedure that no script goes, each with the reason.
        lacks: Words of each line that is told before the start; None: that is not looked at.
        not_done: Lines of the close that are not done, each with the reason.
        alone: Whether the first person is the only one, in a shop whose settings say so.
    """

    name: str
    procedure: str
    path: str
    parts: tuple[PartSpec, ...]
    begins: str
    people: Mapping[str, str]
    given: Mapping[str, Words]
    answers: Mapping[str, Words]
    takes: Mapping[str, int]
    reasons: Mapping[str, str]
    steps: tuple[tuple[str, str, str], ...] = ()
    then: tuple[ScriptLine, ...] = field(default=())
    figures: Mapping[str, Words] = field(default_factory=dict)
    job: str = ""
    home: Path = Path()
    shop: str = ""
    lacks: tuple[str, ...] | None = None
    unreached: Mapping[str, str] = field(default_factory=dict)
    alone: bool = False
    not_done: Mapping[str, str] = field(default_factory=dict)


def tags_of(words: Words, place: str) -> tuple[str, ...]:
    """The tags of parts in a text or a list of texts."""
    if isinstance(words, str):
        return (words,) if words else ()
    if isinstance(words, Items) and all(isinstance(one, str) for one in words):
        return tuple(str(one) for one in words)
    raise BenchrunError(f"{place}: tags of parts belong here, such as [arm L, arm R]")


def read_script(path: Path) -> Script:
    """Read a script file.

    Raises:
        BenchrunError: It cannot be read; says where and what would do.
    """
    from benchrun.procedure.yamlread import read_yaml

    name = shown(str(path), 200)
    try:
        data = read_yaml(read_plain(path))
    except OSError as error:
        raise BenchrunError(f"{name}: {error.strerror or error}") from None
    except Unreadable as error:
        raise BenchrunError(f"{name}:{error.at.line}:{error.at.column}: {error}") from None
    for key in data:
        if key not in HEAD_KEYS:
            raise BenchrunError(
                f"{_at(name, data.keys_at[key])}: {shown(key, 40)!r} does not belong in a script; "
                f"keys are {', '.join(sorted(HEAD_KEYS))}"
            )
    lacks = tags_of(data["lacks"], name) if "lacks" in data else None
    return replace(
        _script(name, data),
        home=path.parent,
        shop=str(data.get("shop", "")),
        lacks=lacks,
        unreached={key: str(why) for key, why in _map(name, data, "not reached").items()},
    )


def _at(name: str, place: Place) -> str:
    return f"{name}:{place.line}:{place.column}"


def _script(name: str, data: Map) -> Script:
    procedure = data.get("rehearse")
    if not isinstance(procedure, str):
        raise BenchrunError(f"{name}:1:1: `rehearse: procedure-id` is missing")
    people = {key: str(value) for key, value in _map(name, data, "people").items()}
    takes = {
        key: _ms(_at(name, _map(name, data, "takes").values_at[key]), str(value))
        for key, value in _map(name, data, "takes").items()
    }
    reasons = {key: str(value) for key, value in _map(name, data, "reasons").items()}
    return Script(
        name,
        procedure,
        str(data.get("path", "all good")),
        tuple(_parts(name, data)),
        _begins(name, data),
        {**PEOPLE, **people},
        _map(name, data, "given"),
        _map(name, data, "answers"),
        takes,
        reasons,
        tuple(
            (key, step, _at(name, place))
            for key in ("given", "answers", "takes")
            for step, place in _map(name, data, key).keys_at.items()
        ),
        tuple(_lines(name, data)),
        _map(name, data, "figures"),
        job=str(data.get("job", "")),
        alone=data.get("works alone") == "yes",
        not_done={key: str(why) for key, why in _map(name, data, "not done").items()},
    )


def _begins(name: str, data: Map) -> str:
    begins = str(data.get("begins", BEGINS))
    text = f"{begins.replace(' ', 'T')}:00.000Z"
    try:
        utc_ms(text)
    except ValueError:
        raise BenchrunError(
            f"{_at(name, data.values_at['begins'])}: {shown(begins, 40)} is no time: write it as "
            "2026-03-02 08:00"
        ) from None
    return text


def _map(name: str, data: Map, key: str) -> Map:
    value = data.get(key)
    if value is None:
        return Map(data.at)
    if not isinstance(value, Map):
        raise BenchrunError(f"{_at(name, data.values_at[key])}: `{key}` needs a map")
    return value


def _ms(name: str, text: str) -> int:
    try:
        return time_span(text)
    except ValueError as error:
        raise BenchrunError(f"{name}: {error}") from None


def _parts(name: str, data: Map) -> Iterator[PartSpec]:
    parts = data.get("parts")
    if not isinstance(parts, Items) or not parts:
        raise BenchrunError(f"{name}:1:1: `parts: [one, another]` is missing")
    for one in parts:
        if isinstance(one, str):
            yield PartSpec(one)
        elif isinstance(one, Map) and isinstance(one.get("tag"), str):
            size = str(one.get("size", "1"))
            if not size.isdigit():
                raise BenchrunError(f"{_at(name, one.at)}: `size` needs a whole number")
            identity, kind = str(one.get("identity", "")), str(one.get("kind", ""))
            yield PartSpec(str(one["tag"]), int(size), identity, kind)
        else:
            raise BenchrunError(f"{name}: a part is a tag, or {{tag: frame, size: 2}}")


def _lines(name: str, data: Map) -> Iterator[ScriptLine]:
    then = data.get("then")
    if then is None:
        return
    if not isinstance(then, Items):
        raise BenchrunError(f"{_at(name, data.values_at['then'])}: `then` needs a list")
    for one, at in zip(then, then.values_at, strict=True):
        place = _at(name, at)
        if isinstance(one, str) and one in ACTIONS:
            yield ScriptLine(one, "", {}, place)
        elif isinstance(one, Map) and one and next(iter(one)) in ACTIONS:
            act = next(iter(one))
            more = {k: v for k, v in one.items() if k != act}
            for key in more:
                if key not in QUALIFIERS:
                    raise BenchrunError(
                        f"{_at(name, one.keys_at[key])}: {shown(key, 40)!r} does not belong here; "
                        f"a line may carry {listed(sorted(QUALIFIERS), most=20)}"
                    )
            yield ScriptLine(act, one[act], more, place)
        else:
            raise BenchrunError(
                f"{place}: a line begins with what happens: {listed(ACTIONS, most=40)}"
            )
