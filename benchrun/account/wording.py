"""Words for what an entry holds: values as they were given."""

from benchrun.run import entries as e
from benchrun.wording import value_words


def given_words(given: e.Given) -> str:
    """A value as it was given: with its unit, and as typed where that differs."""
    words = value_words(given.number, given.unit, given.word)
    plain = given.typed.replace(" ", "")
    if given.number is None or not plain or plain in words.replace(" ", ""):
        return words
    return f"{words} (typed {given.typed})"
