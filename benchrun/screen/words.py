"""Entries in words, one text each."""

from benchrun.procedure.route import Procedure
from benchrun.run.entries import Entry
from benchrun.show import Telling


def entry_words(procedure: Procedure, entry: Entry) -> str:
    """What an entry says, in one text; empty for a mere sign of life."""
    return "; ".join(text.strip() for text in Telling(procedure).words(entry))
