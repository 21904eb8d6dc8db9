"""The sample shop, set out for any moment: `python -m benchrun.rehearse.sample [FOLDER [TIME]]`.

Without a folder the shop that ships is made anew.

Everything in it is invented. The people's keys are thrown away with it; all open with 1234.
Four runs are closed. Of four that are open an etch load is in the tub, half the parts have their
second coat, a bag is at the plater, and a spare waits for an answer. Dates count from the moment at
which the shop is to be found: in the middle of an evening, of which two hours are left.
"""

import datetime as dt
import re
import shutil
import struct
import sys
import tempfile
import zlib
from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

from benchrun.lean_dataclass import lean_dataclass
from benchrun.moment import Moment
from benchrun.procedure.load import load, look_at
from benchrun.procedure.route import Procedure
from benchrun.record.clock import SystemClock, VirtualClock
from benchrun.rehearse.bench import RehearsalBench
from benchrun.rehearse.play import Player
from benchrun.rehearse.script import Script, read_script
from benchrun.rehearse.throwaway import throwaway
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command
from benchrun.session import Reply, all_ready, begin
from benchrun.shop.books import read_books
from benchrun.shop.folder import Shop, open_shop, shipped
from benchrun.shop.hours import DAYS, times_in_words
from benchrun.shop.instruments import INSTRUMENTS
from benchrun.shop.parts import PARTS, read_parts
from benchrun.shop.people import ROLES, Person, read_people
from benchrun.shop.routes import ROUTES
from benchrun.shop.row_editor import add_line, change_row
from benchrun.shop.supplies import SUPPLIES, read_supplies
from benchrun.shop.vessels import VESSELS
from benchrun.shop.yaml_editor import Plain
from benchrun.shop_use.figures import figures_in_books
from benchrun.shop_use.part_states import SCRAPPED
from benchrun.signing_keys import change_settings, enrol, new_shop, retire

PASSPHRASE: Final = "1234"  # noqa: S105  # it opens keys that are thrown away with the shop
TITLE: Final = "Sample shop, invented"
PEOPLE: Final = {"first": "Nell Tarrow", "second": "Piet Okonda"}
_EXAMINES: Final = ("steering and brake examiner", "weld examiner")
"""Roles by which the second of them releases: every procedure that ships comes to its end."""
_FILES: Final = ("instruments", "supplies", "vessels", "parts", "routes")
_FORMS: Final = {form.key: form for form in (INSTRUMENTS, SUPPLIES, VESSELS, PARTS, ROUTES)}
LEFT: Final = "Odo Farrow"
"""Somebody who left: the key has ended, the name stays in the file."""
MIN, H = 60_000, 3_600_000
_ON_SINCE_MS: Final = 30 * 24 * H
ABOUT: Final = "sample shop, invented: nothing in it was worked or measured"
_DAY: Final = re.compile(r"\{(-?[0-9]+)\}")


@lean_dataclass(frozen=True, slots=True)
class Planned:
    """A run of the sample shop.

    Attributes:
        days: How many days before the shop is found it was begun.
        hour: At what hour (UTC); None for one that is still going on when the shop is found.
        lasts: For that one, in milliseconds, how long it has been going on then.
        tag: The end of its name.
    """

    script: str
    days: int
    hour: int | None
    tag: str
    lasts: int = 0


RUNS: Final = (
    Planned("hub-bearings", 40, 17, "hubs"),
    Planned("penetrant", 38, 9, "dyed"),
    Planned("blasting", 36, 13, "sand"),
    Planned("bores", 30, 18, "bore"),
    Planned("studs", 5, None, "stud", 5 * 24 * H),
    Planned("coats", 0, None, "coat", 2 * H + 29 * MIN + 11_000),
    Planned("spare", 0, None, "newc", 52 * MIN),
    Planned("etch", 0, None, "etch", 24 * MIN + 33_000),
)
_OPENING: Final = 4 * 60 + 30
"""For how many minutes the shop is attended on the day on which it is found."""
_DAY_MIN: Final = 24 * 60
SHIPPED_FOUND: Final = dt.datetime(2026, 5, 9, 14, 0, tzinfo=dt.UTC)
"""The moment at which the shop that ships is found."""
_SINCE: Final = dt.timedelta(hours=2, minutes=30)
"""How long it has been attended then, and up to half an hour more."""


