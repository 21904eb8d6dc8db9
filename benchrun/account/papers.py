"""Signatures, notes and pictures of a run, and why parts left the way."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from benchrun.account.facts import PhotoFacts, RunFacts, SignFacts, WordFacts
from benchrun.part_names import part_names
from benchrun.procedure.route import Hold, Procedure
from benchrun.run import entries as e

KNOWN_WORDS: Final = {
    True: ", key known to the shop",
    False: ", key NOT known to the shop",
    None: "",
}
"""The shop's word on a signer's key, to stand behind the name; nothing where it was not asked."""


def key_words(verdict: Mapping[str, Any], n: int, who: str) -> str:
    """The finding of a check on a signer's key, to stand behind the name.

    Args:
        verdict: What was checked, in the form that `benchrun verify --json` prints: of it the
            `faults`, the `signers` whose signatures hold and what of them is `known`.
        n: The entry of the signature.
        who: The principal that it gives.
    """
    faults: Sequence[object] = verdict.get("faults", ())
    wrong = any(str(text).startswith(f"entry {n}: ") for text in faults)
    if wrong or who not in verdict.get("signers", {}):
        return f", signature of {who} does NOT hold"
    return KNOWN_WORDS[verdict.get("known", {}).get(who)]


class PaperWalk:
    """Takes entry after entry and adds signatures, notes, lessons and pictures to the facts.

    Attributes:
        identities: The cast or stamped numbers of each part.
        reasons: Why a part left the way: the last word on it, from moves, answers and the close.
    """

    def __init__(self, procedure: Procedure, facts: RunFacts) -> None:
        self._steps = procedure.route.steps
        self._facts = facts
        self._before: e.Entry | None = None
        self._asked: dict[tuple[str, str], str] = {}
        self.identities: dict[str, str] = {}
        self.reasons: dict[str, str] = {}

    def take(self, entry: e.Entry) -> None:
        """Take the next entry."""
        data = entry.data
        for part, outcome in getattr(data, "each", {}).items():
            for question in outcome.asks:
                self._asked[question.id, part] = question.says
        match data:
            case e.Opened():
                self.identities.update({spec.part: spec.identity for spec in data.parts})
            case e.Added():
                self.identities[data.part.part] = data.part.identity
            case e.Signed():
                self._facts.signatures.append(self._signature(entry, data))
            case e.Sealed():
                self._facts.seals += 1
            case e.Note() | e.Lesson():
                words = self._facts.lessons if entry.kind == "lesson" else self._facts.notes
                words.append(self._word(entry, data))
            case e.Photo():
                self._facts.photos.append(self._photo(entry, data))
            case _:
                self._reason(data)
        self._before = entry

    def _reason(self, data: e.Data) -> None:
        if isinstance(data, e.Moved) and data.to in ("aside", "scrap"):
            self.reasons.update(dict.fromkeys(data.parts, data.reason))
        elif isinstance(data, e.Answered) and data.code in ("aside", "scrap"):
            for part in data.parts:
                settles = data.each[part].settles if part in data.each else ""
                words = (self._asked.get((settles, part), "").removesuffix("."), data.reason)
                self.reasons[part] = "; reason: ".join(word for word in words if word)
        elif isinstance(data, e.Moved) and data.to == "play":
            for part in data.parts:
                self.reasons.pop(part, None)
        elif isinstance(data, e.Closed):
            # Why a part was set aside says more of it than why the run was closed without it.
            for part, reason in data.reasons.items():
                before = self.reasons.get(part)
                both = f"{before}; at the close: {reason}" if before else reason
                self.reasons[part] = reason if before == reason else both

    def _number(self, step: str) -> int | None:
        known = self._steps.get(step)
        return known.number if known else None

    def _signature(self, entry: e.Entry, data: e.Signed) -> SignFacts:
        before = self._before
        stated = before.data if before is not None and before.n == data.of else None
        said = getattr(stated, "says", "")
        name, _, says = said.partition(": ")
        return SignFacts(
            entry.n,
            entry.at.utc,
            data.who,
            name if says else data.who,
            says or said,
            self._number(getattr(stated, "step", "")),
            tuple(getattr(stated, "parts", ())),
            entry.n,
            tuple(getattr(stated, "flags", ())),
            tuple(map(remark_words, getattr(stated, "remarks", ()))),
            self._role(getattr(stated, "step", "")),
            bool(getattr(stated, "waived", False)),
            str(getattr(stated, "reason", "")) if getattr(stated, "waived", False) else "",
        )

    def _role(self, step: str) -> str:
        known = self._steps.get(step)
        return known.detail.role if known and isinstance(known.detail, Hold) else ""

    def _word(self, entry: e.Entry, data: e.Note | e.Lesson) -> WordFacts:
        return WordFacts(
            entry.n,
            entry.at.utc,
            entry.by,
            entry.kind,
            data.text,
            self._number(data.step),
            data.step,
            tuple(getattr(data, "parts", ())),
        )

    def _photo(self, entry: e.Entry, data: e.Photo) -> PhotoFacts:
        return PhotoFacts(
            entry.n,
            entry.at.utc,
            entry.by,
            data.file,
            data.sha256,
            data.bytes,
            self._number(data.step),
            data.text,
            data.parts,
            "",
            data.position.value,
        )


def remark_words(remark: e.Remark) -> str:
    """One thing of the list in a line: `entry 12, arm 1: step 5 taken out late, against “…”`."""
    who = f"{part_names(remark.parts)}: " if remark.parts else ""
    against = f", against “{remark.against}”" if remark.against else ""
    return f"entry {remark.of}, {who}{remark.what}{against}"
