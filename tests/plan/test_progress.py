"""Parts on their routes: done, next and held by the runs alone; begun from the board by Enter."""

import pytest

from benchrun.board import parts_in_work
from benchrun.dialogue.new_run import NewRun
from benchrun.plan.progress import (
    parts_progress,
    parts_to_follow_on,
    progress_text,
    ready_parts,
)
from benchrun.procedure.load import load
from benchrun.record.clock import VirtualClock
from benchrun.run.commands import Correct, Do, Put
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.shop.books import read_books
from benchrun.shop.parts import read_parts
from benchrun.shop.routes import read_routes
from benchrun.shopkeeping.overview import shop_words
from benchrun.signing_keys import enrol, new_shop

JOB = """\
procedure: {id}
title: {title}
revision: 1
status: draft
scope: Arms. Invented.
batch: {{part: arm, at most: 2}}
stages:
  - stage: All
    steps:
      - {{do: Wipe the arm., id: wipe}}
"""
PARTS = """\
parts:
  - {id: arm-1, name: arm, route: arm}
  - {id: arm-2, name: arm, route: arm}
  - {id: arm-3, name: arm, route: arm}
  - {id: knob, name: knob}
"""
ROUTES = """\
routes:
  - id: arm
    procedures: [wash-arms, coat-arms]
    if scrapped: find-arms
"""


class Shop:
    """A shop with arms that are washed, then coated."""

    def __init__(self, folder):
        self.clock = VirtualClock("2026-11-25T14:02:00.000Z", up_ms=3_600_000, name="routes")
        self.shop = new_shop(folder / "shop", "Ropewalk shop", self.clock.now())
        self.person = enrol(self.shop, "Ada Brook", self.clock.now(), passphrase="1234")
        (self.shop.path / "parts.yaml").write_text(PARTS)
        (self.shop.path / "routes.yaml").write_text(ROUTES)
        self.files = {}
        for name in ("wash-arms", "coat-arms"):
            self.files[name] = folder / f"{name}.yaml"
            self.files[name].write_text(JOB.format(id=name, title=name.replace("-", " ").title()))

    def begin(self, name, *tags, tag="aaaa"):
        specs = [PartSpec(one) for one in tags]
        return begin(self.shop, load(self.files[name]), specs, self.person, self.clock, tag=tag)

    def give(self, session, command):
        session.send(command).result()
        session.tick().result()

    def progress(self):
        return parts_progress(self.shop, parts_in_work(self.shop))


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


def test_before_any_run_the_first_procedure_is_next_for_every_part_with_a_route(shop):
    assert ready_parts(shop.progress()) == {"wash-arms": ("arm-1", "arm-2", "arm-3")}


def test_what_a_run_finished_is_done_and_what_it_has_in_work_is_held(shop):
    session = shop.begin("wash-arms", "arm 1", "arm 2")
    shop.give(session, Do("wipe", ("arm 1",), seen=session.run.n - 1))
    known = {one.part.id: one for one in shop.progress()}
    assert (known["arm-1"].done, known["arm-1"].next) == (("wash-arms",), "coat-arms")
    assert known["arm-2"].held.startswith("in work in the open run")
    assert known["arm-2"].next == ""
    assert ready_parts(known.values()) == {"coat-arms": ("arm-1",), "wash-arms": ("arm-3",)}


def test_a_scrapped_part_is_held_and_told_what_finds_another(shop):
    session = shop.begin("wash-arms", "arm 1")
    shop.give(session, Put(("arm 1",), session.run.n - 1, "scrap", "cracked"))
    text = progress_text(shop.progress())
    assert "find-arms finds another" in text
    assert "arm-1" not in ready_parts(shop.progress()).get("wash-arms", ())


def test_the_batch_offers_the_parts_whose_turn_it_is_as_many_as_it_takes(shop):
    new = NewRun(shop.shop, load(shop.files["wash-arms"]), shop.clock.now, shop.person)
    flow, prompt = new.ask(), None
    turn = next(flow)
    while prompt is None:
        if getattr(turn, "title", "").startswith("The batch for"):
            prompt = turn
        elif hasattr(turn, "work"):
            turn.work()
            turn = flow.send(None)
        else:
            turn = flow.send(True)
    assert prompt.tags == ("arm-1", "arm-2", "arm-3")
    assert prompt.chosen == ("arm-1", "arm-2")
    assert prompt.said.startswith("3 parts are ready for it by their routes; 1 to 2 at a time.")


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("  - {id: arm}\n", "a route needs one at least"),
        ("  - {id: arm, procedures: [a-b, a-b]}\n", "a-b is in the route twice"),
    ],
)
def test_a_route_that_will_not_do_is_told_with_its_place(shop, rows, said):
    (shop.shop.path / "routes.yaml").write_text("routes:\n" + rows)
    faults = read_routes(shop.shop).faults
    assert said in faults[0].text
    assert faults[0].line == 2


