"""A counted stroke is one key: the number of what is found says that it was made, too."""

import pytest
from screen_bench import press, show_run

JOB = """\
procedure: stroke-job
title: Strokes
revision: 1
status: draft
scope: Some parts. Invented.
batch: {part: shell, at most: 3}
stages:
  - stage: All
    steps:
      - repeat: Strokes
        id: strokes
        at least: 1
        at most: 60
        until: stands is "out"
        steps:
          - do: Move the shell by 2 mm.
            id: move
          - inspect: Look at how it stands.
            id: stands
            findings:
              square: go on
              tilted: go on
              out: go on
      - do: Wipe it.
        id: wipe
"""


@pytest.fixture
def strokes(tmp_path):
    path = tmp_path / "strokes.yaml"
    path.write_text(JOB)
    return path


async def test_three_strokes_cost_three_keys(bench, strokes):
    session = bench.begin(strokes, ["a"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        assert "done, and 2  Look at how it stands." in bench.screen()
        assert "Enter done" in bench.screen()
        await press(pilot, "1", "2", "3")
        assert "Wipe it." in bench.screen()
    found = [one.data for one in session.entries if one.kind == "do"]
    assert [one.step for one in found] == ["move", "stands"] * 3
    words = [one.each["a"].value.word for one in found if one.step == "stands"]
    assert words == ["square", "tilted", "out"]


async def test_enter_still_says_the_stroke_alone(bench, strokes):
    session = bench.begin(strokes, ["a"])
    async with bench.app.run_test(size=(80, 24)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter")
        assert session.entries[-1].data.step == "move"
        await press(pilot, "3")
    assert [one.data.step for one in session.entries if one.kind == "do"] == ["move", "stands"]
