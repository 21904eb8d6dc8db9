"""Commands about the people of a shop and the keys they sign with."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchrun.cli.parser import Commands, add_command
from benchrun.cli.shop_command import shop_command

if TYPE_CHECKING:
    from benchrun.moment import Moment
    from benchrun.shop.folder import Shop


def add_people_commands(commands: Commands) -> None:
    """Add the commands to the command line."""
    parser = add_command(
        commands,
        "people",
        "list who works here and the keys they sign with, and change that",
        example="benchrun people\nbenchrun people add 'Ada Brook' --role restorer",
    )
    _take_json(parser)
    inner = parser.add_commands()
    _take_json(add_command(inner, "list", "list everybody", example="benchrun people list"))
    add = add_command(
        inner,
        "add",
        "add somebody, with a new key or one that is there",
        example="benchrun people add 'Ada Brook' --role restorer --role checker\n"
        "benchrun people add 'Bea Mill' --key ~/.ssh/id_ed25519",
        more="The passphrase of a new key is asked twice; a script gives it as two lines of input.",
    )
    add.add_argument("name", metavar="NAME", help="the full name")
    add.add_argument(
        "--role",
        action="append",
        dest="roles",
        metavar="ROLE",
        help="may be given several times; restorer and checker unless said",
    )
    _add_key(add)
    add.set_defaults(command=shop_command(_take_on))
    key = add_command(
        inner,
        "key",
        "give somebody another key; the old one ends",
        example="benchrun people key ada-brook",
    )
    key.add_argument("name", metavar="ID", help="whose, as people lists it")
    _add_key(key)
    key.set_defaults(command=shop_command(_other_key))
    change = add_command(
        inner,
        "change",
        "change somebody's name or roles",
        example="benchrun people change ada-brook 'roles=restorer;checker'",
    )
    change.add_argument("name", metavar="ID", help="whose, as people lists it")
    change.add_argument("pairs", nargs="+", metavar="key=value", help="name=... or roles=a;b")
    change.set_defaults(command=shop_command(_change_person))
    gone = add_command(
        inner,
        "retire",
        "let somebody leave; earlier signatures still verify",
        example="benchrun people retire ada-brook",
    )
    gone.add_argument("name", metavar="ID", help="who, as people lists it")
    gone.set_defaults(command=shop_command(_retire))
    lost = add_command(
        inner,
        "compromised",
        "take all trust from a key, backwards as well",
        example="benchrun people compromised ada-brook --why 'the laptop was stolen'",
    )
    lost.add_argument("name", metavar="ID", help="whose, or station")
    lost.add_argument("--why", required=True, help="what happened, in a few words")
    lost.add_argument("--which", default="", metavar="SHA256:...", help="which key of several")
    lost.set_defaults(command=shop_command(_compromised))


def _take_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="as data: benchrun schema people-list")
    parser.set_defaults(command=shop_command(_people))


def _add_key(parser: argparse.ArgumentParser) -> None:
    group = parser.add_mutually_exclusive_group()
    group.add_argument("--key", type=Path, metavar="FILE", help="an OpenSSH Ed25519 private key")
    group.add_argument(
        "--agent",
        nargs="?",
        const="yes",
        default="",
        metavar="SHA256:...",
        help="a key that ssh-agent holds; without a fingerprint, the only one",
    )


def _people(shop: "Shop", _now: "Moment", args: argparse.Namespace) -> str:
    if args.json:
        from benchrun.shopkeeping.data import json_text, people_data

        return json_text(people_data(shop))
    from benchrun.shopkeeping.people import people

    return people(shop)


def ask_secret(question: str) -> str:
    """Ask at the terminal without showing what is typed; a script gives a line of its input."""
    import getpass

    if sys.stdin.isatty():
        return getpass.getpass(question)
    return sys.stdin.readline().rstrip("\r\n")


def _take_on(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shop.people import ROLES
    from benchrun.shopkeeping.people import take_on

    roles = args.roles or ROLES
    return take_on(shop, args.name, now, ask_secret, roles=roles, key=args.key, agent=args.agent)


def _other_key(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import other_key

    return other_key(shop, args.name, now, ask_secret, key=args.key, agent=args.agent)


def _change_person(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import change_in_people

    return change_in_people(shop, args.name, args.pairs, now)


def _retire(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import let_leave

    return let_leave(shop, args.name, now)


def _compromised(shop: "Shop", now: "Moment", args: argparse.Namespace) -> str:
    from benchrun.shopkeeping.people import compromised

    return compromised(shop, args.name, now, args.why, args.which)
