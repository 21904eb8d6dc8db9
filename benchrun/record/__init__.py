"""The keeping: the chained log, the clocks, keys and signatures, the register and run folders.

What must not live here: rules of a run, units, anything shown on a screen.
"""
