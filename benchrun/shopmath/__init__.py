"""The sums: pure functions with units, sources and refusals, and one catalogue of them, `CALCS`.

Not here: clocks, disks, screens, runs; nothing that remembers. Whoever needs one sum imports its
module; the catalogue knows them all.
"""
