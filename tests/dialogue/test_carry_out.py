"""A step that carries out another procedure: begun from there, then the closed run is named."""

from pathlib import Path

from scripted_face import ScriptedRun

from benchrun.dialogue.acts import act
from benchrun.record.folder import run_folders

JOB = """\
procedure: overhaul
title: Overhaul
revision: 1
scope: Invented, for tests only.
batch: {part: arm}
stages:
  - stage: All
    steps:
      - {carry out: look-at-it, revision: 1, id: look-at-it}
      - {do: Hang it up., id: hang}
"""
OTHER = """\
procedure: look-at-it
title: Look at it
revision: 1
status: checked
scope: Invented, for tests only.
batch: {part: arm}
stages:
  - stage: All
    steps:
      - {do: Look at it., id: look}
"""


def begun(tmp_path: Path) -> ScriptedRun:
    (tmp_path / "look-at-it.yaml").write_text(OTHER)
    job = tmp_path / "overhaul.yaml"
    job.write_text(JOB)
    run = ScriptedRun(tmp_path, job, ["a", "b"])
    own = run.session.shop.path / "procedures"
    own.mkdir(exist_ok=True)
    (own / "look-at-it.yaml").write_text(OTHER)
    return run


def test_it_is_begun_for_these_parts_and_stands_on_the_board(tmp_path):
    run = begun(tmp_path)
    face = run.drive(act(run.work), "1", "1")
    assert [option.words for option in face.asked[0].options] == [
        "Begin it now",
        "Go on without it",
    ]
    names = [folder.run for folder in run_folders(run.session.shop.runs)]
    (other,) = [name for name in names if "look-at-it" in name]
    assert face.said[-1].startswith(f"{other} is begun and on the board.")


def test_a_run_that_is_open_for_these_parts_is_opened_and_not_begun_twice(tmp_path):
    run = begun(tmp_path)
    run.drive(act(run.work), "1", "1")
    folders = [folder.run for folder in run_folders(run.session.shop.runs)]
    (other,) = [name for name in folders if "look-at-it" in name]
    face = run.drive(act(run.work), "1")
    assert [option.words for option in face.asked[0].options] == [
        f"Go on with {other}",
        "Go on without it",
    ]
    assert face.opened == ["run"]
    assert [folder.run for folder in run_folders(run.session.shop.runs)] == folders


def test_going_on_without_it_needs_a_reason(tmp_path):
    run = begun(tmp_path)
    run.drive(act(run.work), "2", "done by the neighbour")
    assert run.last("do").reason == "done by the neighbour"
