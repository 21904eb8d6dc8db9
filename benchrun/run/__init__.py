"""The rules of a run, pure: decide what a command becomes, fold entries, say what is on offer.

No clock, no disk, no screen and no randomness: moments come in, entries come out.
Decided in `acts` (do, inspect, hold and who may sign, leave out), `dwelling` (in, out, tend),
`measurement` (readings), `answering` (questions), `amendment` (corrections, mis-taps).
"""
