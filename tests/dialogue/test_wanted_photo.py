"""A step that wants a photo takes the newest picture with Enter, and says where there is none."""

import pytest
from PIL import Image
from scripted_face import ScriptedRun

from benchrun.dialogue.acts import act
from benchrun.dialogue.photos import add_photo
from benchrun.dialogue.prompts import Choose
from benchrun.verify import verify

JOB = """\
procedure: photo-job
title: A photo
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - do: Photograph the numbers.
        id: numbers
        photo: yes
      - do: Wipe the part clean.
        id: wipe
"""


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "photo.yaml"
    path.write_text(JOB)
    return ScriptedRun(tmp_path, path, ["a", "b"], people=())


@pytest.fixture
def phone(tmp_path, job):
    folder = tmp_path / "phone"
    folder.mkdir()
    with (job.shop.path / "shop.yaml").open("a") as file:
        file.write(f"\nwatched folder: {folder}\n")
    return folder


def picture(path, shade):
    Image.new("L", (16, 16), shade).save(path, "PNG")


def test_enter_takes_the_newest_picture_and_does_the_step(job, phone):
    picture(phone / "one.png", 10)
    face = job.drive(act(job.work))
    assert face.asked == []
    assert job.kinds() == ["open", "photo", "do"]
    assert job.last("photo").step == "numbers"
    assert job.last("photo").parts == ("a", "b")
    assert job.last("do").flags == ()


def test_a_picture_is_taken_once(job, phone):
    picture(phone / "one.png", 10)
    job.work.pin(job.work.now.offer, ("a",))
    job.drive(act(job.work))
    job.work.pin(next(one for one in job.work.now.offers if one.step.id == "numbers"), ("b",))
    face = job.drive(act(job.work), "-")
    (asked,) = [one for one in face.asked if isinstance(one, Choose)]
    assert "The newest picture, one.png, is in the record, entry 2" in asked.said
    assert job.kinds() == ["open", "photo", "do"]


def test_without_a_picture_a_path_or_none_is_asked_for(job, phone, tmp_path):
    picture(tmp_path / "elsewhere.png", 20)
    face = job.drive(act(job.work), "2", str(tmp_path / "elsewhere.png"))
    assert "There is no picture in" in face.asked[0].said
    assert job.kinds() == ["open", "photo", "do"]
    assert job.last("do").flags == ()


def test_the_entry_says_that_none_was_taken(job):
    job.drive(act(job.work), "3")
    assert job.kinds() == ["open", "do"]
    assert job.last("do").flags == ("no photo was taken",)
    job.session.leave()
    assert not verify(job.session.folder.path).faults


def test_the_entry_names_those_of_whom_none_was_taken(job, phone):
    picture(phone / "one.png", 10)
    job.session.send(job.session.copy_photo(None, "numbers", ("a",))).result()
    face = job.drive(act(job.work), "3")
    assert "No photo yet of b." not in face.said
    assert job.last("do").flags == ("no photo was taken: b",)


def test_a_photo_taken_before_is_enough(job, phone):
    picture(phone / "one.png", 10)
    job.session.send(job.session.copy_photo(None, "numbers", ("a", "b"))).result()
    face = job.drive(act(job.work))
    assert face.asked == []
    assert job.kinds() == ["open", "photo", "do"]


def test_pictures_of_a_watched_folder_are_offered_only_where_one_is_set(job):
    face = job.drive(act(job.work), "-")
    assert [one.words for one in face.asked[0].options] == ["A file", "No photo"]
    face = job.drive(add_photo(job.work), "-")
    assert [one.number for one in face.asked[0].options] == [2, 5]


def test_where_a_folder_is_watched_its_pictures_are_offered(job, phone):
    face = job.drive(act(job.work), "-")
    assert [one.words for one in face.asked[0].options] == ["Look again", "A file", "No photo"]
    face = job.drive(add_photo(job.work), "-")
    assert [one.number for one in face.asked[0].options] == [1, 2, 3, 4, 5]
