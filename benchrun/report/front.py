"""The front of a sheet: what was done, the result, who answers, whether to trust."""

from collections.abc import Iterable, Iterator, Sequence

from benchrun.account.facts import ReadingFacts, RunFacts
from benchrun.account.papers import key_words
from benchrun.report.doc import Fields, Para
from benchrun.report.proof import shop_head, trust_words
from benchrun.report.wording import parts_words
from benchrun.text import count, listed
from benchrun.wording import minute_words

_MOST = 12


def card(facts: RunFacts) -> Fields:
    """Which run it was, on which parts, and who worked and signed."""
    status = "" if facts.status == "approved" else f" ({facts.status})"
    return Fields(
        (
            ("Run", facts.run),
            ("Shop", facts.shop),
            ("Procedure", f"{facts.procedure}, revision {facts.revision}{status}"),
            ("Parts", listed(_batch(facts), most=_MOST)),
            ("Begun", f"{minute_words(facts.began)} UTC"),
            ("Closed", f"{minute_words(facts.last)} UTC" if facts.closed else "not closed"),
            ("Worked by", names(hands(facts))),
            ("Signed by", _signed(facts) or "nobody"),
            ("Head of the shop", shop_head(facts)),
        )
    )


def _batch(facts: RunFacts) -> tuple[str, ...]:
    return tuple(part.part for part in facts.parts)


def names(people: Iterable[str]) -> str:
    """Names of people, each once, in the order in which they come up."""
    return listed(tuple(dict.fromkeys(people)), most=_MOST) or "nobody"


def hands(facts: RunFacts) -> tuple[str, ...]:
    """The names of those who entered work, the one who began it first."""
    by = dict.fromkeys(act.by for act in facts.acts if act.by != "station")
    return tuple(facts.name_of(person) for person in by)


def _signed(facts: RunFacts) -> str:
    """Who signed for what, by which key: `Nell Tarrow (step 59, the run), key known to the shop`.

    The words give the name, the key whose it is: where the two were not found to be one person's,
    the principal of the key stands beside the name.
    """
    signed: dict[tuple[str, str], list[str]] = {}
    for signature in facts.signatures:
        about = f"step {signature.number}" if signature.number else "the run"
        key = key_words(facts.verdict, signature.n, signature.who) if facts.verdict else ""
        signed.setdefault((signature.name, key), []).append(about)
    return "; ".join(
        f"{name} ({listed(list(dict.fromkeys(about)))}){key}"
        for (name, key), about in signed.items()
    )


def words(facts: RunFacts) -> tuple[Para, ...]:
    """The answers that a reader looks for first, warnings before all else."""
    return (
        *_warnings(facts),
        Para(result_words(facts)),
        *_values(facts),
        trust_words(facts),
        _odd_words(facts),
    )


def _warnings(facts: RunFacts) -> Iterator[Para]:
    if facts.rehearsal:
        yield Para(f"A rehearsal by a script, nothing was worked: {facts.rehearsal}", "bad")
    if not facts.closed:
        yield Para(
            f"The run is open; this is how it stood at {minute_words(facts.last)} UTC.", "doubt"
        )
    if facts.stopped:
        yield Para(f"The run is stopped: {facts.stopped}", "bad")


def result_words(facts: RunFacts) -> str:
    """The outcome of the parts, in one sentence."""
    states: dict[str, list[str]] = {}
    for part in facts.parts:
        states.setdefault(part.status, []).append(part.part)
    if len(states) == 1:
        who = parts_words(_batch(facts), _batch(facts))
        verb = "is" if len(facts.parts) == 1 else "are"
        return f"{who[:1].upper()}{who[1:]} {verb} {next(iter(states))}."
    said = [f"{len(parts)} {state} ({listed(parts)})" for state, parts in states.items()]
    return f"Of {count(len(facts.parts), 'part')}: {', '.join(said)}."


def _values(facts: RunFacts) -> Iterator[Para]:
    """How the values stood against their limits; one read for several parts counts once."""
    judged: dict[tuple[int, str, str], ReadingFacts] = {}
    where: dict[str, dict[str, None]] = {}
    for reading in facts.readings:
        if reading.verdict and not reading.taken_back:
            judged[reading.n, reading.place, "" if reading.batch else reading.part] = reading
            where.setdefault(reading.verdict, {})[reading.part] = None
    if not judged:
        return
    if set(where) == {"inside"}:
        all_of = f"all {len(judged)}" if len(judged) > 1 else "the only one is"
        yield Para(f"Values against their limits: {all_of} inside.")
        return
    said = [
        f"{sum(reading.verdict == verdict for reading in judged.values())} {verdict}"
        + ("" if verdict == "inside" else f" ({parts_words(where[verdict], _batch(facts))})")
        for verdict in sorted(where, key=("inside", "outside", "in doubt").index)
    ]
    mark = "bad" if "outside" in where else "doubt"
    yield Para(f"Values against their limits: {', '.join(said)}.", mark)


def odd_counts(facts: RunFacts) -> str:
    """How many deviations, corrections, doubts and open questions there are; empty for none."""
    counts = (
        (len(facts.deviations), "deviation"),
        (len(facts.corrections), "correction"),
        (len(facts.doubts), "doubt"),
        (facts.open_questions, "open question"),
    )
    return listed([count(number, word) for number, word in counts if number])


def _odd_words(facts: RunFacts) -> Para:
    odd = odd_counts(facts)
    if not odd:
        return Para("Nothing was done otherwise than written, corrected, or left in doubt.")
    return Para(f"To be looked at: {odd}, told under Deviations, corrections and doubts.", "doubt")


def job_words(runs: Sequence[RunFacts]) -> tuple[Para, ...]:
    """The facts that a reader of a job's record looks for first."""
    pairs = []
    rehearsed = sum(bool(run.rehearsal) for run in runs)
    if rehearsed:
        which = "Every run" if rehearsed == len(runs) else f"{rehearsed} of {len(runs)} runs"
        verb = "is a rehearsal" if rehearsed in (1, len(runs)) else "are rehearsals"
        pairs.append(Para(f"{which} {verb} by a script: nothing in it was worked.", "bad"))
    still = sum(not run.closed for run in runs)
    if still:
        pairs.append(Para(f"{count(still, 'run')} of {len(runs)} not closed yet.", "doubt"))
    whole = sum(bool(run.verdict and run.verdict.get("whole")) for run in runs)
    unread = sum(run.verdict is None for run in runs)
    mark = "" if whole == len(runs) else "doubt" if whole + unread == len(runs) else "bad"
    pairs.append(Para(f"{whole} of {count(len(runs), 'record')} checked and whole.", mark))
    return tuple(pairs)
