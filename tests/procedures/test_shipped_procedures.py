"""Each procedure that ships is clean, complete, and says where its figures come from."""

import re

import pytest
from shipped import FIGURE, FILES, IDS, ROOT, maps, procedure, raw

from benchrun.procedure.report import check_files
from benchrun.procedure.route import Dwell, Hold, Inspect, Reading

TOPICS = {
    "hub-bearing-removal",
    "degrease-and-filter",
    "dry-blasting",
    "wet-blasting",
    "dye-penetrant-inspection",
    "acid-etch-in-loads",
    "rinse-and-force-dry",
    "brush-coats",
    "beam-coating-and-wax",
    "stuck-piston-release",
    "cylinder-bore-inspection",
    "plating-send-out",
    "bearing-seat-and-fitting",
    "bush-and-joint-fitting",
    "end-float-and-shims",
    "torque-tightening",
    "spare-part-matching",
    "spring-and-damper-handling",
    "degrease-etch-coat",
    "brake-hydraulics-rebuild",
    "nut-set-bearings",
    "brake-pipes-and-bleeding",
    "thread-and-stud-repair",
    "king-pins-and-ball-joints",
    "magnetic-particle-and-hardness",
    "weld-repair-of-frames",
    "leaf-torsion-and-rubber-springs",
    "discs-drums-linings",
    "alignment-and-brake-test",
}
_WORDS_OF_STEPS = ("do", "dwell", "reading", "inspect", "hold", "work out", "witness")


def test_every_job_of_the_trade_has_its_procedure() -> None:
    assert set(IDS) >= TOPICS


def test_check_finds_no_error_and_leaves_no_advice() -> None:
    text, code = check_files(FILES, advice="count")
    assert code == 0, text


@pytest.mark.parametrize("name", IDS)
def test_a_procedure_has_all_that_a_person_needs_before_the_first_step(name: str) -> None:
    whole = procedure(name)
    assert whole.id == name
    assert whole.scope
    assert whole.applies_to
    assert whole.changes
    assert whole.first_aid
    assert whole.needs.protection
    assert whole.needs.tools or whole.needs.instruments
    assert whole.needs.before_start
    assert whole.restore
    assert whole.follow_on
    assert whole.batch.identity


@pytest.mark.parametrize("name", IDS)
def test_a_procedure_works_measures_judges_and_is_signed(name: str) -> None:
    details = {type(step.detail) for step in procedure(name).route.steps.values()}
    assert details >= {Inspect, Hold}
    assert details & {Reading, Dwell}
    released = procedure(name).route.steps["release"]
    assert isinstance(released.detail, Hold)


@pytest.mark.parametrize("name", ["hub-bearing-removal", "degrease-etch-coat"])
def test_all_six_kinds_of_step_stand_in_the_two_first_procedures(name: str) -> None:
    kinds = {str(step.kind) for step in procedure(name).route.steps.values()}
    assert kinds == {"do", "dwell", "reading", "inspect", "hold", "work out"}


@pytest.mark.parametrize("name", IDS)
def test_every_hazard_says_consequence_avoidance_and_source(name: str) -> None:
    whole = procedure(name)
    assert whole.hazards
    for hazard in (*whole.hazards, *(c for s in whole.route.steps.values() for c in s.cautions)):
        assert hazard.consequence, hazard.hazard
        assert hazard.avoidance, hazard.hazard
        assert hazard.source, hazard.hazard


@pytest.mark.parametrize("name", IDS)
def test_every_hazard_stands_again_before_a_step(name: str) -> None:
    whole = procedure(name)
    shown = {c.hazard for step in whole.route.steps.values() for c in step.cautions}
    assert [one.hazard for one in whole.hazards if one.hazard not in shown] == []


@pytest.mark.parametrize("name", IDS)
def test_cautions_of_a_stage_stand_before_a_step_that_every_part_takes(name: str) -> None:
    for stage in raw(name)["stages"]:
        if "cautions" in stage:
            assert not {"if", "one of"} & set(stage["steps"][0]), stage["stage"]