def test_without_a_route_nothing_is_told_but_how_to_name_one(shop):
    (shop.shop.path / "routes.yaml").write_text("")
    assert "name one of routes.yaml" in progress_text(shop.progress())


@pytest.mark.parametrize(
    ("routes", "parts", "said"),
    [
        (
            "  - {id: arm, procedures: [wash-arm, coat-arms]}\n",
            "",
            "routes.yaml: arm: wash-arm is no procedure: did you mean 'wash-arms'?",
        ),
        (
            "  - {id: arm, procedures: [wash-arms, old-arms]}\n",
            "",
            "routes.yaml: arm: old-arms is withdrawn: name its successor",
        ),
        (
            "  - {id: arm, procedures: [wash-arms], if scrapped: find-arms}\n",
            "",
            "routes.yaml: arm: find-arms is no procedure",
        ),
        (
            "  - {id: arm, procedures: [wash-arms, coat-arms], if scrapped: wash-arms}\n",
            "",
            "a spare that fails would ask for itself",
        ),
        (
            "  - {id: arms, procedures: [wash-arms]}\n",
            "",
            "parts.yaml: arm-1 goes by arm, which is no route: did you mean 'arms'?",
        ),
        (
            "  - {id: arm, procedures: [wash-arms]}\n",
            "  - {id: rod, name: rod, own route: [wash-rods]}\n",
            "parts.yaml: rod: wash-rods is no procedure",
        ),
        (
            "  - {id: arm, procedures: [wash-arms]}\n",
            "  - {id: rod, name: rod, replaces: lug}\n  - {id: lug, name: lug, replaces: rod}\n",
            "parts.yaml: rod replaces itself in the end, by lug",
        ),
    ],
)
def test_names_in_routes_that_lead_nowhere_are_told_once_with_their_place(
    shop, routes, parts, said
):
    for name, file in shop.files.items():
        (shop.shop.path / "procedures" / f"{name}.yaml").write_text(file.read_text())
    old = JOB.format(id="old-arms", title="Old").replace("status: draft", "status: withdrawn")
    (shop.shop.path / "procedures" / "old-arms.yaml").write_text(old)
    (shop.shop.path / "routes.yaml").write_text("routes:\n" + routes)
    (shop.shop.path / "parts.yaml").write_text(PARTS + parts)
    found = [words for words in read_books(shop.shop).loose_ends if said in words]
    assert len(found) == 1, read_books(shop.shop).loose_ends
    told, fine = shop_words(shop.shop)
    assert not fine
    assert said in told


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("{id: rod, name: rod, route: arm, own route: [wash-arms]}", "has the route arm as well"),
        ("{id: rod, name: rod, own route: [wash-arms, wash-arms]}", "wash-arms is in it twice"),
        ("{id: rod, name: rod, size: 0}", "must be a whole number from 1"),
        ("{id: rod, name: rod, own route: [Wash arms]}", "own route"),
    ],
)
def test_a_part_whose_own_route_or_size_will_not_do_is_told_with_its_line(shop, row, said):
    (shop.shop.path / "parts.yaml").write_text(f"parts:\n  - {row}\n")
    faults = read_parts(shop.shop).faults
    assert said in faults[0].text
    assert faults[0].line == 2


def test_a_part_goes_by_its_own_route_and_waits_where_the_tub_is_too_small_for_it(shop):
    text = JOB.format(id="soak-arms", title="Soak").replace(
        "stages:", "vessels: {tub: {title: etch tub, holds: 6}}\nstages:"
    )
    dwell = (
        "      - {dwell: Soak it., id: soak, in: tub, least: 1 min, most: 2 min, late: [go on]}\n"
    )
    (shop.shop.path / "procedures" / "soak-arms.yaml").write_text(text + dwell)
    (shop.shop.path / "vessels.yaml").write_text(
        "vessels:\n  - {id: tub, name: etch tub, holds: 4}\n"
    )
    (shop.shop.path / "parts.yaml").write_text(
        "parts:\n  - {id: rod, name: rod, own route: [soak-arms]}\n"
        "  - {id: frame, name: frame, size: 5, own route: [soak-arms]}\n"
    )
    known = {one.part.id: one for one in shop.progress()}
    assert known["rod"].next == "soak-arms"
    assert known["frame"].held == "takes room for 5; the etch tub holds 4"
    assert ready_parts(known.values()) == {"soak-arms": ("rod",)}


