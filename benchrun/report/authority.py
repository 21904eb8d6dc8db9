"""By whose authority: who released the parts, in which role, by which key."""

from collections.abc import Sequence
from typing import Final

from benchrun.account.facts import RunFacts, SignFacts
from benchrun.account.papers import key_words
from benchrun.part_names import part_names
from benchrun.report.doc import Block, Cell, Para, Section, table_of
from benchrun.report.wording import job_parts_words
from benchrun.text import count, listed
from benchrun.wording import minute_words

_MOST_NAMED: Final = 6


def authority_section(runs: Sequence[RunFacts]) -> Section:
    """Who released the parts, in which role, by which key; other signatures are counted."""
    title = "By whose authority"
    shown = _with_waivers if len(runs) == 1 else _releases
    groups = [(number, run, of) for number, run in enumerate(runs, 1) for of in shown(run)]
    if not groups:
        signed = any(run.signatures for run in runs)
        said = "Not released: nobody signed for" if signed else "Nobody has signed anything for"
        return Section(title, _last(f"{said} the parts.", runs, 0))
    if len(runs) == 1:
        heads = ("Who, as", "Statement signed", "For, when", "Key")
        rows = [_signature(run, of) for _, run, of in groups]
    else:
        heads = ("Who, as", "Signed for", "When", "Key")
        rows = _over_runs(groups)
    blocks: list[Block] = [table_of(heads, rows[:_MOST_NAMED])]
    without = [str(number) for number, run in enumerate(runs, 1) if not _releases(run)]
    which = "run" if len(without) == 1 else "runs"
    lacking = f"Not released: {which} {listed(without, most=20)}." if without else ""
    told = sum(len(of) for _, _, of in groups[: _MOST_NAMED if len(runs) == 1 else None])
    return Section(title, (*blocks, *_last(lacking, runs, told)))


def _last(lacking: str, runs: Sequence[RunFacts], told: int) -> tuple[Block, ...]:
    """The runs that nobody released, and how many signatures the annexes hold beside those told."""
    more = sum(len(run.signatures) for run in runs) - told
    others = f"{count(more, 'more signature')} in the annexes." if more else ""
    words = " ".join(word for word in (lacking, others) if word)
    return (Para(words, "bad" if lacking else ""),) if words else ()


def _signed(run: RunFacts) -> list[list[SignFacts]]:
    """The signatures of a run, those of one person to the same words together."""
    groups: dict[tuple[str, str, str, int | None], list[SignFacts]] = {}
    for signed in run.signatures:
        key = (signed.who, signed.says, signed.role, signed.number)
        groups.setdefault(key, []).append(signed)
    return list(groups.values())


def _releases(run: RunFacts) -> list[list[SignFacts]]:
    """Of the signatures of a run those in a role, and that of the run where it is somebody else."""
    groups = [of for of in _signed(run) if not of[0].waived]
    in_role = [of for of in groups if of[0].role]
    known = {of[0].who for of in in_role}
    return [of for of in groups if of[0].role or (of[0].number is None and of[0].who not in known)]


def _with_waivers(run: RunFacts) -> list[list[SignFacts]]:
    """The waivers of a run, and the signatures that release."""
    return [*(of for of in _signed(run) if of[0].waived), *_releases(run)]


def unreleased_words(run: RunFacts) -> str:
    """Why parts of a run are not released; empty where all that were not scrapped are."""
    why = []
    if not run.closed:
        why.append("the run is not closed and signed")
    unfinished: dict[str, list[str]] = {}
    for part in run.parts:
        if run.closed and part.status not in ("done", "scrap"):
            unfinished.setdefault(part.status, []).append(part.part)
    why += [f"{part_names(parts)}: {status}" for status, parts in unfinished.items()]
    last: dict[str, SignFacts] = {}
    for signed in run.signatures:
        if signed.number is not None and signed.number == run.release:
            last.update(dict.fromkeys(signed.parts, signed))
    for signed in dict.fromkeys(last.values()):
        if signed.waived:
            parts = [part for part in signed.parts if last[part] is signed]
            because = f" ({signed.reason})" if signed.reason else ""
            waived = f"{signed.name} waived step {signed.number}{because}"
            why.append(f"{part_names(parts)}: {waived}")
    return "; ".join(why)


