"""benchrun: bench procedures carried out step by step, timed, measured and kept in a signed log."""
