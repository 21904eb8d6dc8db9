"""The bench screen: pages painted from a run as it stands, and keys turned into commands.

No rule of a run lives here, and nothing is kept: deleting this folder loses no behaviour.
"""
