"""Carrying out a run: the step in hand, its entry, the clocks, what is asked, what is signed.

What may be done and what follows from it is decided by the rules; here it is shown and sent.
"""
