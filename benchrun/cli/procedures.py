"""Commands about procedures and sums: check, schema, calc."""

import argparse
import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from benchrun.cli.paths import procedure_file

if TYPE_CHECKING:
    from argparse import ArgumentParser, _SubParsersAction

    Commands = _SubParsersAction[ArgumentParser]

SCHEMAS: Final = (
    "procedure",
    "log",
    "register",
    "report",
    "instruments",
    "supplies",
    "vessels",
    "parts",
    "people",
)
"""The files whose schema can be printed."""


def add_procedure_commands(commands: "Commands") -> None:
    """Add the commands to the command line."""
    parser = commands.add_parser("check", help="say what is wrong with procedure files")
    parser.add_argument(
        "files", nargs="+", metavar="PROCEDURE", help="a file, or its id in the shop"
    )
    parser.add_argument(
        "--advice",
        choices=("show", "count", "hide"),
        default="show",
        help="whether advice is shown, or counts as an error",
    )
    parser.add_argument("--json", action="store_true", help="for editors")
    parser.add_argument("--route", action="store_true", help="print the compiled route instead")
    parser.set_defaults(command=check)
    parser = commands.add_parser(
        "schema",
        help="print the JSON Schema of a file",
        description="Print the JSON Schema (2020-12) of a file; log and register: of each line.",
    )
    parser.add_argument(
        "of",
        nargs="?",
        default="procedure",
        choices=SCHEMAS,
        metavar="FILE",
        help=f"{', '.join(SCHEMAS)}; without it procedure",
    )
    parser.set_defaults(command=schema)
    parser = commands.add_parser(
        "calc", help="do one of the shop's sums; without a name, list them"
    )
    parser.add_argument("name", nargs="?")
    parser.add_argument("values", nargs="*", metavar="key=value")
    parser.add_argument("--json", action="store_true")
    parser.set_defaults(command=calc)


def check(args: argparse.Namespace) -> int:
    """Say what is wrong with procedure files."""
    paths = [_file_of(args, name) for name in args.files]
    if args.route:
        from benchrun.procedure.listing import route_listing
        from benchrun.procedure.load import load

        for path in paths:
            print(route_listing(load(path)))
        return 0
    from benchrun.procedure.report import check_files

    text, code = check_files(paths, args.advice, args.json)
    if text:
        print(text.removesuffix("\n"))
    return code


def _file_of(args: argparse.Namespace, name: str) -> Path:
    """A file by its name; where none lies there, what the shop knows by that id."""
    path = Path(name)
    if os.path.lexists(path) or path.name != name or path.suffix:
        return path
    return procedure_file(args, name)


def schema(args: argparse.Namespace) -> int:
    """Print a JSON Schema."""
    print(json.dumps(_schema_of(args.of), indent=2))
    return 0


def _schema_of(file: str) -> dict[str, Any]:
    match file:
        case "procedure":
            from benchrun.procedure.schema import procedure_schema

            return procedure_schema()
        case "log":
            from benchrun.account.log_schema import log_schema

            return log_schema()
        case "register":
            from benchrun.record.line_schema import register_schema

            return register_schema()
        case "report":
            from benchrun.report.report_schema import report_schema

            return report_schema()
    from benchrun.shop.book_schema import book_schemas

    return book_schemas()[file]


def calc(args: argparse.Namespace) -> int:
    """Do one of the shop's sums."""
    from benchrun.shopmath.command import calc_text

    print(calc_text(args.name, args.values, args.json))
    return 0
