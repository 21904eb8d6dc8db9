"""The contents of the shop's files as maps, each read once as long as it stays the same."""

from functools import lru_cache

from benchrun.procedure.marked import Map


@lru_cache(maxsize=16)
def page_of(content: bytes) -> Map:
    """The map that a file's contents make; it is shared, so nobody may change it.

    The board looks at the same files again and again, and reading YAML is what that costs.

    Args:
        content: The file's bytes.

    Raises:
        Unreadable: It is not text, not YAML, or uses what the shop's files do without.
    """
    from benchrun.procedure.yamlread import read_yaml

    return read_yaml(content)
