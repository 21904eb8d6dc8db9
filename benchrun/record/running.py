"""The digests of a whole file, kept up line by line, so that signing it costs the same at any size.

A copy of a running hash is finished instead of hashing the file again.
"""

import hashlib
from collections.abc import Iterable


class RunningDigests:
    """SHA-256 and SHA-512 over everything added so far, and SHA-256 of the last addition."""

    def __init__(self) -> None:
        self.size = 0
        self.last = ""
        self._running = {"sha256": hashlib.sha256(), "sha512": hashlib.sha512()}

    def add(self, raw: bytes) -> None:
        """Take more bytes."""
        for running in self._running.values():
            running.update(raw)
        self.size += len(raw)
        self.last = hashlib.sha256(raw).hexdigest()

    def add_all(self, raws: Iterable[bytes]) -> None:
        """Take many additions at once."""
        joined = b"".join(raws)
        if joined:
            self.add(joined)

    def digest(self, algorithm: str) -> bytes:
        """The digest of all bytes so far.

        Raises:
            ValueError: The algorithm is neither sha256 nor sha512.
        """
        running = self._running.get(algorithm)
        if running is None:
            raise ValueError(f"{algorithm} is neither sha256 nor sha512")
        return running.copy().digest()
