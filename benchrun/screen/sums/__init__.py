"""The shop's sums at the bench, filled from the readings of the run.

It shows and asks; what may be done is decided elsewhere.
"""
