"""Two evenings in an invented shed, rehearsed; the log read as a person reads it."""

import re
import shutil
from pathlib import Path

import pytest

from benchrun.account.record_text import show
from benchrun.errors import BenchrunError
from benchrun.record.folder import RunFolder
from benchrun.rehearse.play import rehearse
from benchrun.verify import verify

HERE = Path(__file__).parent
EVENINGS = HERE.parents[1] / "samples" / "two-evenings"


@pytest.fixture
def evenings(tmp_path: Path) -> Path:
    return Path(shutil.copytree(EVENINGS, tmp_path / "two-evenings"))


def played(evenings: Path) -> Path:
    out = evenings.parent / "out"
    rehearse(evenings / "lever-overhaul.yaml", evenings / "evenings.yaml", out)
    return out


def altered(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def test_the_log_of_the_two_evenings_reads_as_it_should(evenings: Path) -> None:
    out = played(evenings)
    text = re.sub(r"lever-overhaul-[a-z0-9]{4},", "lever-overhaul-xxxx,", show(RunFolder(out)))
    text = re.sub(r"by benchrun \S+ build \w+", "by benchrun of this build", text)
    assert text + "\n" == (HERE / "two-evenings.txt").read_text("utf-8")


def test_the_log_stands_alone_and_verifies_with_what_was_amiss_named(evenings: Path) -> None:
    out = played(evenings)
    shutil.rmtree(evenings)
    found = verify(out)
    assert found.whole
    doubts = "\n".join(found.doubts)
    for words in (
        "primer, primer-1 was good until 2025-12-10, 6 months after opening",
        "compared with the other wrench this evening",
        "lever-r: closed though not done, still at the plater",
    ):
        assert words in doubts


def test_what_is_lacking_before_the_start_must_be_what_the_script_says(evenings: Path) -> None:
    altered(evenings / "shed" / "instruments.yaml", "until: 2026-03-01", "until: 2027-03-01")
    with pytest.raises(BenchrunError, match="before the start this is lacking: primer"):
        played(evenings)


def test_a_tub_that_is_free_makes_nobody_wait(evenings: Path) -> None:
    altered(evenings / "shed" / "vessels.yaml", "holds: 2", "holds: 9")
    altered(evenings / "lever-overhaul.yaml", "holds: 2", "holds: 9")
    with pytest.raises(BenchrunError, match="should be refused: another run is using it"):
        played(evenings)


def test_an_instrument_that_the_shed_has_not_is_told(evenings: Path) -> None:
    altered(evenings / "evenings.yaml", "with: wrench-200", "with: ../wrench")
    with pytest.raises(BenchrunError, match=r"no instrument .*: did you mean"):
        played(evenings)
