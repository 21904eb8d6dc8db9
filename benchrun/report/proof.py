"""The section that lets a stranger check the record: heads, signers, commands of stock tools."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from benchrun.account.facts import RunFacts
from benchrun.report.doc import Block, Bullets, Code, Fields, Para, Section, Under, table_of
from benchrun.text import count, listed

# The commands as record/FORMAT.md prints them; a test holds the two together.
CHAIN: Final = """\
prev=0000000000000000000000000000000000000000000000000000000000000000
while IFS= read -r line; do
  test "$(printf '%s' "$line" | jq -cS .)" = "$line" || { echo "not canonical: $line"; exit 1; }
  test "$(printf '%s' "$line" | jq -r .prev)" = "$prev" || { echo "broken before: $line"; exit 1; }
  prev=$(printf '%s\\n' "$line" | sha256sum | cut -d ' ' -f 1)
done < log.jsonl
echo "chain holds, head $prev"
"""
SIGNATURES: Final = """\
jq -r 'select(.kind == "sign" or .kind == "seal") | "\\(.n) \\(.kind) \\(.data.who) \\(.at.utc)"' log.jsonl |
while read -r n kind who utc; do
  sig=$(mktemp)
  at=$(echo "$utc" | sed 's/\\.[0-9]*//; s/[-:T]//g')
  sed -n "$((n + 1))p" log.jsonl | jq -rj .data.sshsig > "$sig"
  head -n "$n" log.jsonl | ssh-keygen -Y verify -f signers -I "$who" -n "$kind@benchrun" \\
    -O "verify-time=$at" -s "$sig" || exit 1
  rm -f "$sig"
done
"""  # noqa: E501  a command is printed as it is typed
WHOLE: Final = """\
who=$(ssh-keygen -Y find-principals -f signers -s log.jsonl.sig)
ssh-keygen -Y verify -f signers -I "$who" -n seal@benchrun -s log.jsonl.sig < log.jsonl
"""
FILES: Final = """\
echo "$(head -n 1 log.jsonl | jq -r .data.procedure_sha256)  procedure.yaml" | sha256sum -c
jq -r '(select(.kind == "photo") | .data), (select(.kind == "seal") | .data.files // [] | .[]) |
  "\\(.sha256)  \\(.file)"' log.jsonl |
while IFS= read -r row; do printf '%s\\n' "$row" | sha256sum -c || exit 1; done
"""
_KNOWN: Final = {True: "yes", False: "NO", None: "not asked"}
_LIMITS: Final = (
    "What was entered after the last signature or seal can be changed by whoever can write the "
    "file.",
    "Who has a person's key and passphrase signs as that person.",
    "Times are the word of this shop's machine; no outside time stamp was taken.",
    "That a reading was taken, of that part, by that person, is what people said; the record shows "
    "that it was said, when, and that nobody changed it since.",
)


def trust_words(facts: RunFacts) -> Para:
    """Whether the record can be trusted, in one sentence."""
    verdict = facts.verdict
    if verdict is None:
        return Para(
            "Nobody checked the record when this was written; the last section says how to.",
            "doubt",
        )
    if not verdict.get("whole"):
        faults = len(texts_of(verdict, "faults"))
        return Para(f"The record is DAMAGED: {count(faults, 'fault')}, see Proof.", "bad")
    people, seals = int(verdict.get("signatures", 0)), int(verdict.get("seals", 0))
    said = (
        f"The record is intact: its {count(facts.entries, 'entry', 'entries')} follow from each "
        f"other, the rules come to the same outcomes, {count(people, 'signature')} of people and "
        f"{count(seals, 'seal')} of the station hold."
    )
    said = said if facts.closed else f"{said} The run is not closed."
    strangers = sorted(str(who) for who, known in _known(verdict).items() if known is False)
    if strangers:
        return Para(f"{said} The shop does not know the key of {listed(strangers)}.", "doubt")
    doubts = len(texts_of(verdict, "doubts"))
    return Para(f"{said} {count(doubts, 'doubt')} in the section Proof." if doubts else said)


def _known(verdict: Mapping[str, Any]) -> Mapping[str, bool | None]:
    """Of each signer, whether the shop knows the key; None where it was not asked."""
    known: Mapping[str, bool | None] = verdict.get("known", {})
    return known


def texts_of(verdict: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """The texts of a verdict under a key, such as `faults`; empty where it has none."""
    texts = verdict.get(key)
    return tuple(str(text) for text in texts) if isinstance(texts, Sequence) else ()


def proof_section(runs: Sequence[RunFacts]) -> Section:
    """Heads, signers, what checking found, how to check again: the last once for all runs."""
    blocks: list[Block] = []
    for number, facts in enumerate(runs, 1):
        blocks += [Under(f"Run {number}: {facts.title}")] if len(runs) > 1 else []
        blocks.append(_heads(facts))
        blocks += _checked(facts)
    blocks += _signers(runs)
    blocks += [
        Under("How to check it with stock tools"),
        Para(
            "Needed: the run's folder, a shell, jq, sha256sum and ssh-keygen of OpenSSH 9.1 or "
            "newer. First of all, sha256sum log.jsonl must print the digest above. The public keys "
            "in the file signers are worth what you know of them: compare the fingerprints with "
            "ones that the shop gave you in another way."
        ),
        Code(CHAIN),
        Code(SIGNATURES),
        Code(WHOLE),
        Code(FILES),
        Under("What it cannot prove"),
        Bullets(_LIMITS),
    ]
    return Section("Proof", tuple(blocks))


def _heads(facts: RunFacts) -> Fields:
    return Fields(
        (
            ("Run", facts.run),
            ("Entries in log.jsonl", str(facts.entries)),
            ("SHA-256 of log.jsonl", facts.log_sha256),
            ("Head (SHA-256 of its last line)", facts.head),
            ("Head of the shop's register at the opening", facts.register_head),
            ("Head of the shop when this was written", shop_head(facts)),
            ("Seal over the whole log", "log.jsonl.sig" if facts.sealed else "none"),
            ("Written by", facts.program),
        )
    )


def shop_head(facts: RunFacts) -> str:
    """The short head of the shop's register, to be noted on paper and asked for later."""
    return str((facts.verdict or {}).get("shop_head", "")) or "not at hand"


def _signers(runs: Sequence[RunFacts]) -> list[Block]:
    """Whose keys signed, each once for all runs."""
    rows = {
        (str(who), str(key), _KNOWN[_known(run.verdict).get(who)])
        for run in runs
        if run.verdict is not None
        for who, key in run.verdict.get("signers", {}).items()
    }
    if not rows:
        return []
    columns = ("Signer", "Fingerprint of the key", "Known to the shop")
    return [Under("Whose keys signed"), table_of(columns, sorted(rows))]


def _checked(facts: RunFacts) -> list[Block]:
    verdict = facts.verdict
    if verdict is None:
        return [Under("What checking it found"), Para("It was not checked.", "doubt")]
    blocks: list[Block] = []
    blocks.append(Under("What checking it found"))
    faults, doubts = texts_of(verdict, "faults"), texts_of(verdict, "doubts")
    blocks.append(Para("DAMAGED.", "bad") if faults else Para("Intact: no fault."))
    blocks += [Bullets(tuple(f"fault: {fault}" for fault in faults))] if faults else []
    if doubts:
        blocks.append(Para("What a reader should know, though it makes nothing less whole:"))
        blocks.append(Bullets(doubts))
    return blocks
