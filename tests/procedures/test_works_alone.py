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
    holds = [one for one in session.entries if isinstance(one.data, e.Did) and one.data.says]
    assert len({entry.by for entry in holds}) <= 1
    for entry in holds:
        detail = procedure.route.steps[entry.data.step].detail
        assert isinstance(detail, Hold)
        assert entry.data.waived <= detail.waivable
    verdict = verify(out)
    assert verdict.whole, verdict.text()
