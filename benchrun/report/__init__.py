"""A run handed over: what was done to which parts, told on paper, in tables and as a calendar.

Not here: whether a record is whole (that verdict is handed in), questions over many runs.
"""
