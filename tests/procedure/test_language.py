"""The language: what each word of a procedure file compiles to."""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from procedure_pages import errors, loaded
from pydantic import BaseModel

from benchrun.procedure import header_shapes, shapes
from benchrun.procedure.load import examine, load, load_bytes
from benchrun.procedure.parameter import Parameter, ReadingTable, Undetermined
from benchrun.procedure.route import (
    Act,
    Detour,
    Dwell,
    End,
    Guard,
    Head,
    Hold,
    Inspect,
    Kind,
    PlainDo,
    Procedure,
    Reading,
    Signal,
    Step,
    StepOp,
    Tail,
    Witness,
    WorkOut,
)
from benchrun.procedure.yamlread import read_yaml
from benchrun.quantity import read

PAGES = Path(__file__).parent / "pages"
SHIPPED = sorted((Path(__file__).parents[2] / "procedures").glob("*.yaml"))


@pytest.fixture(scope="module")
def whole() -> Procedure:
    return load(PAGES / "every-word.yaml")


def ms(given: Parameter | None) -> int:
    assert given is not None
    return given.milliseconds({})


def step(procedure: Procedure, name: str) -> Step:
    return procedure.route.steps[name]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_procedure_loads_and_bears_the_name_of_its_file(path: Path) -> None:
    assert load(path).id == path.stem


def _keys_of(shape: type[BaseModel]) -> set[str]:
    return set(map(header_shapes.file_key, shape.model_fields))


def _keys_in(part: object) -> Iterator[str]:
    if isinstance(part, dict):
        for key, value in part.items():
            yield key
            yield from _keys_in(value)
    elif isinstance(part, list):
        for one in part:
            yield from _keys_in(one)


def test_the_whole_page_uses_every_key_of_the_language() -> None:
    known: set[str] = set()
    for one in (*vars(shapes).values(), *vars(header_shapes).values()):
        if isinstance(one, type) and issubclass(one, BaseModel) and one is not BaseModel:
            known |= _keys_of(one)
    used = set(_keys_in(read_yaml((PAGES / "every-word.yaml").read_bytes())))
    other_page = {"notice"}  # the signal word; as a key of `witness` it is used
    assert known - used - other_page == set()


def test_the_header_is_kept(whole: Procedure) -> None:
    assert (whole.id, whole.revision, whole.status) == ("every-word", 3, "approved")
    assert whole.dated == "2026-03-01"
    assert whole.use == "step by step"
    assert whole.applies_to == "Axles of the museum's hose trailer."
    assert whole.changes[2] == "3: Coats are counted."
    assert whole.sources["practice"] == "common practice, no source"
    assert whole.batch.part == "arm"
    assert (whole.batch.least, whole.batch.most) == (1, 12)
    assert whole.restore == ("Close the doors of the tub.",)
    assert whole.follow_on == ("Fit the bearings.", "shaft-polish, revision 2")
    assert whole.first_aid[0].startswith("Acid on skin")
    assert whole.content == (PAGES / "every-word.yaml").read_bytes()
    assert len(whole.sha256) == 64


def test_needs_are_kept(whole: Procedure) -> None:
    needs = whole.needs
    assert needs.protection == ("face shield", "gauntlets")
    assert needs.tools == ("soft drift", "2 × spanning bar")
    assert needs.supplies == ("clean rag", "primer", "etching acid, 2 l")
    assert needs.before_start == ("The eyewash runs clear.",)
    gauge, thermometer = needs.instruments
    assert (gauge.reach, gauge.resolution) == ("50 to 160 mm", "0.001 mm")
    assert (gauge.uncertainty, gauge.calibrated) == ("0.003 mm", True)
    assert thermometer.name == "bath thermometer"


def test_the_worst_hazard_stands_first(whole: Procedure) -> None:
    assert [one.signal for one in whole.hazards] == [Signal.DANGER, Signal.WARNING]
    assert whole.hazards[0].codes == ("H314", "P280", "P305+P351+P338")


def test_a_caution_of_the_stage_stands_before_its_first_step(whole: Procedure) -> None:
    assert [one.hazard for one in step(whole, "photo").cautions] == [
        "Hardened rings shed splinters under a blow."
    ]
    assert step(whole, "seat-bore").cautions == ()


