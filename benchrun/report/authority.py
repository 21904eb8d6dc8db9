"""By whose authority: who released the parts, in which role, by which key."""

from collections.abc import Sequence
from typing import Final

from benchrun.account.facts import RunFacts, SignFacts
from benchrun.account.papers import key_words
from benchrun.report.doc import Block, Cell, Para, Section, table_of
from benchrun.report.wording import parts_words
from benchrun.text import count, listed
from benchrun.wording import minute_words

_MOST_NAMED: Final = 6


def authority_section(runs: Sequence[RunFacts]) -> Section:
    """Who released the parts, in which role, by which key; other signatures are counted."""
    title = "By whose authority"
    rows, more = [], 0
    for number, run in enumerate(runs, 1):
        groups, released = _signed(run), _releases(run)
        which = f"run {number}" if len(runs) > 1 else ""
        rows += [_signature(which, run, of) for of in released]
        more += len(groups) - len(released)
    if not rows:
        return Section(title, (Para("Nobody has signed anything.", "bad"),))
    blocks: list[Block] = [table_of(("Who, as", "Statement signed", "For, when", "Key"), rows)]
    if more:
        blocks.append(Para(f"{count(more, 'more signature')} at single steps in the annexes."))
    return Section(title, tuple(blocks))


def _signed(run: RunFacts) -> list[list[SignFacts]]:
    """The signatures of a run, those of one person to the same words together."""
    groups: dict[tuple[str, str, str, int | None], list[SignFacts]] = {}
    for signed in run.signatures:
        key = (signed.who, signed.says, signed.role, signed.number)
        groups.setdefault(key, []).append(signed)
    return list(groups.values())


def _releases(run: RunFacts) -> list[list[SignFacts]]:
    """Of the signatures of a run those in a role and of the run itself, or else the last one."""
    groups = _signed(run)
    return [of for of in groups if of[0].role or of[0].number is None] or groups[-1:]


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
    return "; ".join(said[:_MOST_NAMED]) or "nobody"


def _signature(which: str, run: RunFacts, group: Sequence[SignFacts]) -> tuple[Cell | str, ...]:
    last = group[-1]
    parts = list(dict.fromkeys(part for signed in group for part in signed.parts))
    about = f"step {last.number}" if last.number else "" if which else "the run"
    of = parts_words(parts, (part.part for part in run.parts)) if parts else ""
    flags = list(dict.fromkeys(flag for signed in group for flag in signed.flags))
    said = f"{last.says} ({listed(flags)})" if flags else last.says
    return (
        f"{last.name}, {last.role}" if last.role else last.name,
        Cell(said, mark="doubt" if flags else ""),
        ", ".join(words for words in (which, about, of, minute_words(last.utc)) if words),
        _key(run, last),
    )


def _key(run: RunFacts, signed: SignFacts) -> Cell:
    """The key of a signature in short, and whether the shop knows it."""
    if run.verdict is None:
        return Cell("not checked", mark="doubt")
    words = key_words(run.verdict, signed.n, signed.who).removeprefix(", ")
    known = run.verdict.get("known", {}).get(signed.who)
    fingerprint = str(run.verdict.get("signers", {}).get(signed.who, ""))[:19]
    said = f"{fingerprint}…, {words or 'nobody asked the shop'}" if fingerprint else words
    return Cell(said, mark="" if known and fingerprint else "bad" if known is False else "doubt")
