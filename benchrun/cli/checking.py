"""Commands about procedures and sums: check, schema, calc."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from argparse import ArgumentParser, _SubParsersAction

    Commands = _SubParsersAction[ArgumentParser]


def add_arguments(commands: "Commands") -> None:
    """Add the commands to the command line."""
    one = commands.add_parser("check", help="say what is wrong with procedure files")
    one.add_argument("files", nargs="+", type=Path, metavar="FILE")
    one.add_argument(
        "--advice",
        choices=("show", "count", "hide"),
        default="show",
        help="whether advice is shown, or counts as an error",
    )
    one.add_argument("--json", action="store_true", help="for editors")
    one.add_argument("--route", action="store_true", help="print the compiled route instead")
    one.set_defaults(command=check)
    one = commands.add_parser("schema", help="print the JSON Schema of procedure files")
    one.set_defaults(command=schema)
    one = commands.add_parser("calc", help="do one of the shop's sums; without a name, list them")
    one.add_argument("name", nargs="?")
    one.add_argument("values", nargs="*", metavar="key=value")
    one.add_argument("--json", action="store_true")
    one.set_defaults(command=calc)


def check(args: argparse.Namespace) -> int:
    """Say what is wrong with procedure files."""
    if args.route:
        from benchrun.procedure.listing import route_listing
        from benchrun.procedure.load import load

        for path in args.files:
            print(route_listing(load(path)))
        return 0
    from benchrun.procedure.report import check_files

    text, code = check_files(args.files, args.advice, args.json)
    if text:
        print(text.removesuffix("\n"))
    return code


def schema(args: argparse.Namespace) -> int:
    """Print the JSON Schema of procedure files."""
    del args
    from benchrun.procedure.schema import schema as procedure_schema

    print(json.dumps(procedure_schema(), indent=2))
    return 0


def calc(args: argparse.Namespace) -> int:
    """Do one of the shop's sums."""
    from benchrun.shopmath.command import run as work_out

    print(work_out(args.name, args.values, args.json))
    return 0
