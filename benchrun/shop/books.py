"""All of a shop's files at once, and the files of a new shop."""

from pathlib import Path
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.shop.book_file import BookFile
from benchrun.shop.book_row import BookFault
from benchrun.shop.folder import Listed, Shop, lay_file
from benchrun.shop.instruments import INSTRUMENTS, ShopInstrument, read_instruments
from benchrun.shop.parts import PARTS, Job, Part, read_jobs, read_parts, unlinked
from benchrun.shop.people import Person, people_form, people_sheet
from benchrun.shop.routes import ROUTES, PartRoute, read_routes, route_faults
from benchrun.shop.settings import Settings, read_settings, shop_file
from benchrun.shop.supplies import SUPPLIES, Supply, read_supplies
from benchrun.shop.vessels import VESSELS, ShopVessel, read_vessels
from benchrun.shop.words import WORDS, ShopVerb

_IGNORED: Final = """\
# What does not belong into git: private keys, and what lies here for a moment only.
keys/*
!keys/*.pub
.lock
.*.draft
"""


@lean_dataclass(frozen=True, slots=True)
class ShopBooks:
    """The books of a shop, each as far as its file is sound, and the procedures it can begin."""

    settings: Settings
    people: BookFile[Person]
    instruments: BookFile[ShopInstrument]
    supplies: BookFile[Supply]
    vessels: BookFile[ShopVessel]
    parts: BookFile[Part]
    jobs: BookFile[Job]
    routes: BookFile[PartRoute]
    words: BookFile[ShopVerb]
    procedures: tuple[Listed, ...] = ()

    @property
    def loose_ends(self) -> tuple[str, ...]:
        """Names in sound rows that lead nowhere, each in words with its file."""
        parts = self.parts.rows
        loose = [f"parts.yaml: {one}" for one in unlinked(parts, self.jobs.rows)]
        return (*loose, *route_faults(self.routes.rows, parts, self.procedures))

    @property
    def faults(self) -> tuple[BookFault, ...]:
        """The faults to be put right, file by file."""
        faults = [
            *self.settings.faults,
            *self.people.faults,
            *self.instruments.faults,
            *self.supplies.faults,
            *self.vessels.faults,
            *self.parts.faults,
            *self.jobs.faults,
            *self.routes.faults,
            *self.words.faults,
        ]
        return tuple(dict.fromkeys(faults))


def read_books(shop: Shop) -> ShopBooks:
    """Read all files of a shop. A file that is not sound never keeps the others from being read."""
    return ShopBooks(
        read_settings(shop),
        people_sheet(shop),
        read_instruments(shop),
        read_supplies(shop),
        read_vessels(shop),
        read_parts(shop),
        read_jobs(shop),
        read_routes(shop),
        WORDS.read(shop.path),
        shop.procedures(),
    )


def lay_files(path: Path) -> None:
    """Write the files of a new shop, each with what it is for; those that are there stay.

    Raises:
        BenchrunError: A file cannot be written.
    """
    forms = (INSTRUMENTS, SUPPLIES, VESSELS, PARTS, ROUTES, WORDS, people_form(path))
    heads = {form.file: form.head for form in forms} | {".gitignore": _IGNORED}
    for name, head in heads.items():
        lay_file(path / name, head)


def name_shop(path: Path, title: str, signs_as: str) -> Shop:
    """Write shop.yaml, which makes a folder a shop.

    Args:
        path: The folder.
        title: What the shop is called.
        signs_as: What stands behind the @ in its signatures.

    Raises:
        BenchrunError: It cannot be written.
    """
    lay_file(path / "shop.yaml", shop_file(title, signs_as))
    return Shop(path, title, signs_as)
