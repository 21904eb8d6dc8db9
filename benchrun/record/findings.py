"""The outcome of checking a record: faults, doubts and counts."""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that makes a record not whole.

    Attributes:
        n: The number of the entry it is about; None when it is about another file or the whole.
        text: What was found, in plain words.
    """

    n: int | None
    text: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something that a whole record does not prove, or that a reader should know.

    Attributes:
        n: The number of the entry it is about; None when it is about the whole.
        text: What it is, in plain words.
    """

    n: int | None
    text: str


@dataclass(slots=True)
class KeepingReport:
    """The outcome of checking the keeping of one run.

    Attributes:
        run: The run's id as the log gives it, the folder's name where it gives none.
        faults: What makes it not whole.
        doubts: What it does not prove.
        entries: How many entries were read and follow from each other.
        signatures: How many people's signatures hold.
        seals: How many of the station's seals hold, the one over the whole file included.
        photos: How many pictures agree with their digests.
        head: SHA-256 (hex) of the line of the last of them.
        closed: Whether the log has an entry that closes the run.
        covered: How many entries lie under a signature or seal that holds.
        signers: Principals and fingerprints of the keys of all signatures and seals that hold.
    """

    run: str
    faults: list[Fault] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    entries: int = 0
    signatures: int = 0
    seals: int = 0
    photos: int = 0
    head: str = ""
    closed: bool = False
    covered: int = 0
    signers: dict[str, str] = field(default_factory=dict)

    @property
    def whole(self) -> bool:
        """Whether nothing was found that makes it not whole."""
        return not self.faults

    def fault(self, text: str, n: int | None = None) -> None:
        """Add a fault."""
        self.faults.append(Fault(n, text))

    def doubt(self, text: str, n: int | None = None) -> None:
        """Add a doubt."""
        self.doubts.append(Doubt(n, text))
