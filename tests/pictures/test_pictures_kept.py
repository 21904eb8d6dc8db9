"""Pictures on their way from a folder into a record."""

import os
from typing import get_args

import pytest
from drawing import drawn, exif, told

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.pictures.files import MayTell, newest_picture
from benchrun.pictures.position import Position
from benchrun.record.folder import RunFolder
from benchrun.record.trouble import NotKept
from benchrun.run.entries import Position as EntryPosition

NOW = Moment(1_795_600_000_000, 1000, "boot", True)


def test_the_words_of_the_keeping_are_those_of_the_entry():
    assert set(get_args(Position)) | {""} == {one.value for one in EntryPosition}


@pytest.fixture
def folder(tmp_path):
    return RunFolder.create(tmp_path / "runs", "axle", NOW, b"")


def test_the_copy_is_without_a_position_unless_asked_for_and_the_source_stays(folder, tmp_path):
    data = drawn(exif=exif())
    source = tmp_path / "arm.jpg"
    source.write_bytes(data)
    plain, whole = folder.keep_photo(source), folder.keep_photo(source, keep_position=True)
    assert (plain.position, whole.position) == ("taken out", "kept as asked")
    assert told((folder.path / plain.file).read_bytes())[1] == {}
    assert (folder.path / whole.file).read_bytes() == data == source.read_bytes()
    assert plain.sha256 != whole.sha256


def test_what_may_tell_a_position_is_kept_only_when_that_is_agreed_to(folder, tmp_path):
    for name, data, position in (
        ("film.jpg", drawn(exif=exif()) + b"film", "taken out in part"),
        ("old.tif", b"II*\0 whatever", "not looked for"),
    ):
        source = tmp_path / name
        source.write_bytes(data)
        with pytest.raises(MayTell, match=r"may (still )?tell where it was"):
            folder.keep_photo(source)
        assert list(folder.photos.glob(f"{source.stem}*")) == []
        assert folder.keep_photo(source, unsure=True).position == position
        assert folder.keep_photo(source, keep_position=True).position == "kept as asked"


def test_a_disk_that_refuses_leaves_no_half_picture(folder, tmp_path, monkeypatch):
    source = tmp_path / "arm.jpg"
    source.write_bytes(drawn(exif=exif()))

    def failing(fd):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("benchrun.record.durable.os.fsync", failing)
    with pytest.raises(NotKept, match="no space"):
        folder.keep_photo(source)
    assert list(folder.photos.iterdir()) == []


def test_a_pipe_a_folder_and_a_name_that_cannot_be_are_refused(folder, tmp_path):
    os.mkfifo(tmp_path / "pipe.jpg")
    for name in ("pipe.jpg", ".", "a\0b", "none.jpg"):
        with pytest.raises(BenchrunError):
            folder.keep_photo(tmp_path / name)
    assert list(folder.photos.iterdir()) == []


def test_the_newest_picture_is_the_newest_regular_file_of_that_kind(tmp_path):
    watched = tmp_path / "phone"
    watched.mkdir()
    with pytest.raises(BenchrunError, match="no picture"):
        newest_picture(watched)
    for second, name in enumerate(["old.jpg", "new.JPG", ".half.jpg", "list.txt", "empty.png"]):
        (watched / name).write_bytes(b"" if name == "empty.png" else b"x")
        os.utime(watched / name, (1000 + second, 1000 + second))
    (watched / "folder.jpg").mkdir()
    (watched / "link.jpg").symlink_to(watched / "list.txt")
    os.mkfifo(watched / "pipe.jpg")
    assert newest_picture(watched).name == "new.JPG"
    assert newest_picture(watched, 1_001_000).name == "new.JPG"
    with pytest.raises(BenchrunError, match=r"new\.JPG.*older than this run"):
        newest_picture(watched, 1_001_001)
    with pytest.raises(BenchrunError, match="cannot be read: no such file"):
        newest_picture(tmp_path / "none")
