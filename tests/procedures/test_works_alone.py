"""A shop in which one person works alone gets every shipped procedure to its release."""

from dataclasses import replace

import pytest
from shipped import IDS, ROOT

from benchrun.procedure.load import load
from benchrun.procedure.route import Hold
from benchrun.rehearse.play import played
from benchrun.rehearse.script import read_script
from benchrun.run import entries as e
from benchrun.run.state import Status
from benchrun.verify import verify


@pytest.mark.parametrize("name", IDS)
def test_one_person_alone_gets_the_parts_to_their_release(name, tmp_path):
    procedure = load(ROOT / "procedures" / f"{name}.yaml")
    script = read_script(ROOT / "samples" / "answers" / f"{name}.yaml")
    # The others would wait for them overnight; a script that says what happens names its parts.
    parts = script.parts if script.then else script.parts[: procedure.batch.least]
    out = tmp_path / "run"
    session = played(procedure, replace(script, alone=True, parts=parts), out)
    assert session.run.ended
    assert all(marker.status in (Status.DONE, Status.SCRAP) for marker in session.run.each())
    signed = [
        entry.data
        for entry in session.entries
        if isinstance(entry.data, e.Did) and entry.data.says and not entry.data.waived
    ]
    for data in signed:
        detail = procedure.route.steps[data.step].detail
        assert isinstance(detail, Hold)
        if detail.other:
            assert any(flag.startswith("checked by who did the work, ") for flag in data.flags)
    verdict = verify(out)
    assert verdict.whole, verdict.text()
