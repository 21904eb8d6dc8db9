"""Signatures, notes and pictures of a run, and why parts left the way."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from benchrun.account.facts import PhotoFacts, RunFacts, SignFacts, WordFacts
from benchrun.account.walker import Around, Takers
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

    def __init__(
        self,
        procedure: Procedure,
        facts: RunFacts,
        around: Around,
        says: Callable[[str, str], str],
    ) -> None:
        self._steps = procedure.route.steps
        self._facts = facts
        self._around = around
        self._says = says
        self.identities: dict[str, str] = {}
        self.reasons: dict[str, str] = {}

    @property
    def takes(self) -> Takers:
        """The ways in which it takes entries."""
        return {
            e.Opened: self._opened,
            e.Added: self._added,
            e.Signed: self._signed,
            e.Sealed: self._sealed,
            e.Note: self._noted,
            e.Lesson: self._learned,
            e.Photo: self._pictured,
            e.Moved: self._moved,
            e.Answered: self._answered,
            e.Closed: self._closed,
        }

    def _opened(self, _: e.Entry, data: e.Opened) -> None:
        self.identities.update({spec.part: spec.identity for spec in data.parts})

    def _added(self, _: e.Entry, data: e.Added) -> None:
        self.identities[data.part.part] = data.part.identity

    def _sealed(self, *_: object) -> None:
        self._facts.seals += 1

    def _moved(self, _: e.Entry, data: e.Moved) -> None:
        if data.to in ("aside", "scrap"):
            self.reasons.update(dict.fromkeys(data.parts, data.reason))
        elif data.to == "play":
            for part in data.parts:
                self.reasons.pop(part, None)

    def _answered(self, _: e.Entry, data: e.Answered) -> None:
        if data.code not in ("aside", "scrap"):
            return
        for part in data.parts:
            asked = self._says(data.each.get(part, e.NOTHING).settles, part)
            words = (asked.removesuffix("."), data.reason)
            self.reasons[part] = "; reason: ".join(word for word in words if word)

    def _closed(self, _: e.Entry, data: e.Closed) -> None:
        # Why a part was set aside says more of it than why the run was closed without it.
        for part, reason in data.reasons.items():
            before = self.reasons.get(part)
            both = f"{before}; at the close: {reason}" if before else reason
            self.reasons[part] = reason if before == reason else both

    def _number(self, step: str) -> int | None:
        known = self._steps.get(step)
        return known.number if known else None

    def _signed(self, entry: e.Entry, data: e.Signed) -> None:
        before = self._around.last
        stated = before.data if before is not None and before.n == data.of else None
        said = getattr(stated, "says", "")
        name, _, says = said.partition(": ")
        self._facts.signatures.append(
            SignFacts(
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
        )

    def _role(self, step: str) -> str:
        known = self._steps.get(step)
        return known.detail.role if known and isinstance(known.detail, Hold) else ""

    def _noted(self, entry: e.Entry, data: e.Note) -> None:
        self._facts.notes.append(self._word(entry, data))

    def _learned(self, entry: e.Entry, data: e.Lesson) -> None:
        self._facts.lessons.append(self._word(entry, data))

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

    def _pictured(self, entry: e.Entry, data: e.Photo) -> None:
        self._facts.photos.append(
            PhotoFacts(
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
        )


def remark_words(remark: e.Remark) -> str:
    """One thing of the list in a line: `entry 12, arm 1: step 5 taken out late, against “…”`."""
    who = f"{part_names(remark.parts)}: " if remark.parts else ""
    against = f", against “{remark.against}”" if remark.against else ""
    return f"entry {remark.of}, {who}{remark.what}{against}"
