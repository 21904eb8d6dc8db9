"""The live run: clock, disk and rules meet here, on one thread.

No rule of a run and no drawing: what may be done is decided in run/, what is shown in a face.
"""

from benchrun.session.follow import Along, read_along
from benchrun.session.live import Session, closing_statement, wants_another
from benchrun.session.opening import begin, take_up
from benchrun.session.readied import Condition, Readied, all_ready
from benchrun.session.sitting import Kept, Reply, Sitting

__all__ = [
    "Along",
    "Condition",
    "Kept",
    "Readied",
    "Reply",
    "Session",
    "Sitting",
    "all_ready",
    "begin",
    "closing_statement",
    "read_along",
    "take_up",
    "wants_another",
]