def test_a_hazard_is_shown_again_where_a_step_names_it(whole: Procedure) -> None:
    assert step(whole, "etch").cautions == (whole.hazards[0],)


def test_what_every_step_may_have_is_kept(whole: Procedure) -> None:
    photo = step(whole, "photo")
    assert photo.kind is Kind.DO
    assert isinstance(photo.detail, PlainDo)
    assert photo.number == 1
    assert photo.stage == "As found"
    assert photo.why == "Numbers are lost under paint."
    assert photo.who == "restorer"
    assert photo.drawing == "figures/seat.svg"
    assert photo.lessons == ("Wipe the numbers before the photograph.",)
    assert step(whole, "rinse").critical


def test_a_grid_is_measured_plane_by_plane(whole: Procedure) -> None:
    bore = step(whole, "seat-bore").detail
    assert isinstance(bore, Reading)
    assert bore.places == ("A 0°", "A 90°", "B 0°", "B 90°")
    first = whole.route.index["seat-bore"]
    stands = [whole.route.step_at(index) for index in range(first, first + 4)]
    assert [one.place if one else None for one in stands] == list(bore.places)


def test_a_reading_keeps_what_judges_it(whole: Procedure) -> None:
    bore = step(whole, "seat-bore").detail
    assert isinstance(bore, Reading)
    assert (bore.name, bore.unit, bore.instrument) == ("bore", "mm", "bore gauge")
    assert bore.resolution == Decimal("0.01")
    assert bore.high is not None
    assert str(bore.high.number({})) == "61.979"  # ISO 286-2, 62 P7
    assert [one.act for one in bore.outside] == [Act.ASIDE, Act.SCRAP]
    assert [(one.act, one.most) for one in bore.doubt] == [(Act.AGAIN, 2), (Act.ASIDE, None)]


def test_places_may_be_named_and_measured_more_than_once(whole: Procedure) -> None:
    wall = step(whole, "wall").detail
    assert isinstance(wall, Reading)
    assert wall.places == ("left mark (1)", "left mark (2)", "right mark (1)", "right mark (2)")
    assert (wall.outside[0].act, wall.outside[0].to) == (Act.AWAY, "the welder")


def test_a_worked_out_value_has_its_formula_and_limits(whole: Procedure) -> None:
    mean = step(whole, "bore-mean").detail
    assert isinstance(mean, WorkOut)
    assert (mean.name, mean.formula.text) == ("mean_bore", "mean(bore)")
    assert mean.outside[0].act is Act.ASIDE
    widest = step(whole, "widest")
    assert widest.together
    assert isinstance(widest.detail, WorkOut)
    assert widest.detail.outside[0].act is Act.STOP


def test_findings_have_their_consequences(whole: Procedure) -> None:
    look = step(whole, "crack-look").detail
    assert isinstance(look, Inspect)
    assert look.name == "cracks"
    none_seen, crack, not_sure = look.findings
    assert none_seen.plain
    assert crack.consequences[0].act is Act.SCRAP
    rework = not_sure.consequences[0]
    assert (rework.act, rework.to, rework.most) == (Act.REWORK, "photo", 2)


def test_a_dwell_keeps_its_times(whole: Procedure) -> None:
    etch = step(whole, "etch").detail
    assert isinstance(etch, Dwell)
    assert etch.vessel == "tub"
    assert whole.route.vessels["tub"].capacity == 3
    assert isinstance(etch.least, ReadingTable)
    (bath,) = etch.least.reads
    assert etch.least.milliseconds({bath: read("20 C", "degC")}) == 15 * 60_000
    with pytest.raises(Undetermined, match="the table goes from"):
        etch.least.milliseconds({bath: read("14 C", "degC")})
    assert (ms(etch.aim), ms(etch.most)) == (22 * 60_000, 30 * 60_000)
    assert (ms(etch.tend_every), etch.tend) == (120_000, "Brush solution over dry patches.")
    assert [one.act for one in etch.early] == [Act.AGAIN, Act.GO_ON]
    assert [one.act for one in etch.late] == [Act.ASIDE, Act.GO_ON]
    assert etch.adds_up
    rack = step(whole, "rack").detail
    assert isinstance(rack, Dwell)
    assert (rack.vessel, rack.place) == ("", "the drying room")


