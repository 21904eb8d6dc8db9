"""The wants of an evening: open runs and ready parts against the books, with what is short."""

import pytest
from jobs_shop import MINUTE, JobShop

from benchrun.cli import main
from benchrun.jobs.evening_needs import evening_needs, lacks_something, work_ahead_of
from benchrun.run import commands as c
from benchrun.shopkeeping.pages import sheet_text


@pytest.fixture
def job(tmp_path):
    return JobShop(tmp_path)


def told(job):
    return " ".join(sheet_text(evening_needs(job.shop, job.now)).split())


def supplies(job, text):
    (job.shop.path / "supplies.yaml").write_text(f"supplies:\n{text}")


def test_parts_that_are_ready_count_with_all_that_their_procedure_uses(job):
    text = told(job)
    assert "Wash arms, 4 parts ready" in text
    assert "washing fluid: 200 ml; left: fluid-1 1 l" in text
    assert "all is there" in text
    assert not lacks_something(evening_needs(job.shop, job.now))


def test_what_an_open_run_has_used_is_left_out_and_what_is_short_is_counted(job):
    supplies(job, "  - {id: fluid-1, name: washing fluid, amount: 300 ml}\n")
    wash = job.begin("wash-arms", "arm-1", "arm-2", "arm-3", "arm-4", tag="wash")
    assert "washing fluid: 200 ml; left: fluid-1 300 ml" in told(job)
    job.give(wash, c.PutIn("soak", ("arm-1", "arm-2"), wash.run.n))
    assert "washing fluid: 100 ml; left: fluid-1 200 ml" in told(job)
    supplies(job, "  - {id: fluid-1, name: washing fluid, amount: 60 ml}\n")
    text = told(job)
    assert "40 ml washing fluid: 100 ml wanted, 60 ml in fluid-1" in text
    assert lacks_something(evening_needs(job.shop, job.now))


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (
            "{id: fluid-1, name: washing fluid, amount: 1 l, best before: 2026-11-20}",
            "200 ml washing fluid: no container is good for it (fluid-1 was good until 2026-11-20)",
        ),
        (
            "{id: fluid-1, name: washing fluid, amount: 1 l, best before: 2026-12-01}",
            "washing fluid (fluid-1): good until 2026-12-01",
        ),
        ("{id: oil-1, name: oil, amount: 1 l}", "NOT IN THE STOCK BOOK"),
        ("{id: fluid-1, name: washing fluid, amount: 4}", "left: fluid-1 4"),
    ],
)
def test_containers_that_are_spoiled_end_soon_or_are_missing_are_told(job, row, words):
    supplies(job, f"  - {row}\n")
    assert words in told(job)


def test_gauges_that_are_due_or_unknown_are_told(job):
    book = job.shop.path / "instruments.yaml"
    book.write_text(book.read_text().replace("2027-03-01", "2026-12-01"))
    assert "caliper (caliper-1) is due by 2026-12-01" in told(job)
    book.write_text(book.read_text().replace("2026-12-01", "2026-11-01"))
    assert "caliper (caliper-1) is past its calibration date, 2026-11-01" in told(job)
    book.write_text("instruments:\n  - {id: rule, name: rule, range: 0 to 300 mm}\n")
    assert "not in instruments.yaml: caliper" in told(job)


def test_ovens_and_set_up_steps_of_the_work_ahead_are_to_be_made_ready_first(job):
    file = job.shop.path / "procedures" / "wash-arms.yaml"
    text = file.read_text().replace("{title: etch tub, holds: 4}", "{title: oven, heated: yes}")
    steps = "    steps:\n      - {do: Stir the bath., id: stir, set up: yes}\n"
    file.write_text(text.replace("    steps:\n", steps, 1))
    text = told(job)
    assert "oven: Wash arms" in text
    assert "Stir the bath: Wash arms, step 1" in text


def test_a_shop_that_keeps_nothing_and_one_without_work_say_so(job):
    supplies(job, "  []\n".replace("  ", " "))
    (job.shop.path / "supplies.yaml").write_text("")
    assert "supplies.yaml lists nothing" in told(job)
    (job.shop.path / "routes.yaml").write_text("")
    (job.shop.path / "parts.yaml").write_text("")
    assert "No run is open, and no part is ready" in told(job)


def test_a_procedure_of_a_route_that_cannot_be_read_is_told_and_the_others_stand(job):
    (job.shop.path / "procedures" / "coat-arms.yaml").write_text("procedure: coat-arms\n")
    wash = job.washed({"arm-1": "11"})
    job.clock.wait(MINUTE)
    works, lost = work_ahead_of(job.shop, job.now)
    assert [work.is_open for work in works] == [True, False]
    assert lost
    assert lost[0].startswith("coat-arms: ")
    del wash


def test_the_command_prints_writes_and_says_by_its_code_whether_something_lacks(
    job, tmp_path, capsys
):
    place = ("--shop", str(job.shop.path))
    to = tmp_path / "evening.txt"
    assert main([*place, "ready", "--evening"]) == 0
    assert "Before the evening" in capsys.readouterr().out
    assert main([*place, "ready", "--evening", "--to", str(to)]) == 0
    assert "Wash arms" in to.read_text()
    assert main([*place, "ready", "--evening", "--to", str(tmp_path / "e.html")]) == 0
    supplies(job, "  - {id: oil-1, name: oil, amount: 1 l}\n")
    assert main([*place, "ready", "--evening"]) == 1
    capsys.readouterr()
    assert main([*place, "ready"]) == 2
    assert "--evening" in capsys.readouterr().err
    assert main([*place, "ready", "wash-arms", "--evening"]) == 2
