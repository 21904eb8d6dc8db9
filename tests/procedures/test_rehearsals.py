"""Every script of answers leads to a closed log that verifies, and shows what it promises."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from shipped import IDS, ROOT, SCRIPTS, procedure, raw

from benchrun.procedure.yamlread import read_yaml
from benchrun.rehearse.play import played as play_script
from benchrun.rehearse.play import script_for
from benchrun.verify import verify

NAMES = [script.name.removesuffix(".yaml") for script in SCRIPTS]
Log = list[dict[str, Any]]


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """Rehearses a script once, and answers the folder of its run."""
    runs: dict[str, Path] = {}

    def play(name: str) -> Path:
        if name not in runs:
            out = tmp_path_factory.mktemp("rehearsed") / name
            answers = ROOT / "samples" / "answers" / f"{name}.yaml"
            job = procedure(name.partition(".")[0])
            play_script(job, script_for(job, answers), out)
            runs[name] = out
        return runs[name]

    return play


def log_of(run: Path) -> Log:
    lines = (run / "log.jsonl").read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


@pytest.mark.parametrize("name", NAMES)
def test_a_script_leads_to_a_closed_log_that_verifies(
    name: str, played: Callable[[str], Path]
) -> None:
    verdict = verify(played(name))
    assert verdict.whole, verdict.text()
    assert verdict.keeping.closed


@pytest.mark.parametrize("name", IDS)
def test_every_procedure_is_rehearsed_by_more_than_one_path(name: str) -> None:
    paths = [script for script in NAMES if script.partition(".")[0] == name]
    assert name in paths
    assert len(paths) >= 2


@pytest.mark.parametrize("script", SCRIPTS, ids=NAMES)
def test_a_script_is_marked_as_invented(script: Path) -> None:
    data = read_yaml(script.read_bytes())
    assert data["invented"] == "yes"
    assert script.read_text(encoding="utf-8").startswith("# All invented")


@pytest.mark.parametrize(
    ("name", "promised"),
    [
        ("hub-bearing-removal.crack-found", "Found: crack seen."),
        ("hub-bearing-removal.reading-out", "over the upper limit 61.979 mm"),
        ("hub-bearing-removal.carrier-cooled-down", "Too late"),
        ("degrease-etch-coat.etch-late", "Late: 24 min 01 s"),
        ("degrease-etch-coat.power-cut", "between 8 min 01 s and 12 min 01 s"),
        ("degrease-etch-coat.film-low", "under the lower limit 64.0 µm"),
        ("degrease-etch-coat.edge-eaten", "Found: eaten edge or thread."),
        ("degrease-etch-coat.film-judged-early", "Found: breaks or beads."),
        ("dry-blasting.coat-late", "Too late"),
        ("dye-penetrant-inspection.dye-too-long", "Late: 1 h 15 min"),
        ("plating-send-out.baked-late", "over the upper limit 4 h"),
        ("bearing-seat-and-fitting.cooled-on-the-way", "Too late"),
        ("torque-tightening.line-moved", "Found: moved."),
        ("brush-coats.rubbed-too-soon", "Too late: 1 h 06 min"),
        ("beam-coating-and-wax.edge-of-the-rust", "Found: inside, out of reach."),
        ("degrease-and-filter.edge-of-the-bath", "Found: flashes out into a film at once."),
    ],
)
def test_a_path_comes_to_the_question_that_it_is_there_for(
    name: str, promised: str, played: Callable[[str], Path]
) -> None:
    text = json.dumps(log_of(played(name)), ensure_ascii=False)
    assert promised in text


EDGES = (
    # Every row: a script, a step, and what is ruled of each part there, value by value.
    ("brake-hydraulics-rebuild.edge-of-the-fall", "frame-force", {"wheel L": "outside inside"}),
    ("brake-hydraulics-rebuild.edge-of-the-fall", "bleed-torque",
     {"wheel L": "inside", "wheel R": "outside inside", "calliper R": "outside inside"}),
    ("brake-hydraulics-rebuild.edge-of-the-fall", "low-fall",
     {"wheel L": "inside", "calliper L": "inside", "calliper R": "outside inside inside"}),
    ("brake-hydraulics-rebuild.edge-of-the-fall", "high-fall",
     {"wheel L": "inside", "wheel R": "outside inside inside inside", "calliper L": "inside"}),
    ("brake-hydraulics-rebuild.edge-of-the-fall", "again-fall",
     {"wheel L": "inside", "wheel R": "outside inside inside"}),
    ("brake-hydraulics-rebuild.edge-of-the-fall", "cooled",
     {"wheel L": "inside", "wheel R": "outside inside", "calliper R": "outside inside"}),
    ("brake-hydraulics-rebuild.edge-of-the-fall", "draw-back",
     {"calliper L": "inside", "calliper R": "outside inside"}),
    ("discs-drums-linings.edge-of-the-figures", "runout", {"disc L": "outside inside"}),
    ("discs-drums-linings.edge-of-the-figures", "thickness",
     {"disc L": " ".join(["inside"] * 8), "disc R": "outside"}),
    ("discs-drums-linings.edge-of-the-figures", "ovality",
     {"drum L": "inside", "drum R": "outside"}),
    ("discs-drums-linings.edge-of-the-figures", "pair-size", {"drum L": "outside inside"}),
    ("discs-drums-linings.edge-of-the-figures", "end-gap",
     {"drum R": "inside outside inside inside"}),
    ("discs-drums-linings.edge-of-the-figures", "contact",
     {"drum L": "outside inside", "drum R": "inside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "lean",
     {"tender": "inside", "second tender": "outside inside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "square",
     {"tender": "inside", "second tender": "outside inside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "inclination-left",
     {"tender": "inside", "second tender": "outside inside inside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "inclination-right",
     {"tender": "inside", "second tender": "outside inside"}),
    ("leaf-torsion-and-rubber-springs.edges", "driven",
     {"L": "inside", "R": "inside", "BL": "outside inside", "BR": "outside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "toe-set",
     {"tender": "inside", "second tender": "inside", "ladder": "inside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "engagement",
     {"tender": "inside", "ladder": "outside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "longest",
     {"tender": "inside", "second tender": "outside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "over-air", {"tender": "inside outside inside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "apart", {"tender": "inside inside"}),
    ("alignment-and-brake-test.edge-of-the-bands", "toe-moved", {"tender": "outside inside"}),
    ("nut-set-bearings.edge-of-the-band", "seat-turns",
     {"hub least": "inside outside inside inside"}),
    ("nut-set-bearings.edge-of-the-band", "back-off",
     {"hub least": "inside", "hub most": "inside", "hub over": "outside inside inside"}),
    ("nut-set-bearings.edge-of-the-band", "play-at-pin",
     {"hub least": "inside", "hub most": "inside"}),
    ("nut-set-bearings.edge-of-the-band", "float-spread", {"hub most": "inside"}),
    ("nut-set-bearings.edge-of-the-band", "float-last",
     {"hub least": "inside", "hub over": "outside inside"}),
    ("nut-set-bearings.edge-of-the-band", "rolling",
     {"pinion least": "inside", "pinion under": "outside inside"}),
    ("brake-pipes-and-bleeding.edge-of-the-flare", "flare-round",
     {"pipe L": "inside", "pipe R": "outside inside inside"}),
    ("brake-pipes-and-bleeding.edge-of-the-flare", "bend-narrow",
     {"pipe L": "inside", "pipe R": "outside inside"}),
    ("brake-pipes-and-bleeding.edge-of-the-flare", "clip-run",
     {"pipe L": "inside", "pipe R": "outside inside"}),
    ("brake-pipes-and-bleeding.edge-of-the-flare", "gap",
     {"hose L": "inside inside inside inside"}),
    ("brake-pipes-and-bleeding.edge-of-the-flare", "fall", {"pipe L": "outside inside"}),
    ("plating-send-out.edge-of-the-bake", "hv", {"pins too hard": "inside outside"}),
    ("plating-send-out.edge-of-the-bake", "bake-start",
     {"studs at the edge": "inside", "studs begun late": "outside"}),
    ("plating-send-out.edge-of-the-bake", "bake-time",
     {"studs at the edge": "inside", "studs short of it": "outside", "bolts of 8.8": "inside"}),
    ("torque-tightening.edge-of-the-check", "engaged", {"cover": "inside", "cap": "outside"}),
    ("torque-tightening.edge-of-the-check", "lines", {"wheel L": "outside inside"}),
    ("torque-tightening.edge-of-the-check", "check-torque",
     {"wheel L": "inside", "wheel R": "outside inside"}),
    ("dye-penetrant-inspection.edge-of-the-dew", "dew-margin",
     {"hub L": "inside", "hub R": "outside inside"}),
    ("bearing-seat-and-fitting.edge-of-the-class", "seat-fit",
     {"N at the edge": "inside", "N too wide": "outside", "M at the edge": "inside"}),
    ("bearing-seat-and-fitting.edge-of-the-class", "interference",
     {"N at the edge": "inside", "M at the edge": "inside", "sealed": "inside"}),
    ("bearing-seat-and-fitting.edge-of-the-class", "ovality",
     {"oval": "inside", "too oval": "outside"}),
    ("bearing-seat-and-fitting.edge-of-the-class", "too-hot",
     {"sealed": "outside inside", "open": "inside"}),
    ("wet-blasting.edge-of-the-medium", "pressure",
     {"cap low": "outside inside", "cap high": "outside inside",
      "bracket low": "outside inside", "bracket high": "outside inside"}),
    ("wet-blasting.edge-of-the-medium", "plugs-out",
     {"cap low": "outside inside", "cap high": "outside inside", "bracket low": "inside"}),
    ("wet-blasting.edge-of-the-medium", "oven-heat", {"cap low": "outside outside inside"}),
    ("degrease-and-filter.edge-of-the-bath", "fluid-out", {"hub long": "outside outside inside"}),
    ("degrease-and-filter.edge-of-the-bath", "ph-soft",
     {"cover at 9": "inside", "cover at 10": "outside"}),
    ("degrease-and-filter.edge-of-the-bath", "fluid-back", {"hub long": "outside inside"}),
    ("hub-bearing-removal.edge-of-the-heat", "carrier-heat",
     {"hottest": "inside", "burnt": "outside"}),
    ("hub-bearing-removal.edge-of-the-heat", "heat-rise", {"rise": "outside inside"}),
    ("hub-bearing-removal.edge-of-the-heat", "heat-over", {"rise": "inside", "warm": "outside"}),
    ("dry-blasting.edge-of-the-medium", "pressure-steel",
     {"hub L": "inside", "hub R": "outside inside"}),
    ("dry-blasting.edge-of-the-medium", "pressure-aluminium", {"cover": "outside inside"}),
    ("dry-blasting.edge-of-the-medium", "profile",
     {"hub L": "inside inside outside inside inside inside", "hub R": "inside inside inside"}),
    ("end-float-and-shims.edge-of-the-float", "new-pack",
     {"hub L": "outside inside", "hub spare": "inside inside"}),
    ("bush-and-joint-fitting.edge-of-the-fit", "interference",
     {"steel 32": "inside", "steel tight": "outside", "steel loose": "outside",
      "bronze 32": "inside", "bronze tight": "outside", "small": "inside", "large": "inside"}),
    ("cylinder-bore-inspection.edge-of-the-wear", "growth", {"cylinder L": "inside"}),
    ("cylinder-bore-inspection.edge-of-the-wear", "bore",
     {"cylinder R": "outside", "cylinder spare": "inside outside"}),
    ("end-float-and-shims.edge-of-the-float", "pack-most", {"hub old": "outside"}),
    ("end-float-and-shims.edge-of-the-float", "float-last",
     {"hub L": "inside", "hub R": "inside", "hub spare": "outside inside"}),
)  # fmt: skip


@pytest.mark.parametrize(("script", "step", "rulings"), EDGES, ids=lambda one: str(one)[:60])
def test_at_the_edge_of_a_limit_a_value_is_ruled_as_it_should(
    script: str, step: str, rulings: dict[str, str], played: Callable[[str], Path]
) -> None:
    found: dict[str, list[str]] = {}
    for entry in log_of(played(script)):
        if entry["kind"] == "do" and entry["data"].get("step") == step:
            for part, outcome in entry["data"]["each"].items():
                found.setdefault(part, []).append(outcome.get("verdict", ""))
    assert {part: " ".join(found.get(part, ())) for part in rulings} == rulings


TIMES = (
    # Every row: a script, a step, and what is asked of each part there because of its time.
    ("wet-blasting.edge-of-the-clock", "rinse",
     {"cap in time": [], "cap late": ["Too late: 5 min 01 s (at most 5 min)."]}),
    ("wet-blasting.edge-of-the-clock", "dry",
     {"cap in time": ["Early: 59 min 59 s (at least 1 h)."],
      "cap late": ["Too late: 15 min 01 s (at most 15 min)."]}),
    ("wet-blasting.edge-of-the-clock", "protect",
     {"cap in time": [], "cap late": ["Too late: 4 h 01 min (at most 4 h)."]}),
    ("beam-coating-and-wax.edge-of-the-rust", "dull",
     {"beam soon": [], "beam at four": [],
      "beam past four": ["Too late: 4 h 01 min (at most 4 h)."]}),
    ("degrease-and-filter.edge-of-the-bath", "watery-soak",
     {"cover at 9": ["Early: 4 min 59 s (5 min to 15 min)."], "hub steel": [], "hub long": [],
      "hub longer": ["Late: 15 min 01 s (5 min to 15 min)."]}),
    ("degrease-and-filter.edge-of-the-bath", "solvent-soak",
     {"arm soon": ["Early: 9 min 59 s (10 min to 16 h)."], "arm in time": [],
      "arm overnight": [], "arm too long": ["Late: 16 h 01 min (10 min to 16 h)."]}),
    ("degrease-and-filter.edge-of-the-bath", "blow-dry",
     {"hub steel": [], "hub long": ["Too late: 5 min 01 s (at most 5 min)."]}),
    ("hub-bearing-removal.edge-of-the-heat", "oven-heat",
     {"rise": ["Early: 19 min 59 s (20 min to 1 h)."], "warm": [], "hottest": []}),
)  # fmt: skip


_OF_TIME = ("early", "late", "window late")


@pytest.mark.parametrize(("script", "step", "asked"), TIMES, ids=lambda one: str(one)[:60])
def test_at_the_last_second_of_a_time_nothing_is_asked_and_after_it_a_person_is(
    script: str, step: str, asked: dict[str, list[str]], played: Callable[[str], Path]
) -> None:
    found: dict[str, list[str]] = {part: [] for part in asked}
    timed = 0
    for entry in log_of(played(script)):
        timed += entry["data"].get("step") == step
        for part, outcome in entry["data"].get("each", {}).items():
            for one in outcome.get("asks", ()):
                if one["step"] == step and one["ask"] in _OF_TIME:
                    found.get(part, []).append(one["says"])
    assert timed
    assert found == asked


def test_a_crack_ends_a_carrier_as_scrap_and_the_other_goes_on(
    played: Callable[[str], Path],
) -> None:
    log = log_of(played("hub-bearing-removal.crack-found"))
    scrapped = [e for e in log if e["kind"] == "answer" and "scrap" in json.dumps(e["data"])]
    assert len(scrapped) == 1
    assert scrapped[0]["data"]["parts"] == ["hub R outer"]
    strokes = [e for e in log if e["data"].get("step") == "stroke"]
    assert strokes
    assert all(e["data"]["parts"] == ["hub L outer"] for e in strokes)


def test_a_closed_window_is_scuffed_first_and_only_then_coated(
    played: Callable[[str], Path],
) -> None:
    log = log_of(played("degrease-etch-coat.window-closed"))
    steps = [e["data"].get("step") for e in log if e["kind"] == "do"]
    assert steps.count("scuff") == 1
    assert steps.index("coat") < steps.index("scuff") < len(steps) - 1 - steps[::-1].index("coat")


def test_the_etch_is_done_in_loads_that_the_tub_holds(played: Callable[[str], Path]) -> None:
    log = log_of(played("degrease-etch-coat"))
    holds = int(raw("degrease-etch-coat")["vessels"]["tub"]["holds"])
    loads = [e["data"]["parts"] for e in log if e["kind"] == "in" and e["data"]["step"] == "etch"]
    assert len(loads) == 2
    assert all(len(load) <= holds for load in loads)


def test_half_the_parts_can_have_two_coats_when_the_light_goes(
    played: Callable[[str], Path],
) -> None:
    log = log_of(played("degrease-etch-coat.half-with-two-coats"))
    stopped = next(at for at, e in enumerate(log) if e["kind"] == "stop")
    coats: dict[str, int] = {}
    for entry in log[:stopped]:
        if entry["data"].get("step") == "coat":
            for part in entry["data"]["parts"]:
                coats[part] = coats.get(part, 0) + 1
    assert sorted(coats.values()) == [1, 1, 1, 1, 2, 2, 2, 2]


def test_a_run_stopped_overnight_goes_on_where_it_stood(played: Callable[[str], Path]) -> None:
    log = log_of(played("hub-bearing-removal.stopped-overnight"))
    kinds = [e["kind"] for e in log]
    assert kinds.index("stop") < kinds.index("resume") < kinds.index("close")
