"""The first start: a name, and a key to sign with.

It shows and asks; what may be done is decided elsewhere.
"""
