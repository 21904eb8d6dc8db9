"""What is told of a run and how a value is ruled, made wrong in one place at a time.

`pytest -m long -s tests/mutation -n 0` prints what no test noticed. BENCHRUN_MUTATION_S says for
how many seconds a room is mutated, BENCHRUN_MUTATION_SEED which mutants come first.
"""

import os

import pytest
from mutants import ROOT, mutants, noticed, survivors

TOLD = "tests/account/test_one_account.py::test_a_rehearsal_is_told_alike_by_all_who_tell_of_it"
ROOMS = {
    "account": (
        "benchrun/account",
        [
            "tests/account/test_brief_words.py",
            "tests/account/test_clocks_and_loads.py",
            "tests/history/test_questions.py",
            *(f"{TOLD}[case-{case}]" for case in ("mis-tap", "correction", "away", "close")),
            "tests/report/test_facts_and_rows.py",
            "tests/face/test_amended_told.py",
        ],
    ),
    "verdict": (
        "benchrun/shopmath/accepting.py",
        ["tests/shopmath/test_accept.py", "tests/run/test_verdicts.py"],
    ),
    "run": (
        "benchrun/run",
        [
            "tests/run/test_parameters.py",
            "tests/run/test_corners.py",
            "tests/run/test_rulings.py",
            "tests/run/test_traps.py",
            "tests/run/test_amended.py",
            "tests/run/test_one_for_all.py",
            "tests/rehearse/test_cases.py",
        ],
    ),
    "rulings": ("benchrun/run/verdict.py", ["tests/run"]),
    "quantities": (
        "benchrun/procedure/parameter.py",
        ["tests/run/test_parameters.py", "tests/procedure/test_language.py"],
    ),
    "wording": ("benchrun/wording.py", ["tests/account/test_wording.py"]),
}
SECONDS = float(os.environ.get("BENCHRUN_MUTATION_S", "240"))
SEED = int(os.environ.get("BENCHRUN_MUTATION_SEED", "1"))


def modules_of(room):
    path = ROOT / ROOMS[room][0]
    return [path] if path.suffix else sorted(path.glob("*.py"))


def test_each_comparison_sign_and_number_of_a_module_is_made_wrong_once(tmp_path):
    page = ROOT / "benchrun" / "shopmath" / "accepting.py"
    made = mutants(page)
    assert len({(one.line, one.was, one.now) for one in made}) > 20
    assert any(one.was == "most < low" and one.now == "most <= low" for one in made)
    assert all(one.source != page.read_text("utf-8") for one in made)


@pytest.mark.long
@pytest.mark.timeout(0)
@pytest.mark.parametrize("room", ROOMS)
def test_what_is_made_wrong_is_noticed(room, tmp_path):
    tests = ROOMS[room][1]
    assert not noticed(None, tests, tmp_path), "the tests fail on the package as it is"
    lived, tried = survivors(modules_of(room), tests, tmp_path, SECONDS, SEED)
    print(f"\nmutants {room} tried={tried} survived={len(lived)} seed={SEED}")
    for mutant in lived:
        print(f"survived {mutant}")
    assert tried
    assert len(lived) < tried
