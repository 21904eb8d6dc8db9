"""Every path of a route, walked with intervals for readings: what no part can come through.

Not here: what one step says by itself (checks), how a procedure is worded (advice).
"""

from benchrun.procedure.paths.faults import add_path_faults

__all__ = ["add_path_faults"]