LOOK = """\
procedure: look-arms
title: Look arms over
revision: 1
status: draft
scope: Arms. Invented.
batch: {part: arm, at most: 2}
stages:
  - stage: All
    steps:
      - inspect: Look for cracks.
        id: cracks
        findings:
          none: go on
          not sure: [set aside, go on]
"""
OTHER_WAY = """\
routes:
  - id: arm
    procedures: [look-arms, coat-arms]
    if found:
      - {finding: not sure, in: look-arms, go on with: [wash-arms, coat-arms]}
"""


def looked_over(shop):
    (shop.shop.path / "routes.yaml").write_text(OTHER_WAY)
    shop.files["look-arms"] = shop.shop.path / "look-arms.yaml"
    shop.files["look-arms"].write_text(LOOK)
    session = shop.begin("look-arms", "arm 1", "arm 2", tag="look")
    shop.give(session, Do("cracks", ("arm 1",), session.run.n - 1, finding="none"))
    shop.give(session, Do("cracks", ("arm 2",), session.run.n - 1, finding="not sure"))
    return session


def test_a_finding_sends_a_part_another_way_and_a_correction_brings_it_back(shop):
    session = looked_over(shop)
    known = {one.part.id: one for one in shop.progress()}
    assert (known["arm-1"].done, known["arm-1"].remaining) == (("look-arms",), ("coat-arms",))
    assert known["arm-2"].remaining == ("wash-arms", "coat-arms")
    assert known["arm-2"].found == "not sure, in look-arms"
    assert known["arm-3"].remaining == ("look-arms", "coat-arms")
    assert "found: not sure, in look-arms" in progress_text(known.values())
    entry = next(v.n for v in session.run.markers["arm 2"].values.values() if v.word == "not sure")
    shop.give(session, Correct(entry, "arm 2", "looked again", finding="none"))
    back = next(one for one in shop.progress() if one.part.id == "arm-2")
    assert (back.remaining[-1], back.found) == ("coat-arms", "")


def test_what_is_done_on_the_other_way_counts_from_the_finding_on(shop):
    session = looked_over(shop)
    shop.give(session, Put(("arm 2",), session.run.n - 1, "aside", "to be washed first"))
    session.leave()
    washed = shop.begin("wash-arms", "arm 2", tag="wash")
    shop.give(washed, Do("wipe", ("arm 2",), seen=washed.run.n - 1))
    one = next(one for one in shop.progress() if one.part.id == "arm-2")
    assert one.remaining == ("coat-arms",)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{finding: not sure, go on with: []}", "name the procedures from there on"),
        ("{finding: not sure, go on with: [a-b, a-b]}", "go on with: a-b is in it twice"),
        ("{go on with: [a-b]}", "has no finding"),
        ("{finding: x, then: [a-b], go on with: [a-b]}", "then"),
    ],
)
def test_another_way_that_will_not_do_is_told_with_its_line(shop, line, said):
    text = f"routes:\n  - id: arm\n    procedures: [wash-arms]\n    if found:\n      - {line}\n"
    (shop.shop.path / "routes.yaml").write_text(text)
    faults = read_routes(shop.shop).faults
    assert any(said in fault.text and fault.line == 5 for fault in faults), faults


def test_another_way_that_names_no_procedure_is_told(shop):
    (shop.shop.path / "routes.yaml").write_text(
        OTHER_WAY.replace("[wash-arms, coat-arms]", "[wash-arm, coat-arms]")
    )
    ends = read_books(shop.shop).loose_ends
    assert sum("routes.yaml: arm: wash-arm is no procedure" in words for words in ends) == 1


def test_parts_without_a_route_are_offered_what_follows_on_what_they_finished(shop):
    text = JOB.format(id="wash-arms", title="Wash Arms")
    shop.files["wash-arms"].write_text(
        f"{text}close:\n  follow on: [Coat it., {{procedure: coat-arms}}]\n"
    )
    (shop.shop.path / "parts.yaml").write_text(
        "parts:\n  - {id: rod-1, name: rod}\n  - {id: rod-2, name: rod}\n"
        "  - {id: arm-1, name: arm, route: arm}\n"
    )
    session = shop.begin("wash-arms", "rod 1", "rod 2")
    shop.give(session, Do("wipe", ("rod 1",), seen=session.run.n - 1))
    assert parts_to_follow_on(shop.shop, parts_in_work(shop.shop)) == {"coat-arms": ("rod-1",)}
    shop.give(session, Put(("rod 2",), session.run.n - 1, "scrap", "bent"))
    assert parts_to_follow_on(shop.shop, parts_in_work(shop.shop)) == {"coat-arms": ("rod-1",)}
    assert "coat-arms" not in ready_parts(shop.progress())
