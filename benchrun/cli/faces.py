"""Commands that open the bench: on the screen, or line by line."""

import argparse
import os
import sys
from pathlib import Path

from benchrun.cli.place import procedure_file, shop_path
from benchrun.errors import BenchrunError


def board(args: argparse.Namespace) -> int:
    """Open the board."""
    return _open(args, None)


def try_out(args: argparse.Namespace) -> int:
    """Open the board of a throw-away shop."""
    if _plainly(args):
        from benchrun.plain.start import try_plain

        return try_plain(ascii_only=args.ascii)
    from benchrun.screen.start import open_trial

    return open_trial(ascii_only=args.ascii, mouse=not args.no_mouse)


def run(args: argparse.Namespace) -> int:
    """Begin a run."""
    return _open(args, procedure_file(args, args.procedure))


def _open(args: argparse.Namespace, procedure: Path | None) -> int:
    path = shop_path(args)
    if _plainly(args):
        from benchrun.plain.start import open_plain

        return open_plain(path, procedure=procedure, ascii_only=args.ascii)
    from benchrun.screen.start import open_board

    return open_board(path, procedure=procedure, ascii_only=args.ascii, mouse=not args.no_mouse)


def _plainly(args: argparse.Namespace) -> bool:
    """Whether to work line by line: asked for, or a terminal that cannot be drawn on.

    Raises:
        BenchrunError: There is no terminal and the plain face was not asked for.
    """
    if args.plain or (os.environ.get("TERM", "") == "dumb" and sys.stdout.isatty()):
        return True
    if sys.stdin.isatty() and sys.stdout.isatty():
        return False
    raise BenchrunError(
        "this needs a terminal on both sides; for a pipe or a screen reader add --plain"
    )
