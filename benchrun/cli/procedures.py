"""Commands about procedures and sums: check, rehearse, schema, calc."""

import argparse
import json
import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from benchrun.cli.parser import Commands, add_command
from benchrun.cli.paths import procedure_file, shop_now, shop_path
from benchrun.cli.people import ask_secret
from benchrun.errors import BenchrunError

if TYPE_CHECKING:
    from benchrun.procedure.problems import Problem


def add_procedure_commands(commands: Commands) -> None:
    """Add the commands to the command line."""
    parser = add_command(
        commands,
        "check",
        "say what is wrong with procedure files",
        example="benchrun check degrease.yaml --advice count\nbenchrun check acid-etch-in-loads",
        exits={0: "nothing is wrong", 1: "something is", 2: "one could not be read"},
        more="Each fault has its file, line and column.",
    )
    parser.add_argument(
        "files", nargs="+", metavar="PROCEDURE", help="a file, or its id in the shop"
    )
    parser.add_argument(
        "--advice",
        choices=("show", "count", "hide"),
        default="show",
        help="whether advice is shown, counts as an error, or is hidden",
    )
    parser.add_argument("--json", action="store_true", help="print a list for editors")
    parser.add_argument("--route", action="store_true", help="print the compiled route instead")
    parser.set_defaults(command=check)
    parser = add_command(
        commands,
        "rehearse",
        "play a procedure by scripted answers, in virtual time",
        example="benchrun rehearse degrease.yaml --sketch\n"
        "benchrun rehearse degrease.yaml --answers degrease.answers.yaml --out trial\n"
        "benchrun rehearse degrease.yaml --answers good.yaml late.yaml --paths",
        exits={0: "done", 1: "with --paths: some are not reached", 2: "could not do it"},
        more="Nothing of it counts as work: the record says on every page that it was rehearsed.",
    )
    parser.add_argument("procedure", metavar="PROCEDURE", help="its id, or a file")
    parser.add_argument(
        "--answers", type=Path, nargs="+", metavar="FILE", help="scripts of answers"
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="becomes the run's folder")
    parser.add_argument(
        "--paths", action="store_true", help="say which paths no script reaches; keep no run"
    )
    parser.add_argument(
        "--sketch", action="store_true", help="print a script for the straight path instead"
    )
    parser.set_defaults(command=rehearse)
    parser = add_command(
        commands,
        "approve",
        "sign for a procedure as its approver; the approval lies beside its file",
        example="benchrun approve degrease-axle --answers good.yaml late.yaml\n"
        "benchrun approve degrease-axle.yaml --as ada-brook",
        more="Its status must be approved and its day set. Rehearsals are played and must pass; "
        "runs of this revision are counted. Whoever approves has the role approver.",
    )
    parser.add_argument("procedure", metavar="PROCEDURE", help="its id, or a file")
    parser.add_argument(
        "--answers", type=Path, nargs="+", default=[], metavar="FILE", help="scripts of answers"
    )
    parser.add_argument("--as", default="", dest="who", metavar="ID", help="who approves")
    parser.set_defaults(command=approve)
    parser = add_command(
        commands,
        "schema",
        "print the JSON Schema of a file, or of what a command prints with --json",
        example="benchrun schema > procedure.schema.json\nbenchrun schema board",
        more="JSON Schema 2020-12; of a log and of a register, that of each line.",
    )
    parser.add_argument(
        "of",
        nargs="?",
        default="procedure",
        choices=tuple(SCHEMAS),
        metavar="NAME",
        help=f"a file: {', '.join(FILES)}; or what is printed with --json: "
        f"{', '.join(LISTINGS)}; without a name, procedure",
    )
    parser.set_defaults(command=schema)
    parser = add_command(
        commands,
        "calc",
        "do one of the shop's sums; without a name, list them",
        example="benchrun calc limits size=62 class=P7\nbenchrun calc",
        more="A name alone tells what the sum takes. Answers come in the units typed.",
    )
    parser.add_argument("name", nargs="?", metavar="NAME", help="the sum's name")
    parser.add_argument("values", nargs="*", metavar="key=value", help="what it takes, with units")
    parser.add_argument("--json", action="store_true", help="print the result as data")
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

    told, found = _approvals(args, paths)
    text, code = check_files(paths, args.advice, args.json, more=found, verbs=_verbs(args))
    if text:
        print(text.removesuffix("\n"))
    if told and not args.json:
        print("\n".join(told))
    return code


