"""Advice."""

from benchrun.procedure.compile import Compiled
from benchrun.procedure.problems import Problems


def advise_on(compiled: Compiled, problems: Problems) -> None:
    """Add what could be better."""
