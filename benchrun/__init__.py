"""benchrun: bench procedures carried out step by step, timed, measured and kept in a signed log."""

__version__ = "0.1.0"
