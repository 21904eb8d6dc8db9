"""How long tests wait for what another process or thread does, or a disk."""

PATIENCE_S = 120.0
"""Only what never comes uses it up, however busy the machine is."""
