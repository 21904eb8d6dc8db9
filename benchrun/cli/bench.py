"""Commands that open the bench: on the screen, or line by line."""

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchrun.cli.paths import named_run, procedure_file, shop_of_run, shop_to_begin
from benchrun.errors import BenchrunError

if TYPE_CHECKING:
    from benchrun.record.clock import SystemClock


def board(args: argparse.Namespace) -> int:
    """Open the board."""
    return _open(args, shop_to_begin(args))


def try_out(args: argparse.Namespace) -> int:
    """Open the board of the sample shop, set out for now and thrown away afterwards."""
    _plainly(args)
    from benchrun.rehearse.sample import PASSPHRASE, SampleClock, alive
    from benchrun.rehearse.throwaway import throwaway

    print("Setting out the sample shop ...", flush=True)
    with throwaway("try") as place:
        clock = SampleClock()
        shop = alive(place / "shop", clock.now())
        notice = f"All invented, and nothing here is kept. Everybody's passphrase is {PASSPHRASE}."
        return _open(args, shop.path, notice=notice, clock=clock)


def run(args: argparse.Namespace) -> int:
    """Begin a run, or resume one: follow it where another window writes it."""
    folder = named_run(args, args.name)
    if folder is not None:
        return _open(args, shop_of_run(args, folder), run=folder)
    return _open(args, shop_to_begin(args), procedure_file(args, args.name))


def _open(
    args: argparse.Namespace,
    path: Path,
    procedure: Path | None = None,
    *,
    run: Path | None = None,
    notice: str = "",
    clock: "SystemClock | None" = None,
) -> int:
    from benchrun.record.clock import SystemClock

    clock = clock or SystemClock()
    notice = " ".join(filter(None, (notice, clock.lacking())))
    if _plainly(args):
        from benchrun.plain.start import open_plain

        return open_plain(
            path, procedure=procedure, run=run, ascii_only=args.ascii, notice=notice, clock=clock
        )
    from benchrun.screen.start import open_board

    return open_board(
        path,
        procedure=procedure,
        run=run,
        ascii_only=args.ascii,
        mouse=not args.no_mouse,
        theme=args.theme,
        notice=notice,
        clock=clock,
    )


def _plainly(args: argparse.Namespace) -> bool:
    """Whether to work line by line: asked for, or there is nothing that can be drawn on.

    Raises:
        BenchrunError: It could be drawn, but nobody could press keys.
    """
    if args.plain or os.environ.get("TERM", "") == "dumb" or not sys.stdout.isatty():
        return True
    if sys.stdin.isatty():
        return False
    raise BenchrunError("the keys do not come from a terminal; for a pipe add --plain")
