"""Reading along line by line: each entry that another window makes, printed as it comes."""

from typing import Final

from benchrun.account.entry_words import EntryWords
from benchrun.board import stands
from benchrun.dialogue.lookups import load_words
from benchrun.plain.talk import Talk
from benchrun.run.clocks import loads
from benchrun.session import Along

EVERY_S: Final = 1.0
HELP: Final = (
    "Reading along: another window writes this run. Nothing is recorded from here.",
    "Each new entry is printed as it comes. Only Enter leaves.",
)


def follow(talk: Talk, along: Along) -> bool:
    """Print what comes until it is left, the run is closed, or the other window lets go.

    Args:
        talk: Speaks and listens.
        along: The run.

    Returns:
        Whether the run is to be taken up here.
    """
    for line in HELP:
        talk.say(line)
    _say_where(talk, along)
    telling, told = EntryWords(along.procedure), len(along.entries)
    while True:
        along.tick().result()
        telling.read(along.entries)
        for entry in along.entries[told:]:
            for row in telling.rows(entry):
                talk.say(row)
        told = len(along.entries)
        if along.run.ended:
            talk.say(f"The run is closed. Its record: {along.folder.path}")
            return False
        if along.fault:
            talk.say(along.fault)
            return False
        if not along.written:
            talk.say("The other window let go of this run.")
            return talk.ask("1 takes it up, only Enter leaves:") == "1"
        if talk.heard(EVERY_S) is not None:
            return False


def _say_where(talk: Talk, along: Along) -> None:
    now = along.now()
    for clock in loads(along.run, now):
        talk.say(f"CLOCK {load_words(along.run, clock)}")
    talk.say(f"It stands at: {stands(along.run, now)}")