class MachineClock(VirtualClock):
    """A clock moved by a script that ends at this machine's own moment, in its own boot."""

    def __init__(self, start: str, machine: Moment, lasts: int) -> None:
        super().__init__(start, up_ms=machine.up_ms - lasts, sync=machine.sync)
        self._boot = machine.boot

    def now(self) -> Moment:
        """The moment now, in the boot that is going on."""
        return replace(super().now(), boot=self._boot)


class SampleClock(SystemClock):
    """This machine's clocks as those of one that has been on for weeks, and in step all the time.

    The runs of the sample shop were begun up to five days before it is found, and no machine need
    have been on since: their clocks would tell nothing else but that.
    """

    def now(self) -> Moment:
        """The moment now."""
        now = super().now()
        return replace(now, up_ms=now.up_ms + _ON_SINCE_MS, boot="sample-shop", sync=True)

    def lacking(self) -> str:
        """Nothing."""
        return ""


class SampleBench(RehearsalBench):
    """Plays a script in a shop that is there, as the people of that shop."""

    def __init__(
        self,
        shop: Shop,
        people: Mapping[str, Person],
        procedure: Procedure,
        script: Script,
        clock: VirtualClock,
        tag: str,
    ) -> None:
        self.clock = clock
        self._shop, self._word, self._people = shop, PASSPHRASE, people
        self._figures = script.figures
        self._not_done, self._given = script.not_done, script.given
        known, _ = figures_in_books(read_books(shop), procedure, "")
        self._start(
            begin(
                shop,
                procedure,
                script.parts,
                people["first"],
                clock,
                readied=all_ready(procedure, people["first"], clock.now()),
                figures=known,
                more={"rehearsal": ABOUT},
                tag=tag,
            )
        )

    def send(self, command: Command) -> Reply:
        """Give a command; where the step is a photograph, keep a drawing of what it would show."""
        reply = super().send(command)
        if isinstance(command, c.Do) and command.step == "photo":
            self._keep_drawing(command)
        return reply

    def _keep_drawing(self, command: c.Do) -> None:
        with tempfile.TemporaryDirectory() as place:
            drawing = Path(place) / "indication.png"
            drawing.write_bytes(placeholder_picture(400, 240, _indication))
            kept = self.session.folder.keep_photo(drawing)
        text = "indication beside the rule, drawn for this sample"
        super().send(
            c.KeepPhoto(
                kept.file,
                kept.sha256,
                kept.size,
                command.step,
                text,
                command.parts,
                e.Position(kept.position),
            )
        )


def make(folder: Path, found: dt.datetime, machine: Moment | None = None) -> Shop:
    """Make the shop as it is found at a moment.

    Args:
        folder: Where; it must not be there yet.
        found: The moment, in UTC.
        machine: The same moment by this machine's clocks, so that the clocks of open runs go on
            in its boot; None where nobody will take them up now.

    Raises:
        BenchrunError: The folder is there, or a script does not play.
    """
    first = found - dt.timedelta(days=60)
    at = Moment(int(first.timestamp() * 1000), 60_000, "sample-0", True)
    shop = new_shop(folder, TITLE, at)
    roles = {"first": ROLES, "second": (*ROLES, *_EXAMINES)}
    people = {
        key: enrol(shop, name, at, passphrase=PASSPHRASE, roles=roles[key])
        for key, name in PEOPLE.items()
    }
    gone = enrol(shop, LEFT, at, passphrase=PASSPHRASE)
    for person in (*people.values(), gone):
        open_at_once(person.key)
    retire(shop, gone.id, replace(at, utc_ms=at.utc_ms + 5 * 24 * H))
    hours = hours_around(found.astimezone() if machine else found)
    shop = change_settings(shop, {"currency": "EUR", "remind days": "21", "hours": hours})
    _lay_files(folder, found)
    for one in RUNS:
        _play(shop, people, one, found, machine, load)
    return shop


def open_at_once(key: Path) -> None:
    """Lock a key anew so that its passphrase opens it at once: everybody is told it anyway.

    Playing the open runs of the shop opens keys four times, which took a third of setting it out.
    """
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        PrivateFormat,
        load_ssh_private_key,
    )

    private = load_ssh_private_key(key.read_bytes(), PASSPHRASE.encode())
    lock = PrivateFormat.OpenSSH.encryption_builder().kdf_rounds(1).build(PASSPHRASE.encode())
    key.write_bytes(private.private_bytes(Encoding.PEM, PrivateFormat.OpenSSH, lock))


