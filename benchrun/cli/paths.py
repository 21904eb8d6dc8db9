"""Where the shop, a procedure or a run lies that the command line names."""

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING

from benchrun.errors import BenchrunError
from benchrun.text import meant, shown

if TYPE_CHECKING:
    from benchrun.moment import Moment
    from benchrun.shop.folder import Shop


def shop_path(args: argparse.Namespace) -> Path:
    """The shop's folder."""
    from benchrun.shop.folder import default_path

    path: Path = args.shop or default_path()
    return path.expanduser()


def known_shop(args: argparse.Namespace) -> Path:
    """The shop's folder, to be looked through; it need have no shop.yaml.

    Raises:
        BenchrunError: A newer benchrun made it.
    """
    from benchrun.shop.folder import exists, open_shop

    path = shop_path(args)
    if exists(path):
        open_shop(path)
    return path


def shop_to_begin(args: argparse.Namespace) -> Path:
    """The shop's folder, to begin in; where none was named there need be no shop yet.

    Raises:
        BenchrunError: One was named, and there is none.
    """
    from benchrun.shop.folder import exists, named_path, open_shop, remembered_path

    path = shop_path(args)
    if (args.shop or named_path() or remembered_path()) and not exists(path):
        open_shop(path)  # says so, and what would do
    return path


def shop_now(args: argparse.Namespace) -> "tuple[Shop, Moment]":
    """The shop, which must be there, and the moment.

    Raises:
        BenchrunError: There is none, or it cannot be read.
    """
    from benchrun.record.clock import SystemClock
    from benchrun.shop.folder import open_shop

    return open_shop(shop_path(args)), SystemClock().now()


def procedure_file(args: argparse.Namespace, name: str) -> Path:
    """The file of a procedure, by its id or as a file.

    Raises:
        BenchrunError: There is none.
    """
    from benchrun.shop.folder import Shop

    return Shop(shop_path(args), "").procedure(name)


def run_folder(args: argparse.Namespace, name: str) -> Path:
    """The folder of a run, by its id in the shop or as a folder.

    Raises:
        BenchrunError: There is none.
    """
    found = named_run(args, name)
    if found is None:
        where = shop_path(args) / "runs"
        kept = sorted(one.parent.name for one in where.glob("*/log.jsonl"))
        raise BenchrunError(
            f"no run {shown(name, 80)!r} in {shown(str(where), 200)}, and no such folder: "
            f"{meant(name, kept)}"
        )
    return found


def named_run(args: argparse.Namespace, name: str) -> Path | None:
    """The folder of a run, by its id in the shop or as a folder; None where there is none."""
    path, kept = Path(name), shop_path(args) / "runs" / name
    if os.path.lexists(path / "log.jsonl"):
        return path
    return kept if "/" not in name and os.path.lexists(kept / "log.jsonl") else None


def shop_of_run(args: argparse.Namespace, folder: Path) -> Path:
    """The shop in which a run is carried out: the one named, else that in which it lies.

    Raises:
        BenchrunError: It lies in none.
    """
    from benchrun.shop.folder import exists

    around = folder.absolute().parent.parent
    path = shop_path(args) if args.shop or not exists(around) else around
    if folder.absolute().parent.resolve() != (path / "runs").resolve():
        raise BenchrunError(
            f"the run {shown(folder.name, 80)} does not lie in the shop {shown(str(path), 200)}"
        )
    return path
