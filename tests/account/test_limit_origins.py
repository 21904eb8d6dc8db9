"""A limit says where it comes from: the procedure, a standard, a manual with its page, a person."""

from pathlib import Path

import pytest

from benchrun.account.gather import gather
from benchrun.rehearse.play import rehearse

ROOT = Path(__file__).resolve().parents[2]
CASES = ROOT / "tests" / "rehearse"


def origins(procedure, answers, to):
    """Of each reading by its step: the origins of its limits, as pairs of kind and words."""
    rehearse(procedure, answers, to)
    return {
        reading.step: [(one.of, one.kind, one.words) for one in reading.origins]
        for reading in gather(to).readings
    }


@pytest.fixture(scope="module")
def manual(tmp_path_factory):
    procedure = CASES / "procedures" / "by-the-manual.yaml"
    return origins(procedure, CASES / "cases" / "figures.yaml", tmp_path_factory.mktemp("m") / "r")


@pytest.fixture(scope="module")
def hubs(tmp_path_factory):
    name = "hub-bearing-removal"
    answers = ROOT / "samples" / "answers" / f"{name}.yaml"
    return origins(
        ROOT / "procedures" / f"{name}.yaml", answers, tmp_path_factory.mktemp("h") / "r"
    )


def test_a_figure_of_a_manual_is_told_with_its_document_and_page(manual):
    low = next(one for one in manual["bore"] if one[0] == "low")
    assert low == ("low", "figure", "workshop manual, page 4-12")


def test_a_figure_without_a_document_counts_as_typed(manual):
    high = next(one for one in manual["bore"] if one[0] == "high")
    assert high[1] == "typed"
    assert "workshop manual, page 4-12" in high[2]
    assert "typed, of no document" in high[2]


def test_a_number_of_the_procedure_is_told_with_the_procedures_source(hubs):
    assert hubs["gauge-zero"] == [("both", "procedure", "procedure (practice)")]


def test_limits_that_somebody_typed_say_at_which_steps_or_name_the_manual(hubs):
    (seat,) = hubs["bore-a"]
    assert seat[0] == "both"
    assert seat[1] in ("typed", "figure")


def test_a_count_is_judged_by_counts_and_not_by_typing(hubs):
    (kept,) = hubs["kept-pieces"]
    assert kept[1] == "worked out"
    assert "counted" in kept[2]


def test_the_numbers_that_a_limit_rests_on_are_named_in_the_same_order_each_time(manual):
    high = next(one for one in manual["bore"] if one[0] == "high")
    assert high[2].endswith(": workshop manual, page 4-12 and typed, of no document")