def hours_around(found: dt.datetime) -> str:
    """The hours of a shop that works two evenings and a day a week, and is found in one of them.

    Args:
        found: The local time at which it is found.
    """
    since = found - _SINCE
    opens = since.hour * 60 + since.minute // 30 * 30
    closes = opens + _OPENING
    spans = {0: (opens, min(closes, _DAY_MIN)), 2: (19 * 60, 22 * 60 + 30), 5: (9 * 60, 16 * 60)}
    if closes > _DAY_MIN:
        spans[1] = (0, closes - _DAY_MIN)
    return ", ".join(
        f"{DAYS[(since.weekday() + day) % 7]} {times_in_words((times,))}"
        for day, times in spans.items()
    )


def alive(folder: Path, machine: Moment) -> Shop:
    """Copy the shop that ships, and begin its open runs anew so that they are going on now.

    Sooner done than `make`: the closed runs stay as they are, and the others are begun by the
    procedures as they are looked at, for nothing of this shop is kept.

    Args:
        folder: Where; it must not be there yet.
        machine: Now, by this machine's clocks.

    Raises:
        BenchrunError: A script does not play.
    """
    source, tags = shipped("samples") / "shop", tuple(f"-{one.tag}" for one in RUNS if one.lasts)
    begun = {path.name for path in (source / "runs").iterdir() if path.name.endswith(tags)}
    shutil.copytree(source, folder, ignore=lambda _, names: begun.intersection(names))
    _forget(folder / "register.jsonl", begun)
    for key in (folder / "keys").iterdir():
        key.chmod(0o600)
    shop, found = open_shop(folder), dt.datetime.fromtimestamp(machine.utc_ms / 1000, dt.UTC)
    people = dict(zip(PEOPLE, read_people(shop), strict=True))
    entered, lives = _entered(shop), _lives(shop)
    _lay_files(folder, found)
    shop = change_settings(shop, {"hours": hours_around(found.astimezone())})
    for run in sorted(shop.runs.iterdir()):
        for tin, line in entered.get(run.name, ()):
            add_line(folder, SUPPLIES, tin, "book", line)
    for part, values in lives.items():
        change_row(folder, PARTS, part, values)
    for one in RUNS:
        if one.lasts:
            _play(shop, people, one, found, machine, look_at)
    return shop


def _lives(shop: Shop) -> dict[str, dict[str, Plain]]:
    """The values that closed runs entered in the rows of the parts that they had."""
    closed = {path.name for path in shop.runs.iterdir() if (path / "log.jsonl.sig").exists()}
    found: dict[str, dict[str, Plain]] = {}
    for part in read_parts(shop).rows:
        photos = [one for one in part.photos if one.split("/")[1] in closed]
        values: dict[str, Plain] = {"runs": [run for run in part.runs if run in closed]}
        values |= {"photos": photos} if photos else {}
        if part.stands.rpartition(": ")[2] in closed:
            values["stands"] = part.stands
            values |= {"decision": part.decision} if part.stands.startswith(SCRAPPED) else {}
        if values["runs"]:
            found[part.id] = values
    return found


def _entered(shop: Shop) -> dict[str, list[tuple[str, dict[str, str]]]]:
    """The lines that runs entered in the books of supplies, by run, each with its tin."""
    found: dict[str, list[tuple[str, dict[str, str]]]] = {}
    for tin in read_supplies(shop).rows:
        for one in tin.book:
            if one.entry is not None:
                line = {"on": one.on.isoformat(), one.deed: one.amount.typed}
                line |= {"run": one.run, "entry": str(one.entry)}
                found.setdefault(one.run, []).append((tin.id, line))
    return found


def _forget(register: Path, runs: Collection[str]) -> None:
    """Cut a register off before the first line that names one of some runs, which stand last."""
    lines = register.read_text(encoding="utf-8").splitlines(keepends=True)
    named = (at for at, line in enumerate(lines) if any(run in line for run in runs))
    register.write_text("".join(lines[: next(named, len(lines))]), encoding="utf-8")


def _lay_files(folder: Path, found: dt.datetime) -> None:
    """Lay the shop's own files, with the days filled in; what runs enter in them comes after."""
    for name in _FILES:
        text = (shipped("samples") / "shop-source" / f"{name}.yaml").read_text(encoding="utf-8")
        invented, _, rows = _filled(text, found).partition("\n")
        whole = f"{invented}\n#\n{_FORMS[name].head}{rows}"
        (folder / f"{name}.yaml").write_text(whole, encoding="utf-8")
    (folder / "photos").mkdir(exist_ok=True)
    picture = folder / "photos" / "wheel-studs.png"
    if not picture.exists():
        picture.write_bytes(placeholder_picture(320, 200, _studs))


