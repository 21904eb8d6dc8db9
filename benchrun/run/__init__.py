"""The rules of a run, pure: decide what a command becomes, fold entries, say what is on offer.

No clock, no disk, no screen and no randomness: moments come in, entries come out.
"""
