"""Where the shop's files meet a run: the instrument of a reading, what a run needs, shared vessels.

No files are written, no log is kept and nothing is shown here; the rules of a run stay in run/.
"""
