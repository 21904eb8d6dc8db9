"""The digests of a whole file, kept up line by line, so that signing it costs the same at any size.

A copy of a running hash is finished instead of hashing the file again.
"""

import hashlib
from collections.abc import Iterable
from itertools import islice


class RunningDigests:
    """Digests over everything added so far.

    Args:
        algorithms: Which to keep up, of `sha256` and `sha512`.

    Attributes:
        size: How many bytes were added.
    """

    def __init__(self, *algorithms: str) -> None:
        self.size = 0
        self._running = {name: hashlib.new(name) for name in algorithms}

    def add(self, raw: bytes) -> None:
        """Take more bytes."""
        for running in self._running.values():
            running.update(raw)
        self.size += len(raw)

    def add_all(self, raws: Iterable[bytes]) -> None:
        """Take many additions at once."""
        rest = iter(raws)
        # In pieces that stay in the processor's cache.
        while piece := b"".join(islice(rest, 256)):
            self.add(piece)

    def digest(self, algorithm: str) -> bytes:
        """The digest of all bytes so far.

        Raises:
            ValueError: That algorithm is not kept up.
        """
        running = self._running.get(algorithm)
        if running is None:
            raise ValueError(f"{algorithm} is not kept up, only {', '.join(self._running)}")
        return running.copy().digest()
