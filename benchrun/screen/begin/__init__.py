"""Beginning a run: the batch, and the conditions that must hold.

It shows and asks; what may be done is decided elsewhere.
"""
