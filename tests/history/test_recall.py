"""A gauge found wrong is followed to the readings, parts and runs that it passed."""

import csv
import datetime as dt
import io
from pathlib import Path

import pytest

from benchrun.errors import BenchrunError
from benchrun.history.command import IndexQuestion, run_history
from benchrun.rehearse.play import rehearse

ROOT = Path(__file__).resolve().parents[2]
PATH = "cylinder-bore-inspection.reading-out"


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A shop with one rehearsed run in it, in which a bore was out."""
    place = tmp_path_factory.mktemp("recall")
    procedure = ROOT / "procedures" / "cylinder-bore-inspection.yaml"
    answers = ROOT / "samples" / "answers" / f"{PATH}.yaml"
    rehearse(procedure, answers, place / "runs" / "2026-03-02-cylinder-bore-aaaa")
    return place


def recalled(shop, tool, **more):
    text, _ = run_history(shop, IndexQuestion(tool=tool, **more), as_csv=True)
    return list(csv.DictReader(io.StringIO(text)))


def test_every_reading_of_the_gauge_stands_in_the_list_with_its_part_and_run(shop):
    rows = recalled(shop, "bore-gauge-0")
    assert rows
    assert {row["instrument"] for row in rows} == {"bore-gauge-0"}
    assert {row["run"] for row in rows} == {"2026-03-02-cylinder-bore-aaaa"}
    assert {row["reading"] for row in rows} == {"bore"}


def test_what_was_decided_on_a_value_out_of_limits_stands_beside_it(shop):
    out = [row for row in recalled(shop, "bore-gauge-0") if row["verdict"] == "outside"]
    assert out
    assert all(row["decided"] for row in out)
    text, _ = run_history(shop, IndexQuestion(tool="bore-gauge-0"))
    assert text.startswith("Recall list: bore-gauge-0")
    assert out[0]["decided"].split(":")[0] in text


def test_only_readings_since_the_day_are_recalled(shop):
    whole = recalled(shop, "bore-gauge-0")
    day = dt.date.fromisoformat(whole[0]["utc"][:10])
    assert len(recalled(shop, "bore-gauge-0", since=day)) == len(whole)
    after = day + dt.timedelta(days=1)
    assert recalled(shop, "bore-gauge-0", since=after) == []


def test_a_list_as_csv_is_of_an_instrument(shop):
    with pytest.raises(BenchrunError, match="--instrument ID"):
        run_history(shop, IndexQuestion(), as_csv=True)
