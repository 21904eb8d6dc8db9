"""The page that asks for the passphrase says what the record holds against the words."""

import pytest
from screen_bench import WORD, press, show_run

from benchrun.run import commands as c

MINUTE = 60_000
JOB = """\
procedure: soak-job
title: A soak
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: bracket, at most: 12}
vessels: {tub: {title: tub, holds: 4}}
stages:
  - stage: All
    steps:
      - dwell: Soak the part.
        id: soak
        in: tub
        most: 20 min
        late: [go on, set aside]
      - hold: Release the part.
        id: release
        signs: Each part was soaked within its time.
"""


@pytest.fixture
def soak(tmp_path):
    path = tmp_path / "soak.yaml"
    path.write_text(JOB)
    return path


async def to_hold(bench, session, parts):
    """Each part alone into the tub, out too late, and on with a reason."""
    for part in parts:
        session.send(c.PutIn("soak", (part,), session.run.n - 1)).result()
        bench.clock.wait(25 * MINUTE)
        session.send(c.Lift((part,), session.run.n - 1)).result()
        question = session.run.markers[part].questions[0]
        answers = {part: question.id}
        reply = c.Settle((part,), session.run.n - 1, answers, "go on", "as agreed")
        session.send(reply).result()


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_page_tells_what_is_against_the_words(bench, soak, size):
    session = bench.begin(soak, ["a"])
    await to_hold(bench, session, ["a"])
    async with bench.app.run_test(size=size) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1")
        page = bench.screen()
        assert "on the record since the last signature" in page
        assert "taken out late" in page
        assert "against “within its time”" in page
        assert page.index("Each part was soaked within its time.") < page.index("against “")
        assert page.index("against “") < page.index("passphrase")
        await press(pilot, *WORD, "enter")
    assert session.entries[-2].kind == "sign"


async def test_a_long_list_is_turned_over(bench, soak):
    parts = [f"arm {number}" for number in range(1, 10)]
    session = bench.begin(soak, parts)
    await to_hold(bench, session, parts)
    seen = ""
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter", "1")
        assert "* more of the record" in bench.screen()
        assert "passphrase" in bench.screen()
        for _ in range(8):
            seen += bench.screen()
            await press(pilot, "asterisk")
    remarks = session.remarks(c.Do("release", tuple(parts), session.run.n - 1))
    assert len(remarks) == 18
    assert all(f" {one.of}  " in seen for one in remarks)
