"""A photo on a step, from the phone's folder to the log, the check and the report."""

import io
import json
import math
import os
from dataclasses import replace

import pytest
from PIL import Image

from benchrun.account.record_text import show
from benchrun.cli import main
from benchrun.errors import BenchrunError
from benchrun.load_run import read_kept
from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.procedure.load import load
from benchrun.record.clock import SystemClock
from benchrun.record.folder import run_folders
from benchrun.report.command import run_report
from benchrun.run.entries import PartSpec, Position, data_of, read_data
from benchrun.run.replay import command_of
from benchrun.session import Kept, begin
from benchrun.shop.parts import read_parts
from benchrun.shop.settings import read_settings
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

GPS = 0x8825
PROCEDURE = """\
procedure: small-job
title: A small job
revision: 1
status: draft
scope: One part.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - do: Wipe the part clean.
        id: wipe
"""


def picture(path, *, placed=True):
    """A grey picture, taken at an invented place."""
    block = Image.Exif()
    if placed:
        block.get_ifd(GPS).update({1: "N", 2: (47.0, 11.0, 12.0), 3: "E", 4: (8.0, 2.0, 3.0)})
    Image.new("L", (16, 16), 90).save(path, "JPEG", exif=block)
    return path


def place_in(path):
    return dict(Image.open(io.BytesIO(path.read_bytes())).getexif().get_ifd(GPS))


@pytest.fixture
def phone(tmp_path):
    folder = tmp_path / "from the phone"
    folder.mkdir()
    return folder


@pytest.fixture
def shop(tmp_path, phone):
    made = new_shop(tmp_path / "shop", "Shop", SystemClock().now())
    enrol(made, "Somebody", SystemClock().now(), passphrase="12")
    settings = made.path / "shop.yaml"
    settings.write_text(settings.read_text() + f"watched folder: {phone}\n")
    (tmp_path / "job.yaml").write_text(PROCEDURE)
    return made


@pytest.fixture
def session(shop, tmp_path):
    person = enrol(shop, "Another", SystemClock().now(), passphrase="12")
    begun = begin(shop, load(tmp_path / "job.yaml"), [PartSpec("a")], person, SystemClock())
    yield begun
    begun.leave()


def kept(session, command):
    reply = session.send(command).result()
    assert isinstance(reply, Kept), reply
    return reply.entries[-1]


def test_the_newest_picture_goes_into_the_run_without_its_position(session, phone, tmp_path):
    source = picture(phone / "arm.jpg")
    entry = kept(session, session.copy_photo(None, "wipe", ("a",)))
    assert entry.data.position is Position.TAKEN_OUT
    assert (entry.data.step, entry.data.text, entry.data.parts) == ("wipe", "arm.jpg", ("a",))
    assert place_in(source) != {}
    assert place_in(session.folder.path / entry.data.file) == {}
    line = json.loads(session.folder.log.read_text().splitlines()[entry.n])
    assert line["data"]["position"] == "taken out"
    assert "position taken out" in show(session.folder)
    verdict = verify(session.folder.path)
    assert verdict.whole, verdict.text()
    assert verdict.keeping.photos == 1
    for name in ("run.html", "run.txt", "run.md"):
        run_report([session.folder.path], tmp_path / name)
        text = " ".join((tmp_path / name).read_text().split())
        assert "Position" in text, name
        assert "taken out" in text, name
    run_report([session.folder.path], tmp_path / "run.json")
    assert '"position": "taken out"' in (tmp_path / "run.json").read_text()


def test_what_is_asked_to_stay_stays_and_the_entry_says_so(session, tmp_path):
    source = picture(tmp_path / "arm.jpg")
    entry = kept(session, session.copy_photo(source, "wipe", keep_position=True))
    assert entry.data.position is Position.KEPT
    assert (session.folder.path / entry.data.file).read_bytes() == source.read_bytes()


