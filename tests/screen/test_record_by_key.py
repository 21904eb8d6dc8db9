"""The record of a closed run is written to be handed over without a command line."""

from screen_bench import press, show_run, until

JOB = """\
procedure: wipe-it
title: Wipe it
revision: 1
status: draft
scope: One part. Invented.
batch: {part: bracket, at most: 3}
stages:
  - stage: All
    steps:
      - {do: Wipe the part., id: wipe}
"""


async def test_a_key_on_the_page_of_a_closed_run_writes_its_record_as_a_page(bench, tmp_path):
    (tmp_path / "wipe.yaml").write_text(JOB)
    session = bench.begin(tmp_path / "wipe.yaml", ["bracket"])
    async with bench.app.run_test(size=(120, 40)) as pilot:
        await show_run(bench.app, session)
        await press(pilot, "enter")
        await until(bench, "Close the run")
        await press(pilot, "enter", "1", *"1234", "enter")
        await until(bench, "Write it to hand over")
        await press(pilot, "1")
        await until(bench, "Written to")
    written = bench.shop.path / "reports" / f"{session.folder.run}.html"
    assert written.read_text().lower().startswith("<!doctype html>")
    assert "Wipe the part." in written.read_text()