def test_meanwhile_steps_stand_right_after_their_dwell(whole: Procedure) -> None:
    assert step(whole, "lay-out").ahead_of == "etch"
    assert whole.route.index["lay-out"] == whole.route.index["etch"] + 1


def test_a_window_belongs_to_the_later_step(whole: Procedure) -> None:
    window = step(whole, "rinse").window
    assert window is not None
    assert (window.after, window.least, ms(window.most)) == (("etch",), None, 60_000)
    assert (window.late[0].act, window.late[0].to) == (Act.REWORK, "etch")


def test_what_is_done_first_when_late_stands_before_the_step(whole: Procedure) -> None:
    window = step(whole, "coat").window
    assert window is not None
    first = window.late[0]
    assert (first.act, first.to, first.most) == (Act.DETOUR, "scuff", 3)
    at = whole.route.index["scuff"] - 1
    detour = whole.route.ops[at]
    assert isinstance(detour, Detour)
    assert detour.step == "coat"
    assert detour.past == whole.route.index["coat"]


def test_if_and_otherwise_are_two_guards(whole: Procedure) -> None:
    index = whole.route.index
    guard, other = (
        whole.route.ops[index["mark-wide"] - 1],
        whole.route.ops[index["mark-narrow"] - 1],
    )
    assert isinstance(guard, Guard)
    assert isinstance(other, Guard)
    assert guard.past == index["mark-wide"] + 1
    known = {"cracks": "none seen", "mean_bore": read("62 mm", "mm")}
    assert guard.condition.value(known) is True
    assert other.condition.value(known) is False


def test_a_choice_is_an_inspection_and_a_guard_for_each_way(whole: Procedure) -> None:
    choice = step(whole, "drying").detail
    assert isinstance(choice, Inspect)
    assert [one.name for one in choice.findings] == ["warm air", "rest"]
    assert all(one.plain for one in choice.findings)
    guard = whole.route.ops[whole.route.index["blow"] - 1]
    assert isinstance(guard, Guard)
    assert guard.condition.value({"way_dried": "warm air"}) is True
    assert guard.condition.value({"way_dried": "rest"}) is False


def test_steps_in_any_order_share_a_group(whole: Procedure) -> None:
    assert step(whole, "sweep").any_order == step(whole, "wipe").any_order == "bench"
    assert step(whole, "rinse").any_order == ""


def test_standing_conditions_hold_from_step_to_step(whole: Procedure) -> None:
    assert step(whole, "widest").standing == ("The extraction fan runs.",)
    assert step(whole, "bath").standing == ()
    assert step(whole, "coat").standing == ("The air is dry.",)


def test_a_repeat_has_a_head_a_tail_and_its_steps_within(whole: Procedure) -> None:
    route = whole.route
    head = next(index for index, op in enumerate(route.ops) if isinstance(op, Head))
    op = route.ops[head]
    assert isinstance(op, Head)
    tail = route.ops[op.tail]
    assert isinstance(tail, Tail)
    assert (tail.head, tail.least, tail.most) == (head, 2, 4)
    assert tail.until is not None
    assert tail.until.text == "film >= 60 µm"
    assert route.within[head] == ()
    assert route.within[route.index["coat"]] == (head,)
    assert route.within[op.tail] == (head,)


def test_a_witness_is_waited_for_no_longer_than_the_notice(whole: Procedure) -> None:
    told = step(whole, "told").detail
    assert isinstance(told, Witness)
    assert ms(told.least) == 2 * 3_600_000
    assert told.early[0].act is Act.GO_ON


def test_a_hold_says_what_is_signed_and_by_whom(whole: Procedure) -> None:
    hold = step(whole, "shown").detail
    assert isinstance(hold, Hold)
    assert hold.role == "checker"
    assert hold.says == "I looked at every face and found it covered."
    assert hold.other
    assert hold.after_hours == 12


def test_another_procedure_is_named_with_its_revision(whole: Procedure) -> None:
    polished = step(whole, "polished")
    assert (polished.carries_out, polished.carries_revision) == ("shaft-polish", 2)
    assert "shaft-polish, revision 2" in polished.text


def test_tools_are_counted_back_and_the_release_ends_the_route(whole: Procedure) -> None:
    counted, release = step(whole, "tools-counted"), step(whole, "release")
    assert counted.together
    assert "2 × spanning bar" in counted.text
    assert isinstance(release.detail, Hold)
    assert (release.detail.role, release.detail.says) == ("restorer", "I release the parts.")
    assert isinstance(whole.route.ops[-1], End)
    assert whole.route.index["release"] == len(whole.route.ops) - 2