def _approvals(
    args: argparse.Namespace, paths: Sequence[Path]
) -> tuple[list[str], "dict[str, Sequence[Problem]]"]:
    """The approvals that hold, in words; and by file what is wrong with the others."""
    from benchrun.approvals import approval_of
    from benchrun.procedure.load import load
    from benchrun.procedure.problems import Problem
    from benchrun.shop.folder import Shop, exists

    shop = Shop(shop_path(args), "") if exists(shop_path(args)) else None
    told, found = list[str](), dict[str, Sequence[Problem]]()
    for path in paths:
        try:
            state = approval_of(shop, load(path))
        except BenchrunError:
            continue  # its faults are told
        if state.fault or (state.calls and not state.approval):
            advice = not state.fault
            found[str(path)] = (Problem(1, 1, state.words.removesuffix("."), advice=advice),)
        elif state.words:
            told.append(f"{path}: {state.words}")
    return told, found


def _verbs(args: argparse.Namespace) -> tuple[str, ...]:
    """The verbs that the shop has of its own, where there is a shop and it keeps any."""
    from benchrun.shop.words import WORDS

    return tuple(word.id for word in WORDS.read(shop_path(args)).rows)


def _file_of(args: argparse.Namespace, name: str) -> Path:
    """A file by its name; where none lies there, what the shop knows by that id."""
    path = Path(name)
    if os.path.lexists(path) or path.name != name or path.suffix:
        return path
    return procedure_file(args, name)


def rehearse(args: argparse.Namespace) -> int:
    """Rehearse a procedure; exit code 1 where scripts leave paths unreached."""
    procedure = procedure_file(args, args.procedure)
    if args.sketch:
        from benchrun.rehearse.sketch import sketch

        print(sketch(procedure), end="")
        return 0
    if not args.answers:
        raise BenchrunError(
            "answers are missing: add --answers FILE, or --sketch to get a first one"
        )
    if args.paths:
        from benchrun.rehearse.coverage import coverage

        found = coverage(procedure, args.answers)
        print(found.text())
        return 1 if found.missing else 0
    if args.out is None or len(args.answers) != 1:
        raise BenchrunError("one script and a folder are needed: --answers FILE --out DIR")
    from benchrun.rehearse.play import rehearse as play

    print(play(procedure, args.answers[0], args.out))
    return 0


def approve(args: argparse.Namespace) -> int:
    """Sign for a procedure."""
    from benchrun.rehearse.approving import approve as sign
    from benchrun.rehearse.approving import approver_of, standing_behind

    shop, now = shop_now(args)
    file = procedure_file(args, args.procedure)
    person = approver_of(shop, args.who)
    behind = standing_behind(shop, file, args.answers)
    approval = sign(shop, file, person, behind, now, ask_secret)
    named = f"{behind.procedure.id}, revision {behind.procedure.revision}"
    print(f"{named}: approved by {approval.name}; {approval.behind}")
    return 0


def _of_file(name: str) -> dict[str, Any]:
    """The schema of a file; of a log and of a register, that of each line."""
    match name:
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

    return book_schemas()[name]


def _of_listing(name: str) -> dict[str, Any]:
    """The schema of what a command prints with --json."""
    if name == "verify":
        from benchrun.verify.schema import verdicts_schema

        return verdicts_schema()
    from benchrun.shopkeeping.data import listing_schema

    return listing_schema(name)


FILES: Final = (
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

LISTINGS: Final = ("board", "plan", "ready", "verify", "people-list", "book-list")
"""The forms of what commands print with --json, whose schema can be printed."""

SCHEMAS: Final[Mapping[str, Callable[[str], dict[str, Any]]]] = {
    **dict.fromkeys(FILES, _of_file),
    **dict.fromkeys(LISTINGS, _of_listing),
}
"""The makers of schemas, by the names of the forms."""


def schema(args: argparse.Namespace) -> int:
    """Print a JSON Schema."""
    print(json.dumps(SCHEMAS[args.of](args.of), indent=2))
    return 0


def calc(args: argparse.Namespace) -> int:
    """Do one of the shop's sums."""
    from benchrun.shopmath.command import calc_text

    print(calc_text(args.name, args.values, args.json))
    return 0
