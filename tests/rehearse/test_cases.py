"""One readable script for each row of the table of cases, rehearsed and verified."""

from pathlib import Path

import pytest

from benchrun.procedure.yamlread import read_yaml
from benchrun.rehearse.play import rehearse
from benchrun.verify import verify

HERE = Path(__file__).parent
CASES = sorted((HERE / "cases").glob("*.yaml"))


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.stem)
def test_the_case_goes_as_its_script_says_and_the_log_verifies(case, tmp_path):
    procedure = read_yaml(case.read_bytes())["rehearse"]
    rehearse(HERE / "procedures" / f"{procedure}.yaml", case, tmp_path / "run")
    verdict = verify(tmp_path / "run")
    assert verdict.whole, verdict.text()


def test_every_row_of_the_table_has_its_script():
    assert {path.stem for path in CASES} >= {
        "gather",
        "rework",
        "re-enters",
        "going-back",
        "load-split",
        "load-block",
        "differing-passes",
        "repeat",
        "missing-value",
        "correction",
        "mis-tap",
        "dwell-in-a-repeat",
        "hold-or-stop-while-soaking",
        "two-people",
        "late-part",
        "recoat-window",
        "meanwhile",
        "revision-changed",
        "close",
        "away",
        "ended-a-while-ago",
        "inside",
    }