def test_numbers_follow_the_reading_order(whole: Procedure) -> None:
    steps = list(whole.route.steps.values())
    assert [one.number for one in steps] == list(range(1, len(steps) + 1))
    assert sorted(whole.route.index.values()) == [whole.route.index[one.id] for one in steps]


def test_every_index_of_a_step_is_its_first_stand(whole: Procedure) -> None:
    for name, index in whole.route.index.items():
        stand = whole.route.ops[index]
        assert isinstance(stand, StepOp)
        assert stand.step.id == name


def test_bytes_compile_to_the_same_procedure_as_their_file() -> None:
    path = PAGES / "every-word.yaml"
    assert load_bytes(path.read_bytes(), "copy") == load(path)


def test_a_step_without_an_id_is_called_after_its_words() -> None:
    procedure = loaded("- do: Wipe the bore clean with a rag.")
    assert list(procedure.route.steps) == ["wipe-the-bore-clean"]


def test_values_stay_as_written_whatever_yaml_makes_of_them() -> None:
    procedure = loaded(
        "- inspect: Look.\n  id: look\n  findings: {no: go on, 1:30: scrap, 1e3: go on}"
    )
    detail = procedure.route.steps["look"].detail
    assert isinstance(detail, Inspect)
    assert [one.name for one in detail.findings] == ["no", "1:30", "1e3"]


@pytest.mark.parametrize(
    ("text", "milliseconds"),
    [("90 s", 90_000), ("1.5 h", 5_400_000), ("1 h 30 min", 5_400_000), ("2 days", 172_800_000)],
)
def test_times_are_written_as_people_write_them(text: str, milliseconds: int) -> None:
    procedure = loaded(f"- dwell: Wait.\n  least: {text}")
    detail = procedure.route.steps["wait"].detail
    assert isinstance(detail, Dwell)
    assert ms(detail.least) == milliseconds


@pytest.mark.parametrize(
    "text", ["10", "10 minuts", "30 min 1 h", "0 s", "-3 s", "1e9 d", "0.1 ms"]
)
def test_what_is_no_time_is_refused(tmp_path: Path, text: str) -> None:
    assert "no length of time" in errors(tmp_path, f"- dwell: Wait.\n  least: {text}")[0]


def test_the_whole_page_is_without_errors() -> None:
    assert [one.text for one in examine(PAGES / "every-word.yaml").problems if not one.advice] == []


PASSED_OVER = """
procedure: trial
title: Trial
revision: 1
scope: Invented, for tests.
batch: {part: arm}
stages:
  - stage: First
    steps:
      - inspect: Look at it.
        id: look
        findings: {wet: go on, dry: go on}
      - do: Rest it.
        id: rest
  - stage: Acid
    cautions: [{warning: Acid burns., then: Burns., avoid: Gloves.}]
    steps:
"""


@pytest.mark.parametrize(
    ("steps", "warned"),
    [
        (
            'if: look is "wet"\n  steps: [{do: A., id: a}, {do: B., id: b}]\n'
            "  otherwise: [{do: C., id: c}]\n- {do: D., id: d}\n- {do: E., id: e}",
            ["a", "c", "d"],
        ),
        (
            "any order: Both\n  steps: [{do: A., id: a}, {do: B., id: b}]\n- {do: C., id: c}",
            ["a", "b"],
        ),
        (
            "do: A.\n  id: a\n  window:\n    after: rest\n    most: 1 h\n"
            "    late: [{first: [{do: B., id: b}], at most: 1}, set aside]\n- {do: C., id: c}",
            ["b", "a"],
        ),
        ("repeat: Coats\n  at least: 2\n  steps: [{do: A., id: a}, {do: B., id: b}]", ["a"]),
    ],
)  # fmt: skip
def test_no_way_into_a_stage_leads_past_its_cautions(steps: str, warned: list[str]) -> None:
    body = ("- " + steps).replace("\n", "\n      ")
    procedure = load_bytes(f"{PASSED_OVER}      {body}\n".encode(), "trial.yaml")
    found = [one.id for one in procedure.route.steps.values() if one.cautions]
    assert found == warned
