"""A drawing goes with the step: the run keeps it, the page leads to it, the report prints it."""

import io
import json

import pytest
from PIL import Image

from benchrun.account.gather import gather
from benchrun.dialogue.lookups import why
from benchrun.dialogue.work import Work
from benchrun.pictures.viewer import open_picture, viewer
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.record.record_reader import Record
from benchrun.report.command import report_content
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

PAGE = """\
procedure: fit
title: Fit a ring (invented, for tests)
revision: 1
scope: Invented, for tests only.
changes: {1: first}
batch: {part: hub}
stages:
  - stage: Fit
    steps:
      - {do: Seat the ring., id: seat, drawing: figures/seat.png}
      - {do: Look at the lip., id: lip, drawing: figures/lip.svg}
      - {do: Turn the hub., id: turn, drawing: figures/seat.png}
      - {do: Wipe the hub., id: wipe}
"""
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M1 1h7v7"/></svg>'


def picture():
    content = io.BytesIO()
    Image.new("RGB", (40, 20), (200, 40, 40)).save(content, "PNG")
    return content.getvalue()


@pytest.fixture
def session(tmp_path):
    clock = VirtualClock("2026-03-10T08:00:00.000Z")
    shop = new_shop(tmp_path / "shop", "Shed", clock.now())
    ada = enrol(shop, "Ada Brook", clock.now(), passphrase="one")
    home = tmp_path / "pages"
    (home / "figures").mkdir(parents=True)
    (home / "fit.yaml").write_text(PAGE)
    (home / "figures" / "seat.png").write_bytes(picture())
    (home / "figures" / "lip.svg").write_bytes(SVG)
    made = begin(shop, load(home / "fit.yaml"), [PartSpec("hub")], ada, clock)
    yield made
    made.leave()


def test_a_run_keeps_each_drawing_once_by_its_digest_and_verifies(session):
    folder = session.folder
    kept = sorted(path.name for path in (folder.path / "drawings").iterdir())
    assert [name.partition("-")[0] for name in kept] == ["lip", "seat"]
    opened = json.loads(folder.log.read_bytes().splitlines()[0])["data"]
    assert set(opened["drawings"]) == {"figures/seat.png", "figures/lip.svg"}
    found = verify(folder.path)
    assert (found.whole, [one for one in found.doubts if "drawing" in one]) == (True, [])
    assert Record(folder.path, session.shop.path).faults == []


@pytest.mark.parametrize("change", [lambda path: path.write_bytes(SVG), lambda path: path.unlink()])
def test_a_drawing_that_was_changed_or_taken_away_is_a_fault(session, change):
    seat = next((session.folder.path / "drawings").glob("seat-*"))
    change(seat)
    assert any("drawing" in fault for fault in verify(session.folder.path).faults)
    assert Record(session.folder.path, session.shop.path).faults


def test_the_page_why_leads_to_the_drawing_and_enter_opens_it(session, monkeypatch):
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    flow = why(Work(session))
    page = flow.send(None)
    assert (page.enter, page.decides) == ("see the drawing", True)
    shown = flow.send(True)
    said = flow.send(open_picture(shown.path))
    assert said.text.startswith("The drawing lies in ")
    assert "drawings/seat-" in said.text
    assert said.text.endswith("No display is known here: open it from there.")


def test_a_step_without_a_drawing_has_a_page_that_leads_nowhere(session):
    work = Work(session)
    steps = session.procedure.route.steps
    assert work.drawing(steps["wipe"]) is None
    assert work.drawing(steps["lip"]).name.startswith("lip-")


def test_the_viewer_is_that_of_the_system_and_none_over_a_line(tmp_path):
    assert viewer({"DISPLAY": ":0"}, "linux") == "xdg-open"
    assert viewer({"WAYLAND_DISPLAY": "wayland-0"}, "linux") == "xdg-open"
    assert viewer({}, "darwin") == "open"
    assert viewer({}, "linux") == ""
    assert viewer({"DISPLAY": ":10", "SSH_CONNECTION": "a b"}, "linux") == ""
    assert open_picture(tmp_path / "gone.png", {}).startswith("The drawing is missing")
    (tmp_path / "here.png").write_bytes(picture())
    lacks = open_picture(tmp_path / "here.png", {"DISPLAY": ":0", "PATH": ""})
    assert "The drawing lies in" in lacks


def test_reports_print_the_drawings_with_the_steps_that_name_them(session):
    folder = session.folder.path
    assert [one.state for one in gather(folder).drawings] == ["agrees", "agrees"]
    html = report_content([folder], ".html").decode()
    assert html.count("data:image/png;base64,") == 1
    assert html.count("data:image/svg+xml;base64,") == 1
    assert "Drawing 1, step 1 and step 3: Seat the ring." in html
    text = " ".join(report_content([folder], ".txt").decode().split())
    assert "DRAWINGS OF THE PROCEDURE" in text.upper()
    seat = next((folder / "drawings").glob("seat-*"))
    seat.write_bytes(SVG)
    changed = report_content([folder], ".html").decode()
    assert "data:image/png" not in changed
    assert "THE FILE IS NOT THE ONE IN THE LOG" in changed
