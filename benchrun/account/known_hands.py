"""How whoever entered something was known: chosen on the screen, or proved by a key.

A key proves who is at it from a signature on, and for the statement that it signs, until somebody
else enters something or the sitting is over: the run is taken up again, or nothing was entered
for hours. All this stands in the log, so that old logs are told alike.
"""

from typing import Final

from benchrun.record.identity import STATION
from benchrun.run import entries as e
from benchrun.run.sittings import PAUSE_MS

CHOSEN: Final = "chosen on the screen"


class KnownHands:
    """Takes entry after entry.

    Attributes:
        proofs: For each entry that a person proved by a key, the entry of the signature.
    """

    def __init__(self) -> None:
        self.proofs: dict[int, int] = {}
        self._who = ""
        self._proof: int | None = None
        self._last: e.Entry | None = None

    def take(self, entry: e.Entry) -> None:
        """Take the next entry."""
        data, last = entry.data, self._last
        apart = last is not None and entry.at.utc_ms - last.at.utc_ms > PAUSE_MS
        if apart or (isinstance(data, e.Sealed) and data.why == "resume"):
            self._proof = None
        if entry.by != STATION:
            if entry.by != self._who:
                self._who, self._proof = entry.by, None
            if isinstance(data, e.Signed):
                self._proof = entry.n
                if last is not None and last.n == data.of:
                    self.proofs[last.n] = entry.n
            if self._proof is not None:
                self.proofs[entry.n] = self._proof
        self._last = entry

    def words(self, n: int) -> str:
        """How whoever made an entry was known."""
        proof = self.proofs.get(n)
        return CHOSEN if proof is None else f"proved by a key in entry {proof}"
