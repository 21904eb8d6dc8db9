"""Plain workshop English as the advice knows it: one step, one action, its condition first."""

import re
from itertools import pairwise
from typing import Final

from benchrun.procedure.verbs import VerbList, not_listed

_OPENERS: Final = re.compile(
    r"(?:if|when|whenever|once|after|before|while|where|until|unless|as soon as|as long as|in case"
    r"|provided|with|without|for|on|in|at|from|to|by|using)\b",
    re.IGNORECASE,
)
_BEFORE_VERB: Final = re.compile(
    r"(?:never|do not|don't|again|then|now|next|first|always|(?!apply|supply|rely)[a-z]+ly),?\s+",
    re.IGNORECASE,
)
_CONDITIONAL: Final = r"if|when|whenever|unless|once|as soon as|in case|provided(?: that)?"
_OBJECT: Final = (
    r"(?:the|a|an|it|them|this|that|these|those|each|every|all|both|its|your|any|one|two|three"
    r"|four|no|some|new|old|clean|fresh|[0-9]\S*)\b"
)
_PARTICLE: Final = r"(?:off|out|up|down|in|on|over|with|again|away|back|through)\b"
_AFTER_ADVERB: Final = r"(?:then |also |again |afterwards |at once |finally |[a-z]+ly )?"
_JOINED: Final = re.compile(
    rf"(?P<by>,? and then |,? then |; |\. |,? & |,? and |, )(?P<adverb>{_AFTER_ADVERB})"
    r"(?P<verb>[a-z]+)(?P<rest>[^a-z].*|$)",
    re.IGNORECASE,
)
_AT_ONCE: Final = frozenset(
    {"look", "listen", "feel", "watch", "read", "see", "smell", "hold", "keep", "note", "count"}
)
"""Sensing and holding are done while the first thing is: no action of their own."""

_TELLING: Final = (
    r"check|see|feel|tell|note|ask|look|watch|find|say|write|mark|know|hear|choose|judge|test|try"
)
_LATE: Final = re.compile(
    r"\S\s(?P<word>if|when|whenever|unless|in case|provided that|provided(?= \w+ \w+)"
    r"|providing that|on condition that|in the event that|as soon as|as long as|so long as"
    r"|once(?= (?:the|it|they|all|both|this|that|these|those|you|no)\b)"
    r"|(?:as|where|when|if) (?:necessary|required|needed|applicable))\b",
    re.IGNORECASE,
)
_NO_CONDITION: Final = re.compile(
    rf"\b(?:{_TELLING}|time|day|moment|point|place|even|as|only|what|or|and)\s$", re.IGNORECASE
)
"""The words before an `if` or a `when` that says whether, or which moment."""

_FORBIDDEN_UNTIL: Final = re.compile(
    r"^(?:do not|don't|never)\b.*\s(until|before|while)\s", re.IGNORECASE
)
_CLAUSE: Final = re.compile(
    rf"\b(?:{_CONDITIONAL}|until|where)\b(?P<clause>[^,;.]*)", re.IGNORECASE
)
_STEP_NUMBER: Final = re.compile(
    r"\b(?:steps?|paragraph|para|item|section|stage)\s+(?:no\.?\s*)?[0-9]+(?:\.[0-9]+)*[a-z]?\b"
    r"|\b(?:go|goes|going|return|jump|skip|proceed|start)\b[^,.;]*?\bto (?:the )?"
    r"(?:(?:start|beginning|next|previous|last|first)(?: step| stage)?|step|stage)\b",
    re.IGNORECASE,
)
_ORDER: Final = re.compile(
    r"please|never|always|do not|don't|make sure|be sure|see that|see to|take care|wear|keep",
    re.IGNORECASE,
)
_OBLIGED: Final = re.compile(
    r"\b(?:must|shall|(?<!what )(?<!that )(?<!which )should|ought to"
    r"|(?<!may )(?:have|has|need|needs) to|(?:is|are) to be|(?:is|are) required"
    r"|it is (?:necessary|essential|important) to|remember to|make sure|be sure to)\b",
    re.IGNORECASE,
)
_AMOUNT: Final = re.compile(
    r"[0-9] ?(?:°C|°F|mm|µm|um|in|thou|kN|N·?m|ft lb|bar|psi|MPa|%|min|h|s|l|ml|g|kg)\b"
)
_MEASURING: Final = frozenset({"measure", "weigh"})
_SENTENCE: Final = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")
_NO_VERB: Final = re.compile(r"[a-z]+(?:ed|ing|ness|ment|ful|able|[^s]s)", re.IGNORECASE)
_SMALL: Final = re.compile(rf"{_OBJECT}|you|we|there|he|she|they|not|please", re.IGNORECASE)
_SAYS_STATE: Final = re.compile(
    r"\S+\s(?:is|are|was|has|have|must|shall|should|will|can|may|to be)\b", re.IGNORECASE
)


def bare_command(text: str, verbs: VerbList) -> str:
    """A text from its command on; empty where a condition opens it that no comma ends."""
    command = text.strip()
    if _OPENERS.match(command) and not verbs.has(_word(command)):
        _, comma, rest = command.partition(",")
        if not comma:
            return ""
        command = rest.strip()
    while match := _BEFORE_VERB.match(command):
        command = command[match.end() :]
    return command