def test_a_picture_older_than_the_run_waits_to_be_asked_for(session, phone):
    os.utime(picture(phone / "old.jpg", placed=False), (1000, 1000))
    with pytest.raises(BenchrunError, match="older than this run"):
        session.copy_photo()
    assert list(session.folder.photos.iterdir()) == []
    assert session.copy_photo(any_age=True).position is Position.NONE_FOUND


def test_a_shop_that_watches_no_folder_says_what_to_write(session, shop):
    settings = shop.path / "shop.yaml"
    text = settings.read_text().partition("watched folder: /")[0]
    settings.write_text(text)
    with pytest.raises(BenchrunError, match=r"shop\.yaml names one, as watched folder: ~/Pictures"):
        session.copy_photo()
    settings.write_text(text + "watched folder: phone\n")
    assert read_settings(shop).watched is None
    with pytest.raises(BenchrunError, match="must be a whole path"):
        session.copy_photo()


def test_every_word_of_the_entry_is_decided_again_alike_and_an_older_entry_reads_alike(session):
    data = kept(session, session.copy_photo(session.folder.procedure, unsure=True)).data
    assert data.position is Position.NOT_LOOKED_FOR
    for position in Position:
        one = replace(data, position=position)
        assert read_data("photo", data_of(one)) == one
        assert command_of(5, one).position is position
        assert ("position" in data_of(one)) is (position is not Position.UNSAID)
    with pytest.raises(ValueError, match="moved"):
        read_data("photo", {**data_of(data), "position": "moved"})


def test_line_by_line_the_photo_is_in_the_write_menu(shop, phone, tmp_path):
    other = picture(tmp_path / "other.jpg", placed=False)
    film = picture(tmp_path / "film.jpg")
    film.write_bytes(film.read_bytes() + b"film")
    asked = ["*", "2", "1", "*", "2", "5", str(other), "*", "2", "2", str(tmp_path / "none"), "-"]
    asked += ["*", "2", "2", str(film), "-", "*", "2", "2", str(film), "", "-"]
    os.utime(picture(phone / "arm.jpg"), (4_000_000_000, 4_000_000_000))  # a phone's clock ahead
    out = io.StringIO()
    talk = Talk(io.StringIO("\n".join(["a", "", *asked]) + "\n"), out, listens_s=math.inf)
    assert open_plain(shop.path, procedure=tmp_path / "job.yaml", talk=talk) == 0
    said = out.getvalue()
    assert "arm.jpg is kept, position taken out." in said
    assert "other.jpg is kept, position kept as asked." in said
    assert "none cannot be read: no such file" in said
    assert said.count("film.jpg may still tell where it was taken") == 2
    assert "film.jpg is kept, position taken out in part." in said
    folder = next(iter(run_folders(shop.runs)))
    photos = [one.data.position for one in read_kept(folder)[1] if one.kind == "photo"]
    assert photos == [Position.TAKEN_OUT, Position.KEPT, Position.IN_PART]
    assert verify(folder.path).whole


def test_the_photos_of_a_part_stand_in_the_parts_book(shop, session, phone, capsys):
    rows = "parts:\n  - {id: a, name: bracket}\n  - {id: b, name: bracket}\n"
    (shop.path / "parts.yaml").write_text(rows)
    photo = kept(session, session.copy_photo(picture(phone / "bore.jpg"), "wipe", ("a",))).data
    session.leave()
    path = f"runs/{session.folder.run}/{photo.file}"
    assert [one.photos for one in read_parts(shop).rows] == [(path,), ()]
    assert (shop.path / path).is_file()
    assert main(["--shop", str(shop.path), "parts", "list"]) == 0
    seen, unseen = capsys.readouterr().out.splitlines()
    assert seen.endswith("; 1 photo")
    assert "photo" not in unseen
    assert main(["--shop", str(shop.path), "parts", "show", "a"]) == 0
    assert path in capsys.readouterr().out
