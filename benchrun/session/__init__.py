"""The live run: clock, disk and rules meet here, on one thread.

No rule of a run and no drawing: what may be done is decided in run/, what is shown in a face.
"""

from benchrun.session.live import Kept, Reply, Session, closing_statement
from benchrun.session.opening import begin, take_up

__all__ = ["Kept", "Reply", "Session", "begin", "closing_statement", "take_up"]
