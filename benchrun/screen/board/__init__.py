"""The board: what is open at this bench, and what can be begun.

It shows and asks; what may be done is decided elsewhere.
"""
