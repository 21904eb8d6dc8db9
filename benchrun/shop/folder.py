"""The shop's folder: where it lies, what is in it, and which procedures can be begun from it.

shop.yaml         the shop's name and settings
people.yaml       who works here
instruments.yaml  what it measures with
supplies.yaml     what it uses up
vessels.yaml      its tubs, ovens and rails
parts.yaml        its parts, and the vehicles or jobs they belong to
routes.yaml       which procedures a kind of part goes through
words.yaml        the verbs that its procedures have of their own
keys/             private keys made here; keys/station seals
signers           the public keys that this shop trusts (OpenSSH allowed signers)
register.jsonl    the runs opened and closed, chained
procedures/       the shop's own procedures
runs/             one folder a run
"""

import os
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from shlex import quote
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.plain_file import open_regular
from benchrun.text import meant, shown
from benchrun.version import FILES_FORMAT, newer

_TITLE: Final = re.compile(r"^title:[ \t]*(.+?)[ \t]*(?:#.*)?$", re.MULTILINE)
_SHOP_TITLE: Final = re.compile(
    r"^title:[ \t]*(?:\"(?P<double>(?:[^\"\\\n]|\\.)*)\"|'(?P<single>(?:[^'\n]|'')*)'"
    r"|(?P<bare>[^\"'#\s].*?))[ \t]*(?:[ \t]#.*)?\r?$",
    re.MULTILINE,
)
_FORMAT: Final = re.compile(r"^format:[ \t]*([0-9]{1,4})\b", re.MULTILINE)
_FIRST_KEY: Final = re.compile(r"^(?=[A-Za-z\"'])", re.MULTILINE)
_SIGNS_AS: Final = re.compile(r"^signs as:[ \t]*[\"']?([a-z0-9]+(?:-[a-z0-9]+)*)\b", re.MULTILINE)
_ID: Final = re.compile(r"^procedure:[ \t]*([a-z0-9][a-z0-9-]*)[ \t]*(?:#.*)?$", re.MULTILINE)
_WITHDRAWN: Final = re.compile(r"^status:[ \t]*withdrawn\b", re.MULTILINE)
_EDITION: Final = re.compile(
    r"^(revision|status|dated|use):[ \t]*[\"']?([a-z0-9][a-z0-9 -]*?)[\"']?[ \t]*(?:#.*)?$",
    re.MULTILINE,
)
REMEMBERED: Final = "shop-folder"
"""The file of the person's settings that names the shop made last, in its one line."""
_HEAD_BYTES: Final = 4096
LONGEST_TITLE: Final = 60
_PACKAGE: Final = Path(__file__).resolve().parent.parent


@lean_dataclass(frozen=True, slots=True)
class Listed:
    """A procedure as the board lists it, from the first lines of its file.

    Attributes:
        withdrawn: Whether it says that it is not to be run any more.
        edition: Its revision, status, day and level of use, in words.
    """

    id: str
    title: str
    path: Path
    withdrawn: bool = False
    edition: str = ""


@lean_dataclass(frozen=True, slots=True)
class Shop:
    """A shop's folder.

    Attributes:
        path: Where it lies.
        title: What it is called.
        signs_as: What stands behind the @ in its signatures, as shop.yaml keeps it, or empty.
    """

    path: Path
    title: str
    signs_as: str = ""

    @property
    def runs(self) -> Path:
        """The folder of its runs."""
        return self.path / "runs"

    @property
    def keys(self) -> Path:
        """The folder of the private keys made here."""
        return self.path / "keys"

    @property
    def signers(self) -> Path:
        """The file of the public keys that it trusts."""
        return self.path / "signers"

    def procedures(self) -> tuple[Listed, ...]:
        """The procedures that can be begun, by their titles: the shop's own, then the others."""
        listed: dict[str, Listed] = {}
        for folder in (self.path / "procedures", shipped("procedures")):
            for procedure in sorted(_listed(folder), key=lambda one: one.title.casefold()):
                listed.setdefault(procedure.id, procedure)
        return tuple(listed.values())

    def procedure(self, name: str) -> Path:
        """The file of a procedure by its id, or by a path.

        Raises:
            BenchrunError: There is none; says which there are.
        """
        for procedure in self.procedures():
            if procedure.id == name:
                return procedure.path
        path = Path(name)
        if path.suffix in (".yaml", ".yml") and path.is_file():
            return path
        would = meant(name, [procedure.id for procedure in self.procedures()], most=100)
        raise BenchrunError(f"no procedure {shown(name, 80)!r}, and no such file: {would}")


def shipped(what: str) -> Path:
    """The folder of `procedures` or `samples` that came with the program."""
    packed = _PACKAGE / "shipped" / what
    return packed if packed.is_dir() else _PACKAGE.parent / what


def _listed(folder: Path) -> Iterator[Listed]:
    try:
        paths = sorted(p for p in folder.iterdir() if p.suffix in (".yaml", ".yml"))
    except OSError:
        return
    for path in paths:
        try:
            stat = path.stat()
            found = _told_by_file(path, (stat.st_mtime_ns, stat.st_ctime_ns, stat.st_size))
        except OSError:
            continue
        if found is not None:
            yield found


@lru_cache(maxsize=1024)
def _told_by_file(path: Path, _stamp: tuple[int, ...]) -> Listed | None:
    """The procedure of a file by its first lines, read again when it changed: a board asks often.

    Raises:
        OSError: It cannot be read.
    """
    with open_regular(path) as file:
        head = file.read(_HEAD_BYTES).decode("utf-8", "replace")
    name, title = _ID.search(head), _TITLE.search(head)
    if name is None:
        return None
    plain = title[1].strip("\"'") if title else name[1]
    return Listed(name[1], shown(plain, 80), path, bool(_WITHDRAWN.search(head)), _edition(head))