def _play(
    shop: Shop,
    people: Mapping[str, Person],
    planned: Planned,
    found: dt.datetime,
    machine: Moment | None,
    load: Callable[[Path], Procedure],
) -> None:
    """Play one run."""
    script = read_script(shipped("samples") / "shop-source" / "runs" / f"{planned.script}.yaml")
    procedure = load(shipped("procedures") / f"{script.procedure}.yaml")
    clock = VirtualClock(_start(planned, found), up_ms=H, name=f"sample-{planned.tag}")
    if machine and planned.lasts and machine.up_ms > planned.lasts:
        clock = MachineClock(_start(planned, found), machine, planned.lasts)
    bench = SampleBench(shop, people, procedure, script, clock, planned.tag)
    try:
        Player(bench, script).play()
    finally:
        bench.session.leave()


def _start(planned: Planned, found: dt.datetime) -> str:
    if planned.hour is None:
        start = found - dt.timedelta(milliseconds=planned.lasts)
    else:
        day = found - dt.timedelta(days=planned.days)
        start = day.replace(hour=planned.hour, minute=0, second=0, microsecond=0)
    return f"{start:%Y-%m-%dT%H:%M:%S}.000Z"


def _filled(text: str, found: dt.datetime) -> str:
    return _DAY.sub(lambda match: f"{found + dt.timedelta(days=int(match[1])):%Y-%m-%d}", text)


def placeholder_picture(width: int, height: int, row: Callable[[int, int], bytes]) -> bytes:
    """A drawing in greys as a PNG picture (ISO/IEC 15948); `row` says the greys of each row."""
    rows = b"".join(b"\0" + row(width, y) for y in range(height))
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )


def _indication(width: int, y: int) -> bytes:
    """The greys of a row: a dark, ragged line on white developer, and a rule below it."""
    if y >= 190:
        ticks = {x for x in range(0, width, 20) if y < (214 if x % 100 == 0 else 204)}
        return bytes(40 if x in ticks else 170 for x in range(width))
    grain = bytes(250 - (x * 13 + y * 29) % 9 for x in range(9))
    row = bytearray((grain * (width // 9 + 1))[:width])
    if 79 <= y <= 113:
        for x in range(61, 340):
            ragged = 96 + (x * 37 % 7) - 3 + (x - 200) // 12
            if abs(y - ragged) <= (2 if 100 < x < 300 else 1):
                row[x] = 60
    return bytes(row)


def _studs(width: int, y: int) -> bytes:
    return bytes(_stud(x, y) for x in range(width))


def _stud(x: int, y: int) -> int:
    """The grey of one point: a stud in each of ten fields, a tag below, a grid of thin lines."""
    column, row = x // 64, y // 80
    if row < 2:
        across, along = abs(x % 64 - 32), y % 80
        if (across < 12 and 12 <= along < 22) or (across < 5 and 22 <= along < 68):
            return 70 + 40 * ((along // 2) % 2) if along > 44 else 70
    elif 20 <= x < 120 and 168 <= y < 192:
        return 120 if column == 0 and (x - 26) ** 2 + (y - 180) ** 2 < 12 else 200
    return 225 if x % 64 == 0 or y % 80 == 0 else 245


def remake_shipped() -> None:
    """Make the shop that ships anew, as it is found at its one moment.

    Raises:
        BenchrunError: A script does not play.
    """
    target = shipped("samples") / "shop"
    with throwaway("sample") as place:
        made = make(place / "shop", SHIPPED_FOUND).path
        (made / ".lock").unlink(missing_ok=True)
        shutil.rmtree(target)
        shutil.copytree(made, target)


def set_out_sample() -> int:
    """Make the shop where the command line says."""
    if len(sys.argv) > 3:
        print(__doc__, file=sys.stderr)  # noqa: T201 - this is a command line
        return 2
    if len(sys.argv) == 1:
        remake_shipped()
        return 0
    given = sys.argv[2] if len(sys.argv) == 3 else ""
    found = dt.datetime.fromisoformat(given) if given else dt.datetime.now(dt.UTC)
    with throwaway("sample"):  # what this machine saw of an earlier sample is not this one's
        make(Path(sys.argv[1]), found.replace(tzinfo=dt.UTC))
    return 0


if __name__ == "__main__":
    sys.exit(set_out_sample())
