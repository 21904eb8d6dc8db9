"""Plain workshop English as the advice knows it: which words tell somebody to do something."""

import re
from functools import cache
from importlib.resources import files
from typing import Final

_OPENERS: Final = re.compile(
    r"(?:if|when|once|after|before|while|where|until|as soon as|with|for|on|in|at|from|using)\b",
    re.IGNORECASE,
)
_BEFORE_VERB: Final = re.compile(r"(?:never|again|then|now|next|first|[a-z]+ly)\s+", re.IGNORECASE)
_CONDITION: Final = re.compile(
    r"\S\s+(if|when|unless|once(?! more| again| in| a\b| only))\s", re.IGNORECASE
)
_OBJECT: Final = r"(?:the|a|an|it|them|each|every|all|both|its|your|any|one|two)\b"
_JOINED: Final = re.compile(
    rf"(?:,? and then |; |,? then |\. |,? and )([a-z]+)"
    rf"(?= (?:{_OBJECT}|(?:off|out|up|down|in|on|over|with|again)\b))",
    re.IGNORECASE,
)
_COMMAND: Final = re.compile(
    rf"(?:never|always|do not|don't|wear|keep|ensure|make sure|[a-z]+ {_OBJECT})", re.IGNORECASE
)
_AMOUNT: Final = re.compile(
    r"[0-9] ?(?:°C|°F|mm|µm|um|in|thou|kN|N·?m|ft lb|bar|psi|MPa|%|min|h|s|l|ml|g|kg)\b"
)


@cache
def _verbs() -> frozenset[str]:
    table = files("benchrun.procedure") / "tables" / "verbs.txt"
    lines = table.read_text(encoding="utf-8").splitlines()
    return frozenset(word for line in lines if not line.startswith("#") for word in line.split())


def begins_with_verb(text: str) -> bool:
    """Whether a text begins with what to do; a condition and a comma may stand before it."""
    command = text.strip()
    if _OPENERS.match(command) and not _is_verb(command):
        _, comma, rest = command.partition(",")
        if not comma:
            return False
        command = rest.strip()
    while match := _BEFORE_VERB.match(command):
        command = command[match.end() :]
    return _is_verb(command)


def _is_verb(text: str) -> bool:
    word = re.match(r"[A-Za-z]+", text)
    return word is not None and word.group().lower() in _verbs()


def commands(text: str) -> bool:
    """Whether a sentence that should only tell of something tells somebody to do it."""
    return _is_verb(text) and _COMMAND.match(text) is not None


def opens_without_comma(text: str) -> bool:
    """Whether a text begins with a condition that no comma parts from the command."""
    conditional = re.match(r"(?:if|when|once|unless)\b", text, re.IGNORECASE)
    return conditional is not None and "," not in text


def further_action(text: str) -> str:
    """The verb of a second action in a text, or nothing."""
    for match in _JOINED.finditer(text):
        if match[1].lower() in _verbs():
            return match[1]
    return ""


def late_condition(text: str) -> str:
    """The word of a condition that stands after its command, or nothing."""
    if _OPENERS.match(text) and not _is_verb(text):
        return ""
    match = _CONDITION.search(text)
    return match[1] if match else ""


def has_amount(text: str) -> bool:
    """Whether a text holds a number with a unit."""
    return _AMOUNT.search(text) is not None


def word_count(text: str) -> int:
    """How many words a text has; signs alone do not count."""
    return len(re.findall(r"\w[\w'’./°%-]*", text))
