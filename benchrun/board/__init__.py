"""The open runs of this bench, read from the logs without touching them, and what they hold.

The rules and the keeping are imported by what needs them: a board with nothing open comes up
without them, which is two fifths sooner.
"""

from benchrun.board.left_away import LeftAway, still_away
from benchrun.board.offer_words import offer_words, stands, stands_in_both
from benchrun.board.open_runs import GONE, Board, OpenRun, glance, is_sent, look
from benchrun.board.other_runs import in_the_way, parts_in_work, uses_beside, vessel_wanted

__all__ = [
    "GONE",
    "Board",
    "LeftAway",
    "OpenRun",
    "glance",
    "in_the_way",
    "is_sent",
    "look",
    "offer_words",
    "parts_in_work",
    "stands",
    "stands_in_both",
    "still_away",
    "uses_beside",
    "vessel_wanted",
]
