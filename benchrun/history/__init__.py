"""Many runs together: an index over their logs, lessons, trends, durations.

Not here: the truth about a run, which stays in its log; the index may be thrown away at any time.
"""
