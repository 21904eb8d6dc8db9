"""The trust of a shop, read once: its signers and its register."""

import os
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.register import Register
from benchrun.record.register_log import REGISTER_NAME, RegisterLog
from benchrun.record.signers import Signers, read_signers
from benchrun.record.trouble import RecordBroken


@lean_dataclass(frozen=True, slots=True)
class Trust:
    """A shop's trust, read once for any number of its runs.

    Attributes:
        signers: Its signers; None where no shop is at hand.
        register: Its register; None where it is not at hand or damaged.
        fault: Why the register cannot be relied on, or empty.
    """

    signers: Signers | None = None
    register: RegisterLog | None = None
    fault: str = ""

    @property
    def head(self) -> str:
        """The short head of the register, empty where there is none."""
        return self.register.short_head if self.register else ""


def trust_of(shop: Path | None) -> Trust:
    """Read the signers and the register of a shop.

    Raises:
        BenchrunError: The signers cannot be read.
    """
    signers = _trusted(shop)
    try:
        return Trust(signers, _register(shop))
    except RecordBroken as error:
        return Trust(signers, None, f"the shop's own register cannot be relied on: {error}")


def _trusted(shop: Path | None) -> Signers | None:
    try:
        return read_signers(shop / "signers") if shop else None
    except BenchrunError as error:
        raise BenchrunError(f"the shop's own {error}") from None


def _register(shop: Path | None) -> RegisterLog | None:
    return Register(shop).read() if shop and os.path.lexists(shop / REGISTER_NAME) else None
