"""A bench to test the keeping at: a shop with its keys, and runs that were closed there."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from benchrun.record.chain import FORMAT
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import RunFolder
from benchrun.record.keys import UnlockedKey, make_key
from benchrun.record.register import Register, StationSeal
from benchrun.record.register_log import RunState
from benchrun.record.seals import seal_data, seal_whole, sign_data
from benchrun.record.signers import Signer, Signers, write_signers
from benchrun.record.sshsig import SEAL, SIGN
from benchrun.record.writer import LogWriter

ANN, STATION = "ann-bench@museum-shed", "station@museum-shed"
PROCEDURE = b"# invented sample\nid: hose-trailer-axle\nrevision: 1\n"


@dataclass(frozen=True)
class Shop:
    """An invented museum's shop: a person, a station, their keys, a clock."""

    path: Path
    clock: VirtualClock
    ann: UnlockedKey
    station: UnlockedKey
    signers: Signers

    @property
    def register(self) -> Register:
        return Register(self.path, StationSeal(self.station, STATION))

    @property
    def runs(self) -> Path:
        return self.path / "runs"

    def enter(self, writer: LogWriter, kind: str, by: str = ANN, **data: object) -> bytes:
        self.clock.wait(1500)
        return writer.append(self.clock.now(), by, kind, data)

    def seal(self, writer: LogWriter, why: str) -> None:
        self.enter(writer, "seal", STATION, **seal_data(writer, self.station, STATION, why))

    def sign(self, writer: LogWriter) -> None:
        self.enter(writer, "hold", meaning="performed", name="Ann Bench")
        self.enter(writer, "sign", **sign_data(writer, self.ann, ANN))

    def begin(self, tag: str = "k3f9") -> tuple[RunFolder, LogWriter]:
        folder = RunFolder.create(
            self.runs, "Hose trailer axle", self.clock.now(), PROCEDURE, tag=tag
        )
        folder.write_signers(self.signers)
        writer = folder.start_log()
        self.enter(
            writer,
            "open",
            format=FORMAT,
            run=folder.run,
            procedure_sha256=folder.procedure_sha256(),
            program="0.1.0",
            register_head=self.register.head(),
        )
        self.note_in_register("opened", folder, writer)
        self.seal(writer, "open")
        return folder, writer

    def note_in_register(self, kind: str, folder: RunFolder, writer: LogWriter) -> None:
        state = RunState(folder.run, writer.n - 1, writer.head)
        self.register.enter(self.clock.now(), STATION, kind, state)

    def close(self, folder: RunFolder, writer: LogWriter) -> None:
        self.enter(writer, "close")
        self.sign(writer)
        self.seal(writer, "close")
        seal_whole(folder, writer, self.station)
        self.note_in_register("closed", folder, writer)
        writer.close()

    def closed_run(self, entries: int = 2) -> RunFolder:
        folder, writer = self.begin()
        for number in range(entries):
            self.enter(writer, "do", step=f"lift-hub-{number}", said="Ø 25,43 µm")
        picture = self.path / "hub.jpg"
        picture.write_bytes(b"an invented picture")
        self.enter(writer, "photo", **folder.keep_photo(picture, unsure=True).as_data())
        self.sign(writer)
        self.close(folder, writer)
        return folder


def _made(path: Path) -> Shop:
    clock = VirtualClock("2026-11-20T18:00:00.000Z")
    ann = make_key(path / "ann", "two left gloves", "Ann Bench, invented")
    station = make_key(path / "station", None, "station, invented")
    since = clock.now().utc_ms - 86_400_000
    signers = (
        Signers()
        .add(Signer(ANN, ann.public, (SIGN,), since))
        .add(Signer(STATION, station.public, (SEAL,), since))
    )
    write_signers(path / "signers", signers)
    return Shop(path, clock, ann, station, signers)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    path = tmp_path / "shop"
    path.mkdir()
    return _made(path)


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Shop, RunFolder]:
    """A closed run that tests may read but not change."""
    made = _made(tmp_path_factory.mktemp("shop"))
    return made, made.closed_run()


@pytest.fixture
def copy_of(tmp_path: Path) -> Iterator[Callable[[RunFolder], RunFolder]]:
    def copy(folder: RunFolder) -> RunFolder:
        target = tmp_path / "copy" / folder.run
        shutil.copytree(folder.path, target)
        return RunFolder(target)

    return copy


@pytest.fixture
def ssh_keygen() -> str:
    found = shutil.which("ssh-keygen")
    if found is None:
        pytest.skip("ssh-keygen is not installed")
    return found
