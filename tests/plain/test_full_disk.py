"""Line by line, what was typed is not lost while the disk refuses."""

import io
import math
import resource

from benchrun.load_run import read_kept
from benchrun.plain.start import open_plain
from benchrun.plain.talk import Talk
from benchrun.record.clock import VirtualClock
from benchrun.record.folder import run_folders
from benchrun.signing_keys import enrol, new_shop
from benchrun.verify import verify

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
      - {do: Wipe the part clean., id: wipe}
      - {do: Oil the part., id: oil}
"""


class Typing(io.StringIO):
    """Lines as they are typed, between which something happens to the disk."""

    def __init__(self, *lines):
        super().__init__()
        self._lines = list(lines)

    def readline(self, size=-1):
        del size
        while self._lines and callable(self._lines[0]):
            self._lines.pop(0)()
        return f"{self._lines.pop(0)}\n" if self._lines else ""


def test_a_note_that_the_disk_had_no_room_for_is_given_again_with_enter_alone(tmp_path):
    clock = VirtualClock("2026-11-25T14:02:00.000Z")
    shop = new_shop(tmp_path / "shop", "Shop", clock.now())
    enrol(shop, "Somebody", clock.now(), passphrase="12")
    (tmp_path / "job.yaml").write_text(PROCEDURE)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)

    def fill():
        (folder,) = run_folders(shop.runs)
        size = folder.log.stat().st_size
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + 40, before[1]))

    def free():
        resource.setrlimit(resource.RLIMIT_FSIZE, before)

    out = io.StringIO()
    lines = Typing("a", "", "*", "1", fill, "rust behind", free, "", "-")
    try:
        open_plain(
            shop.path,
            procedure=tmp_path / "job.yaml",
            talk=Talk(lines, out, listens_s=math.inf),
            clock=clock,
        )
    finally:
        free()
    (folder,) = run_folders(shop.runs)
    _, entries = read_kept(folder)
    assert "not kept" in out.getvalue()
    assert "(only Enter: rust behind)" in out.getvalue()
    assert [entry.data.text for entry in entries if entry.kind == "note"] == ["rust behind"]
    assert verify(folder.path).whole
