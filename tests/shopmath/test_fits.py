from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.fits import limit_deviations

LIMITS, FIT = CALCS["limits"], CALCS["fit"]
SHAFTS = ["d", "e", "f", "g", "h", "js", "k", "m", "n", "p", "r", "s"]
sizes = st.decimals("0.01", 500, places=2)


def test_every_row_of_the_open_tables_of_iso_286_comes_out(rows):
    wrong = []
    for row in rows("iso286_limits"):
        low, high = Decimal(row["over_mm"]), Decimal(row["incl_mm"])
        for size in (low + Decimal("0.01"), (low + high) / 2, high):
            found = limit_deviations(size, row["class"])
            if found != (Decimal(row["lower_um"]), Decimal(row["upper_um"])):
                wrong.append((row["class"], size, found))
    assert not wrong


def test_bearing_seats_and_their_fits_come_out(rows):
    for row in rows("bearing_seats"):
        size, class_ = row["class"].split()
        result = LIMITS.work({"size": size, "class": class_})
        assert result["lower"].number == Decimal(row["lower_um"])
        assert result["upper"].number == Decimal(row["upper_um"])
        assert result["size_min"].number == Decimal(row["min_mm"])
        assert result["size_max"].number == Decimal(row["max_mm"])
        if row["ring_lower_um"]:
            ring = f"{Decimal(size) + Decimal(row['ring_lower_um']) / 1000}..{size}"
            hole, shaft = (class_, ring) if class_[0].isupper() else (ring, class_)
            fit = FIT.work({"size": size, "hole": hole, "shaft": shaft})
            assert fit["tightest"].number == Decimal(row["tightest_um"])
            assert fit["loosest"].number == Decimal(row["loosest_um"])


@pytest.mark.parametrize(
    ("size", "class_", "lower", "upper"),
    [
        # ISO 286-2 edges, as the open tables and memory agree.
        ("30", "k6", "2", "15"),
        ("30.01", "k6", "2", "18"),
        ("280", "M6", "-41", "-9"),
        ("2", "N9", "-29", "-4"),
        ("62", "JS7", "-15", "15"),
        ("50", "js6", "-8", "8"),
        ("50", "k8", "0", "39"),
        # j, J, u and x as an open table of fundamental deviations has them.
        ("25", "j6", "-4", "9"),
        ("25", "j5", "-4", "5"),
        ("40", "j7", "-10", "15"),
        ("25", "J7", "-9", "12"),
        ("50", "J6", "-6", "10"),
        ("30", "J8", "-13", "20"),
        ("25", "u6", "48", "61"),
        ("25", "x6", "64", "77"),
        ("60", "U7", "-106", "-76"),
        ("2", "X7", "-30", "-20"),
        ("24", "x6", "54", "67"),
        ("40", "t6", "48", "64"),
    ],
)
def test_edges_and_exceptions_of_the_standard(size, class_, lower, upper):
    assert limit_deviations(Decimal(size), class_) == (Decimal(lower), Decimal(upper))


@given(sizes, st.sampled_from(SHAFTS), st.integers(4, 11))
def test_a_class_is_as_wide_as_its_grade_whatever_the_letter(size, letter, grade):
    lower, upper = limit_deviations(size, f"{letter}{grade}")
    h_lower, h_upper = limit_deviations(size, f"h{grade}")
    assert upper - lower == h_upper - h_lower


@given(sizes, st.sampled_from(["d", "e", "f", "g", "h", "js"]), st.integers(4, 11))
def test_holes_mirror_shafts_on_the_clearance_side(size, letter, grade):
    lower, upper = limit_deviations(size, f"{letter}{grade}")
    assert limit_deviations(size, f"{letter.upper()}{grade}") == (-upper, -lower)


@given(sizes, st.integers(4, 7))
def test_later_letters_are_larger_shafts(size, grade):
    lowers = [limit_deviations(size, f"{letter}{grade}")[0] for letter in SHAFTS if letter != "js"]
    assert lowers == sorted(lowers)


@given(
    st.decimals(1, 500, places=2),
    st.sampled_from(["H6", "H7", "P7", "N7"]),
    st.sampled_from(["g6", "h6", "k6", "p6"]),
)
def test_a_fit_of_classes_is_the_fit_of_their_limits(size, hole, shaft):
    by_class = FIT.work({"size": size, "hole": hole, "shaft": shaft})
    ends = {}
    for name, class_ in (("hole", hole), ("shaft", shaft)):
        found = LIMITS.work({"size": size, "class": class_})
        ends[name] = f"{found['size_min'].exact}..{found['size_max'].exact}"
    assert FIT.work(ends).outputs == by_class.outputs


def test_a_measured_fit_is_said_with_its_numbers():
    result = FIT(hole="61.967", shaft="62.000")
    assert result["tightest"].number == result["loosest"].number == -33
    assert result["kind"].value == "interference"
    assert result.workings == ("hole 61.967 mm − shaft 62 mm = 33 µm tight",)


@pytest.mark.parametrize(
    ("hole", "shaft", "kind"),
    [("H7", "g6", "clearance"), ("H7", "k6", "transition"), ("P7", "h6", "interference"),
     ("H7", "h6", "clearance")],
)  # fmt: skip
def test_kinds_of_fit(hole, shaft, kind):
    assert FIT(size="50", hole=hole, shaft=shaft)["kind"].value == kind


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"size": "501", "class": "P7"}, "outside the tables"),
        ({"size": "0", "class": "P7"}, "outside the tables"),
        ({"size": "0.01", "class": "d11"}, "nothing would be left"),
        ({"size": "62", "class": "P12"}, "IT4 to IT11"),
        ({"size": "62", "class": "K9"}, "not defined"),
        ({"size": "62", "class": "za6"}, "not a class"),
        ({"size": "62", "class": "P"}, "not a class"),
    ],
)
def test_limits_outside_the_standard_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        LIMITS.work(inputs)


@pytest.mark.parametrize(
    ("inputs", "because"),
    [
        ({"hole": "P7", "shaft": "62"}, "give size"),
        ({"size": "62", "hole": "p7", "shaft": "62"}, "capital"),
        ({"size": "62", "hole": "H7", "shaft": "H6"}, "capital"),
        ({"hole": "62", "shaft": "26"}, "not one fit"),
        ({"hole": "62..61", "shaft": "62"}, "backwards"),
        ({"hole": "-62", "shaft": "62"}, "more than nothing"),
    ],
)
def test_fits_that_cannot_be_are_refused(inputs, because):
    with pytest.raises(BenchrunError, match=because):
        FIT.work(inputs)


@pytest.mark.parametrize(
    ("size", "class_", "because"),
    [
        ("25", "j8", "ISO 286 has j in 5 to 7"),
        ("25", "J5", "ISO 286 has J in 6 to 8"),
        ("20", "t6", "not defined at 20 mm"),
        ("14", "v6", "not defined at 14 mm"),
        ("18", "Y7", "not defined at 18 mm"),
    ],
)
def test_letters_that_the_standard_gives_at_some_sizes_alone_are_refused(size, class_, because):
    with pytest.raises(BenchrunError, match=because):
        LIMITS.work({"size": size, "class": class_})
