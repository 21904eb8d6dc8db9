"""A procedure that carries another one out: both are rehearsed in one shop, and both verify."""

from pathlib import Path

from benchrun.account.record_text import show
from benchrun.record.folder import RunFolder
from benchrun.rehearse.play import rehearse
from benchrun.verify import verify

CHECK = """\
procedure: crack-check
title: Look for cracks (invented, for tests)
revision: 2
scope: Invented, for tests only.
changes: {1: First., 2: Second.}
batch: {part: arm}
stages:
  - stage: Look
    steps:
      - {reading: Measure the crack., id: depth, unit: mm}
      - {inspect: Look at it., id: found, findings: {small: go on, deep: scrap}}
"""
OVERHAUL = """\
procedure: arm-overhaul
title: Overhaul an arm (invented, for tests)
revision: 1
scope: Invented, for tests only.
changes: {1: First.}
batch: {part: arm}
stages:
  - stage: All
    steps:
      - {do: Wipe the arm., id: wipe}
      - carry out: crack-check
        revision: 2
        id: crack-check
        values: {depth: mm, found: finding}
      - work out: Work out what is left.
        id: left
        unit: mm
        formula: 5 mm - crack_check.depth
      - {do: Hang the arm up., id: hang}
"""
CHECKED = """\
rehearse: crack-check
invented: yes
parts: [arm 1, arm 2]
given: {depth: 1.5 mm, found: {arm 1: small, arm 2: deep}}
answers: {found: scrap}
then: [to the end]
"""
SCRIPT = """\
rehearse: arm-overhaul
invented: yes
parts: [arm 1, arm 2]
reasons: {arm 2: scrapped}
then:
  - to: crack-check
  - other run: checked.yaml
  - do: crack-check
  - expect: {arm 1: at left, arm 2: scrap}
  - to the end
"""


def played(folder: Path) -> Path:
    for name, text in (
        ("crack-check", CHECK),
        ("arm-overhaul", OVERHAUL),
        ("checked", CHECKED),
        ("script", SCRIPT),
    ):
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    rehearse(folder / "arm-overhaul.yaml", folder / "script.yaml", folder / "run")
    return folder / "run"


def test_the_run_that_carried_it_out_is_in_the_log_with_its_head(tmp_path):
    text = show(RunFolder(played(tmp_path)))
    assert "-crack-check-" in text
    assert "its last line has the SHA-256 " in text
    assert "arm 2: scrap there" in text
    assert "depth 1.5 mm" in text


def test_a_part_scrapped_there_is_scrapped_here_and_the_record_verifies(tmp_path):
    verdict = verify(played(tmp_path))
    assert verdict.whole, verdict.text()
