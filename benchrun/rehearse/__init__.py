"""Rehearsing: a run by a script of answers, under the same rules, in virtual time.

Not here: rules of a run, sums, screens. A rehearsal is a run like any other but for its clock,
its throw-away keys and the word rehearsal in its first line.
"""
