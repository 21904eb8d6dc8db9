"""The log of a run, to be searched.

It shows and asks; what may be done is decided elsewhere.
"""
