"""Advice on the sentence of a step, in words."""

from collections.abc import Iterator

from benchrun.procedure import words
from benchrun.procedure.verbs import VerbList, not_listed

MOST_WORDS = 20


def sentence_advice(text: str, verbs: VerbList) -> Iterator[str]:
    """The advice on the sentence of a step.

    Args:
        text: The sentence.
        verbs: The verbs that it may begin with.
    """
    count = words.word_count(text)
    if count > MOST_WORDS:
        yield f"step of {count} words: at most {MOST_WORDS}; split it, or move part to `why`"
    late = words.late_condition(text, verbs)
    no_comma = not late and words.opens_without_comma(text)
    numbered = words.numbered_step(text)
    if not no_comma and not numbered:
        yield from _verb(text, verbs)
    further = words.further_action(text, verbs)
    if further:
        yield f"a second action ({further!r}) in one step: make it a step of its own"
    if late:
        yield f"the condition ({late!r}) comes after the command: put it first"
    elif no_comma:
        yield "no comma parts the condition from the command: set one"
    mixed = words.mixed_joint(text)
    if mixed:
        yield f"`and` and `or` are mixed ({mixed!r}): make it two steps, or an `if` or a table"
    if numbered:
        yield (
            f"{numbered!r} sends the reader by a number or a place that changes: let a "
            "consequence do it, such as `rework from` with the step's id, or a `repeat`"
        )


def _verb(text: str, verbs: VerbList) -> Iterator[str]:
    if words.begins_with_verb(text, verbs):
        return
    strange = words.strange_verb(text, verbs)
    if not strange:
        first = text.split(maxsplit=1)[0]
        yield f"step begins with {first!r}: begin with what to do, such as Measure"
        return
    say = not_listed().get(strange.lower(), "")
    cure = f"say {say.capitalize()!r}" if say else "name the act by one of the list"
    yield f"{strange!r} is not in the list of verbs: {cure}, or put it into the shop's words.yaml"
