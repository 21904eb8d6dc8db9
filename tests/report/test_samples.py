"""Every sample path through a procedure gives a record that can be handed over, in every form."""

import csv
import io
import json
import re
from pathlib import Path

import html5lib
import pytest

from benchrun.account.gather import gather
from benchrun.report.command import run_report
from benchrun.run.state import Status
from benchrun.verify import verify

ROOT = Path(__file__).resolve().parents[2]
ANSWERS = sorted((ROOT / "samples" / "answers").glob("*.yaml"))
# One whole path a procedure is played in every run of the tests, the rest in the long ones.
CASES = [
    pytest.param(path, id=path.stem, marks=[] if path.stem in usual else [pytest.mark.long])
    for usual in [{"degrease-etch-coat", "hub-bearing-removal"}]
    for path in ANSWERS
]


@pytest.mark.parametrize("answers", CASES)
def test_a_sample_path_is_told_in_every_form(answers, tmp_path):
    from benchrun.rehearse.play import rehearse

    procedure = answers.name.partition(".")[0]
    run = tmp_path / "2026-03-02-sample-aaaa"
    rehearse(ROOT / "procedures" / f"{procedure}.yaml", answers, run)
    verdict = verify(run).as_data()
    for ending in ("html", "csv", "json", "txt", "md"):
        run_report([run], tmp_path / f"run.{ending}", [verdict])
    page = (tmp_path / "run.html").read_text("utf-8")
    html5lib.HTMLParser(strict=True).parse(page)
    assert "A rehearsal by a script, nothing was worked" in page
    assert max(map(len, (tmp_path / "run.txt").read_text("utf-8").splitlines())) <= 109
    told = json.loads((tmp_path / "run.json").read_text("utf-8"))["runs"][0]
    rows = list(csv.DictReader(io.StringIO((tmp_path / "run.csv").read_bytes().decode("utf-8"))))
    in_log = {
        (str(line["n"]), part): outcome["value"]["number"]
        for line in told["log"]
        if line["kind"] == "do"
        for part, outcome in line["data"].get("each", {}).items()
        if "number" in outcome.get("value", {})
    }
    assert {(row["n"], row["part"]): row["first"] for row in rows} == in_log
    assert len(rows) == len(in_log)
    drawn = re.findall(r'class="(?:dot|doubt|out)" data-v="([^"]+)"', page)
    assert set(drawn) <= {row["value"] for row in rows}
    assert_dwells(run)


def assert_dwells(run):
    """Each load that went in is told once for each of its parts, and is out when its part is."""
    facts = gather(run)
    states = {part.part: part.status for part in facts.parts}
    for dwell in facts.dwells:
        assert len(set(dwell.parts)) == len(dwell.parts)
        if dwell.n_out is not None:
            assert dwell.proven is not None
            assert dwell.n_out > dwell.n_in
        elif facts.closed and not dwell.taken_back:
            assert {states[part] for part in dwell.parts} <= {Status.AWAY.value}