@pytest.mark.parametrize("name", IDS)
def test_no_figure_stands_without_its_source(name: str) -> None:
    bare = []
    for one in maps(raw(name)["stages"]) if isinstance(raw(name), dict) else ():
        texts = [str(one.get(key, "")) for key in (*_WORDS_OF_STEPS, "why")]
        texts += [str(one[key]) for key in ("least", "most", "aim", "low", "high", "every")
                  if isinstance(one.get(key), str)]  # fmt: skip
        if "source" in one or not any(FIGURE.search(text) for text in texts):
            continue
        if "every" in one or ("window" in one and "source" in one["window"]):
            continue  # tending: the dwell that it belongs to says the source
        bare.append(texts)
    hazards = [
        one
        for one in maps(raw(name)["hazards"])
        if any(FIGURE.search(str(text)) for text in one.values()) and "source" not in one
    ]
    assert bare == []
    assert hazards == []


@pytest.mark.parametrize("name", IDS)
def test_a_tended_dwell_says_its_source(name: str) -> None:
    for step in procedure(name).route.steps.values():
        if isinstance(step.detail, Dwell) and step.detail.tend_every:
            assert step.source, step.id


@pytest.mark.parametrize("name", IDS)
def test_every_source_mark_is_used_and_says_what_it_stands_for(name: str) -> None:
    text = (ROOT / "procedures" / f"{name}.yaml").read_text(encoding="utf-8")
    body = text.split("\nhazards:", 1)[1]
    for mark, meaning in procedure(name).sources.items():
        assert len(meaning) > 8, mark
        assert re.search(rf"source: [^\n]*\b{re.escape(mark)}\b", body), mark


@pytest.mark.parametrize("name", IDS)
def test_a_first_aid_line_with_a_figure_says_where_it_is_from(name: str) -> None:
    for line in procedure(name).first_aid:
        assert not FIGURE.search(line) or "from memory" in line or "no source" in line, line


_VAGUE = re.compile(
    r"\b(?:every|all|texts?|handbooks|wording of|rules for|an? [a-z' ]*page|a note)\b"
)


@pytest.mark.parametrize("name", IDS)
def test_a_source_names_what_can_be_looked_up_or_says_that_there_is_none(name: str) -> None:
    for mark, meaning in procedure(name).sources.items():
        named = re.search(r"[A-Z]{2}|[A-Z][a-z]+.*\d", meaning)
        one_maker = re.match(r"one [a-z ]*maker's ", meaning)
        nothing = meaning in ("common practice, no source", "from memory")
        sums = meaning.startswith(("arithmetic:", "benchrun "))
        assert named or one_maker or nothing or sums, (mark, meaning)
        assert named or not _VAGUE.search(meaning), (mark, meaning)


@pytest.mark.parametrize("name", IDS)
def test_no_address_of_a_page_stands_in_a_procedure(name: str) -> None:
    text = (ROOT / "procedures" / f"{name}.yaml").read_text(encoding="utf-8").lower()
    assert not re.search(r"https?:|www\.|\.(?:com|org|net)\b", text)


@pytest.mark.parametrize("name", IDS)
def test_no_step_leaves_a_sum_to_the_head(name: str) -> None:
    told = re.compile(r"\b(?:subtract|add up|divide|multiply|calculate|times the)\b", re.IGNORECASE)
    for step in procedure(name).route.steps.values():
        assert not told.search(step.text), step.text


@pytest.mark.parametrize("name", IDS)
def test_follow_on_procedures_that_are_named_exist(name: str) -> None:
    named = {
        word
        for line in procedure(name).follow_on
        for group in re.findall(r"\(([a-z-]+(?:, [a-z-]+)*)\)", line)
        for word in group.split(", ")
        if "-" in word
    }
    assert named <= set(IDS)