def waived_words(run: RunFacts) -> str:
    """Which holds of a run were waived before its release, for which parts, by whom and why."""
    said = []
    for group in _signed(run):
        last = group[-1]
        if last.waived and last.number != run.release:
            parts = part_names(tuple(dict.fromkeys(p for one in group for p in one.parts)))
            why = listed(list(dict.fromkeys(one.reason for one in group if one.reason)))
            words = last.says.removesuffix(".") + (f". Reason: {why}" if why else "")
            said.append(f"{parts}, {last.name}: {words}")
    more = f"; and {len(said) - _MOST_NAMED} more" if len(said) > _MOST_NAMED else ""
    return "; ".join(said[:_MOST_NAMED]) + more


def released_words(runs: Sequence[RunFacts]) -> str:
    """Who released, in which role, and the shop's word on the key, in few words."""
    roles: dict[tuple[str, str], list[str]] = {}
    for run in runs:
        for group in _releases(run):
            last = group[-1]
            key = key_words(run.verdict, last.n, last.who) if run.verdict else ", key not checked"
            roles.setdefault((last.name, key), []).append(last.role)
    said = []
    for (name, key), of in roles.items():
        named = listed([role for role in dict.fromkeys(of) if role])
        said.append(f"{name}, {named}{key}" if named else f"{name}{key}")
    without = sum(not _releases(run) for run in runs)
    if said and without:
        return "; ".join((*said[:_MOST_NAMED], f"{without} of {len(runs)} runs not released"))
    return "; ".join(said[:_MOST_NAMED]) or "not released"


def _signature(run: RunFacts, group: Sequence[SignFacts]) -> tuple[Cell | str, ...]:
    last = group[-1]
    parts = list(dict.fromkeys(part for signed in group for part in signed.parts))
    about = f"step {last.number}" if last.number else "the run"
    of = job_parts_words(parts, run, (run,)) if parts else ""
    flags = list(dict.fromkeys(flag for signed in group for flag in signed.flags))
    said = f"{last.says} ({listed(flags)})" if flags else last.says
    if last.waived:  # its words say so already; why it was is what a reader asks
        why = list(dict.fromkeys(signed.reason for signed in group if signed.reason))
        said = f"{last.says} Reason: {listed(why)}." if why else last.says
    return (
        f"{last.name}, {last.role}" if last.role else last.name,
        Cell(said, mark="doubt" if flags else ""),
        ", ".join(words for words in (about, of, minute_words(last.utc)) if words),
        _key(run, last),
    )


def _over_runs(
    groups: Sequence[tuple[int, RunFacts, Sequence[SignFacts]]],
) -> list[tuple[Cell | str, ...]]:
    """A row a signer, role and key, with the runs that were signed for."""
    alike: dict[tuple[str, Cell], list[tuple[int, str]]] = {}
    for number, run, group in groups:
        last = group[-1]
        who = f"{last.name}, {last.role}" if last.role else last.name
        alike.setdefault((who, _key(run, last)), []).append((number, last.utc))
    rows: list[tuple[Cell | str, ...]] = []
    for (who, key), of in alike.items():
        numbers = list(dict.fromkeys(str(number) for number, _ in of))
        first, last_day = min(utc for _, utc in of)[:10], max(utc for _, utc in of)[:10]
        which = "run" if len(numbers) == 1 else "runs"
        when = first if first == last_day else f"{first} to {last_day}"
        rows.append((who, f"{which} {listed(numbers, most=20)}, see the annex of each", when, key))
    return rows


def _key(run: RunFacts, signed: SignFacts) -> Cell:
    """The key of a signature in short, and whether the shop knows it."""
    if run.verdict is None:
        return Cell("not checked", mark="doubt")
    words = key_words(run.verdict, signed.n, signed.who).removeprefix(", ")
    known = run.verdict.get("known", {}).get(signed.who)
    fingerprint = str(run.verdict.get("signers", {}).get(signed.who, ""))[:19]
    said = f"{fingerprint}…, {words or 'nobody asked the shop'}" if fingerprint else words
    return Cell(said, mark="" if known and fingerprint else "bad" if known is False else "doubt")