def _edition(head: str) -> str:
    """Revision, status, day and level of use, as the first lines of a file have them."""
    found = {match[1]: match[2] for match in _EDITION.finditer(head)}
    use = found.get("use", "step by step")
    words = (
        f"revision {found['revision']}" if "revision" in found else "",
        found.get("status", "draft"),
        found.get("dated", ""),
        "for reference" if use == "reference" else use,
    )
    return ", ".join(word for word in words if word)


def named_path() -> Path | None:
    """Where BENCHRUN_SHOP says that the shop lies; None where it says nothing."""
    named = os.environ.get("BENCHRUN_SHOP", "").strip()
    return Path(named).expanduser() if named else None


def settings_folder() -> Path:
    """The folder of the person's own settings: that of BENCHRUN_SCREEN, or this system's."""
    named = os.environ.get("BENCHRUN_SCREEN", "").strip()
    if named:
        return Path(named).expanduser().parent
    from platformdirs import user_config_path

    return user_config_path("benchrun", appauthor=False)


def remembered_path() -> Path | None:
    """The shop that was made last with `shop new`, as the person's settings keep it, or None."""
    try:
        with open_regular(settings_folder() / REMEMBERED) as file:
            text = file.read(_HEAD_BYTES).decode("utf-8", "replace").partition("\n")[0].strip()
    except OSError:
        return None
    return Path(text) if text else None


def remember(shop: Path) -> None:
    """Keep in the person's settings which shop is opened where none is named.

    Raises:
        BenchrunError: It cannot be written.
    """
    file = settings_folder() / REMEMBERED
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"{shop.absolute()}\n", "utf-8")
    except OSError as error:
        raise BenchrunError(
            f"{shown(str(file), 200)} cannot be written: {disk_said(error)}. "
            f"Open the shop with --shop {quote(str(shop))}"
        ) from None


def default_path() -> Path:
    """Where the shop lies when nothing else is said.

    That is where BENCHRUN_SHOP says, else the one made last, else in the user's data folder.
    """
    named = named_path() or remembered_path()
    if named is not None:
        return named
    from platformdirs import user_data_path

    return user_data_path("benchrun", appauthor=False) / "shop"


def pasteable(shop: Path, *words: str) -> str:
    """A command that can be pasted, with the shop where it is not the one that is meant anyway.

    Args:
        shop: The shop's folder.
        words: The command and its arguments, as they are.
    """
    named = [] if shop.absolute() == default_path().absolute() else ["--shop", str(shop)]
    return shown(" ".join(quote(word) for word in ("benchrun", *named, *words)), 400)


def exists(path: Path) -> bool:
    """Whether a shop lies there, or anything in its place that no new one may be laid over."""
    return os.path.lexists(path / "shop.yaml")


def open_shop(path: Path) -> Shop:
    """Open a shop that is there.

    Raises:
        BenchrunError: It is not there, cannot be read, or a newer benchrun made it.
    """
    try:
        with open_regular(path / "shop.yaml") as file:
            text = file.read(_HEAD_BYTES).decode("utf-8", "replace")
    except FileNotFoundError:
        raise BenchrunError(
            f"there is no shop in {shown(str(path), 200)}: name another with --shop, or make one: "
            f"benchrun shop new {quote(str(path))}"
        ) from None
    except OSError as error:
        said = disk_said(error)
        raise BenchrunError(
            f"{shown(str(path / 'shop.yaml'), 200)} cannot be read: {said}"
        ) from None
    number = _FORMAT.search(text)
    if number is not None and int(number[1]) > FILES_FORMAT:
        raise newer(f"the shop in {shown(str(path), 200)}", int(number[1]), FILES_FORMAT)
    signs_as = _SIGNS_AS.search(text)
    return Shop(path, _title_of(text) or "Shop", signs_as[1] if signs_as else "")


def with_format(text: str, number: int) -> str:
    """The text of a shop.yaml that states a number of its form, unless it states a later one."""
    found = _FORMAT.search(text)
    if found is None:
        return _FIRST_KEY.sub(f"format: {number}\n", text, count=1)
    later = max(number, int(found[1]))
    return f"{text[: found.start(1)]}{later}{text[found.end(1) :]}"


def _title_of(text: str) -> str:
    match = _SHOP_TITLE.search(text)
    if match is None:
        return ""
    if match["double"] is not None:
        return shown(re.sub(r"\\(.)", r"\1", match["double"]), LONGEST_TITLE)
    if match["single"] is not None:
        return shown(match["single"].replace("''", "'"), LONGEST_TITLE)
    return shown(match["bare"], LONGEST_TITLE)


def make_folders(path: Path) -> None:
    """Make the folders of a new shop; those that are there stay.

    Raises:
        BenchrunError: The folder cannot be written.
    """
    try:
        for name in ("keys", "procedures", "runs", "photos"):
            (path / name).mkdir(parents=True, exist_ok=True)
        (path / "keys").chmod(0o700)
    except OSError as error:
        raise _unwritten(path, error) from None


def lay_file(path: Path, text: str) -> None:
    """Write a file of a new shop unless there is one.

    Raises:
        BenchrunError: It cannot be written.
    """
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        return
    except OSError as error:
        raise _unwritten(path.parent, error) from None


def _unwritten(path: Path, error: OSError) -> BenchrunError:
    return BenchrunError(
        f"the shop folder {shown(str(path), 200)} cannot be written: "
        f"{error.strerror or error}. Name another with --shop"
    )
