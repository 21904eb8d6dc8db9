"""Where the shop, a procedure or a run lies that the command line names."""

import argparse
from pathlib import Path

from benchrun.errors import BenchrunError
from benchrun.text import shown


def shop_path(args: argparse.Namespace) -> Path:
    """The shop's folder."""
    from benchrun.shop.folder import default_path

    path: Path = args.shop or default_path()
    return path.expanduser()


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
    path = Path(name)
    if (path / "log.jsonl").exists():
        return path
    kept = shop_path(args) / "runs" / name
    if "/" not in name and (kept / "log.jsonl").exists():
        return kept
    raise BenchrunError(f"no run {shown(name, 80)!r}: give its folder, or its id in {kept.parent}")
