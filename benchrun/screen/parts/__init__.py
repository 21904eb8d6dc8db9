"""Parts against steps: who stands where, coats counted, what was set aside or scrapped.

It shows and asks; what may be done is decided elsewhere.
"""
