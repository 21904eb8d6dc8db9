"""Every path of every procedure that ships is gone by its scripts, or a script says why not."""

from pathlib import Path

import pytest

from benchrun.rehearse.coverage import coverage

ROOT = Path(__file__).parents[2]
ANSWERS = ROOT / "samples" / "answers"
PROCEDURES = sorted((ROOT / "procedures").glob("*.yaml"))


def scripts(procedure: Path) -> list[Path]:
    """The scripts that ship for a procedure."""
    found = [*ANSWERS.glob("*.yaml"), *(ANSWERS / "paths").glob("*.yaml")]
    return sorted(path for path in found if path.name.partition(".")[0] == procedure.stem)


@pytest.mark.long
@pytest.mark.timeout(600)
@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda path: path.stem)
def test_its_scripts_go_every_path(procedure: Path) -> None:
    found = coverage(procedure, scripts(procedure))
    assert found.missing == (), found.text()


def test_each_procedure_has_scripts() -> None:
    assert [path.stem for path in PROCEDURES if not scripts(path)] == []
