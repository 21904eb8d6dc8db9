"""The sums: pure functions with units, sources and refusals, and one catalogue of them, `CALCS`.

Not here: clocks, disks, screens, runs; nothing that remembers.
"""

from benchrun.shopmath.amount import Amount
from benchrun.shopmath.calc import Calc, Output, Result
from benchrun.shopmath.catalogue import CALCS, calc_named
from benchrun.shopmath.inputs import Input
from benchrun.shopmath.words import explain

__all__ = ["CALCS", "Amount", "Calc", "Input", "Output", "Result", "calc_named", "explain"]