def begins_with_verb(text: str, verbs: VerbList) -> bool:
    """Whether a text begins with a verb of the list; a condition and a comma may stand before."""
    return verbs.has(_word(bare_command(text, verbs)))


def strange_verb(text: str, verbs: VerbList) -> str:
    """The verb that a text begins with where the list has it not; empty where it is no verb."""
    command = bare_command(text, verbs)
    word = _word(command)
    after = command[len(word) :].strip()
    if not word or verbs.has(word) or after.startswith("of "):
        return ""
    if word.lower() in not_listed():
        return word
    if _SAYS_STATE.match(command) or any(no.fullmatch(word) for no in (_NO_VERB, _SMALL)):
        return ""
    return word if re.match(rf"{_OBJECT}|{_PARTICLE}", after, re.IGNORECASE) else ""


def _word(text: str) -> str:
    word = re.match(r"[A-Za-z]+(?:-[A-Za-z]+)*", text)
    return word.group() if word else ""


def commands(text: str, verbs: VerbList) -> bool:
    """Whether a text that should only tell of something tells somebody to do it."""
    for sentence in _SENTENCE.split(text.strip()):
        command = bare_command(sentence, verbs) or sentence
        word = _word(command)
        after = command[len(word) :].strip()
        acts = verbs.may_act(word) and re.match(_OBJECT, after, re.IGNORECASE) is not None
        if acts or _ORDER.match(sentence) or _OBLIGED.search(sentence):
            return True
    return False


def measures(text: str, verbs: VerbList) -> bool:
    """Whether a text tells somebody to find a value, which cannot be done with bare hands."""
    return _word(bare_command(text, verbs)).lower() in _MEASURING


def tightens(text: str, verbs: VerbList) -> bool:
    """Whether a text tells somebody to tighten something."""
    return _word(bare_command(text, verbs)).lower() == "tighten"


def opens_without_comma(text: str) -> bool:
    """Whether a text begins with a condition that no comma parts from the command."""
    conditional = re.match(rf"(?:{_CONDITIONAL})\b", text, re.IGNORECASE)
    return conditional is not None and "," not in text


def further_action(text: str, verbs: VerbList) -> str:
    """The verb of a second action in a text, or nothing."""
    command = bare_command(text, verbs)
    at = 0
    while match := _JOINED.search(command, at):
        at = match.start("verb")
        word, by = match["verb"], match["by"].strip(" ,").lower()
        if not verbs.may_act(word):
            continue
        if word.lower() in _AT_ONCE and by in ("and", "&", ""):
            continue
        if _acts_here(match, by, verbs):
            return word
    return ""


def _acts_here(match: re.Match[str], by: str, verbs: VerbList) -> bool:
    """Whether the word behind a joint is a verb there and not the name of a thing."""
    word, rest = match["verb"], match["rest"].strip()
    takes = re.match(_OBJECT, rest, re.IGNORECASE) is not None
    if by in ("then", "and then", ";", ".") or match["adverb"]:
        moves = re.match(_PARTICLE, rest, re.IGNORECASE) is not None
        return verbs.acts(word) or takes or moves or not rest.strip(".")
    if by == "":  # a comma alone: a list of things goes on, unless an object follows
        return takes and not re.match(r"(?:one|no)\b", rest, re.IGNORECASE)
    return verbs.acts(word) or takes


def late_condition(text: str, verbs: VerbList) -> str:
    """The word of a condition that stands after its command, or nothing."""
    until = _FORBIDDEN_UNTIL.match(text)
    if until:
        return until[1].lower()
    command = bare_command(text, verbs)
    for match in _LATE.finditer(command):
        if not _NO_CONDITION.search(command[: match.start("word")]):
            return match["word"].lower()
    return ""


def mixed_joint(text: str) -> str:
    """The words in which `and` and `or` are mixed in one condition, or nothing."""
    either = re.search(r"\band/or\b", text, re.IGNORECASE)
    if either:
        return either.group()
    for match in _CLAUSE.finditer(text):
        clause = match["clause"].lower()
        if re.search(r"\band\b", clause) and re.search(r"\bor\b", clause):
            return match.group().strip()
    return ""


def numbered_step(text: str) -> str:
    """The words that send somebody to a step by its number or its place, or nothing."""
    match = _STEP_NUMBER.search(text)
    return match.group() if match else ""


def split_by_comma(lines: list[str]) -> int | None:
    """The place of a line that was split off the one before by a comma; None where none was."""
    for at, (before, line) in enumerate(pairwise(lines), 1):
        if line[:1].islower() and before[:1].isupper() and not before.rstrip().endswith((".", ":")):
            return at
    return None


def has_amount(text: str) -> bool:
    """Whether a text holds a number with a unit."""
    return _AMOUNT.search(text) is not None


def word_count(text: str) -> int:
    """How many words a text has; signs alone do not count."""
    return len(re.findall(r"\w[\w'’./°%-]*", text))
