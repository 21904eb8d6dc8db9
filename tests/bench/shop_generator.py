"""Shops of any size for the timings, made by real rehearsals (all invented).

Every run was begun, carried out and left or closed by the program itself in virtual time; only the
rows of the books are written as text, from rows that the sample shop has.
"""

from pathlib import Path

from benchrun.procedure.load import load
from benchrun.rehearse.bench import RehearsalBench
from benchrun.rehearse.play import Player
from benchrun.rehearse.script import read_script
from benchrun.shop.folder import Shop, open_shop, shipped

HERE = Path(__file__).parent
SHORT = HERE.parent / "rehearse"
BEGINS = "2026-03-07 08:00"
PEOPLE = "{first: Nell Tarrow, second: Piet Okonda, third: Ida Velt}"

# Up to a dwell, then some parts in it and the run left: an open run with its clocks.
OPEN = (
    ("degrease-etch-coat.etch-late", "etch", "[clip 1, clip 2]"),
    ("acid-etch-in-loads", "etch", "[clip 1, clip 2]"),
    ("dye-penetrant-inspection", "dye-time", "[hub L, hub R]"),
)
SUPPLY = """\
  - id: tin-{0}
    name: moisture-cured paint {0}
    amount: 1 l
    opened: 2026-02-19
    keeps: 6 years
    book:
      - {{on: 2026-02-20, used: 45 ml}}
"""
INSTRUMENT = """\
  - id: gauge-{0}
    name: bore gauge {0}
    range: 50 to 160 mm
    resolution: 0.001 mm
    uncertainty: 0.002 mm
    calibrated: 2026-01-09
    until: 2027-01-09
    by: the calibration room, sheet {0}
"""
PART = """\
  - id: hub-{0}
    name: hub
    side: left
    numbers: [cast 4-{0}]
    condition: seat good, no crack
    decision: use
    where: shelf {0}, oiled
"""


class GeneratedShop:
    """A shop that grows by rehearsals.

    Args:
        folder: A folder that is not there yet; the shop is made in it.
    """

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._scripts = folder / "scripts"
        self._scripts.mkdir()
        script = read_script(self._script("first", "degrease-etch-coat", "then: [leave]\n"))
        self._procedures = {script.procedure: load(_file_of(script.procedure))}
        self._bench = RehearsalBench(folder / "shop", self._procedures[script.procedure], script)
        self._bench.session.leave()
        self.path = folder / "shop"

    @property
    def shop(self) -> Shop:
        """The shop."""
        return open_shop(self.path)

    @property
    def clock(self):
        """The virtual clock that all of it happened by."""
        return self._bench.clock

    def _script(self, name: str, answers: str, then: str) -> Path:
        """A script of the samples that goes on otherwise."""
        text = (shipped("samples") / "answers" / f"{answers}.yaml").read_text()
        head = text.partition("\nthen:")[0].rstrip("\n")
        rows = [row for row in head.split("\n") if not row.startswith(("people:", "begins:"))]
        begins = f"begins: {BEGINS}\npeople: {PEOPLE}\n"
        path = self._scripts / f"{name}.yaml"
        path.write_text("\n".join(rows) + "\n" + begins + then)
        return path

    def _play(self, path: Path) -> None:
        script = read_script(path)
        procedure = self._procedures.get(script.procedure)
        if procedure is None:
            procedure = load(_file_of(script.procedure))
            self._procedures[script.procedure] = procedure
        player = Player(self._bench.beside(procedure, script), script)
        try:
            player.play()
        finally:
            player.leave()

    def open_runs(self, count: int) -> None:
        """Begin runs, put parts of each into a vessel, and leave it."""
        for number in range(count):
            answers, dwell, parts = OPEN[number % len(OPEN)]
            put = f"  - put in: {dwell}\n    parts: {parts}\n    reason: for timings\n"
            then = f"then:\n  - to: {dwell}\n{put}  - leave\n"
            self._play(self._script(f"open-{answers}", answers, then))

    def closed_runs(self, count: int) -> None:
        """Carry runs out to their end and close them: fourteen entries each."""
        for _ in range(count):
            self._play(SHORT / "cases" / "two-people.yaml")

    def rows(self, count: int) -> None:
        """Let each of three books have so many rows."""
        for file, key, row in (
            ("supplies.yaml", "supplies", SUPPLY),
            ("instruments.yaml", "instruments", INSTRUMENT),
            ("parts.yaml", "parts", PART),
        ):
            path = self.path / file
            head = "".join(
                line for line in path.read_text().splitlines(keepends=True) if line.startswith("#")
            )
            path.write_text(f"{head}{key}:\n" + "".join(row.format(n) for n in range(count)))


def _file_of(procedure: str) -> Path:
    own = SHORT / "procedures" / f"{procedure}.yaml"
    return own if own.is_file() else shipped("procedures") / own.name
