"""Before a dwell whose time depends on the kind of part stands the time of those that go in."""

from pathlib import Path

from drawn_pages import DrawnRun

from benchrun.procedure.load import load
from benchrun.run.entries import PartSpec
from benchrun.session import all_ready, begin

JOB = """\
procedure: two-kinds
title: Soak two kinds
revision: 1
scope: Invented, for tests only.
batch: {part: arm}
kinds:
  thick: {title: thick arm, values: {soak: 20 min}}
  thin: {title: thin arm, values: {soak: 10 min}}
vessels:
  tub: {title: etch tub, holds: 4}
stages:
  - stage: Etch
    steps:
      - dwell: Etch the arm.
        id: etch
        in: tub
        least: soak
        most: soak + 5 min
        early: again
        late: scrap
"""


def load_row(run: DrawnRun) -> str:
    rows = [row.text for row in run.page(80, 24).rows]
    return next(row for row in rows if row.startswith(" load "))


def test_the_time_of_the_parts_that_go_in_is_said(bench, tmp_path: Path):
    path = tmp_path / "two-kinds.yaml"
    path.write_text(JOB)
    procedure = load(path)
    parts = [PartSpec("A", kind="thick"), PartSpec("B", kind="thin")]
    ready = all_ready(procedure, bench.person, bench.clock.now())
    session = begin(
        bench.shop, procedure, parts, bench.person, bench.clock, readied=ready, tag="k1nd"
    )
    run = DrawnRun(bench, session)
    assert "room for 4 of 4   20 min to 25 min" in load_row(run)
    run.press("enter")
    assert "room for 3 of 4   10 min to 15 min" in load_row(run)
