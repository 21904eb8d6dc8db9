"""A procedure: the YAML language, its checks, its formulas, and the route it compiles to.

Nothing here knows of a run, a log, a clock or a screen.
"""
