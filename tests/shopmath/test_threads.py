from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.tables import table_rows
from benchrun.shopmath.threads import INCH, thread_of


def last_digit(text):
    return 10.0 ** Decimal(text).as_tuple().exponent


def test_inch_threads_agree_with_the_published_diameters(rows):
    for row in rows("second/inch_threads"):
        size = row["size"].split("-")[0]
        for written in (f"{size} {row['series']}", f"{row['series']} {size}"):
            cut = thread_of(written)
            assert float(cut.diameter / INCH) == pytest.approx(float(row["major_in"]), abs=1e-9)
            assert float(cut.pitch) == pytest.approx(float(row["pitch_mm"]), rel=2e-6)
            for column, found in (
                ("pitch_diameter_in", cut.pitch_diameter),
                ("minor_external_in", cut.root_diameter),
                ("minor_internal_basic_in", cut.bore_diameter),
            ):
                assert float(found / INCH) == pytest.approx(float(row[column]), rel=2e-5)
            for column, found in (
                ("published_pitch_diameter_in", cut.pitch_diameter),
                ("published_minor_in", cut.root_diameter),
            ):
                if row[column]:
                    # Tables of one series differ by 0.0001 to 0.0002 in between them.
                    near = max(last_digit(row[column]), 0.0002)
                    assert float(found / INCH) == pytest.approx(float(row[column]), abs=near)


def test_metric_threads_agree_with_the_published_diameters(rows):
    for row in rows("second/metric_threads"):
        cut = thread_of(row["size"])
        for column, found in (
            ("major_mm", cut.diameter),
            ("pitch_mm", cut.pitch),
            ("pitch_diameter_mm", cut.pitch_diameter),
            ("minor_external_mm", cut.root_diameter),
            ("minor_internal_mm", cut.bore_diameter),
        ):
            assert float(found) == pytest.approx(float(row[column]), rel=2e-5)
        for column, found in (
            ("published_pitch_diameter_mm", cut.pitch_diameter),
            ("published_minor_external_mm", cut.root_diameter),
            ("published_minor_internal_mm", cut.bore_diameter),
        ):
            if row[column]:
                assert float(found) == pytest.approx(float(row[column]), abs=0.001)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("½ BSW", "1/2-12 BSW"),
        ('1/2" BSF', "1/2-16 BSF"),
        ("1/2 in Whitworth", "1/2-12 BSW"),
        ("W 1/2", "1/2-12 BSW"),
        ("1/2-16 whit", "1/2-16 BSF"),
        ("1 5/8-11 Whit", "1 5/8-11 Whit"),
        ("1/2 UNF", "1/2-20 UNF"),
        ("1/2-13", "1/2-13 UNC"),
        ("1/2x20 UNF", "1/2-20 UNF"),
        ("1/2 20 tpi UNF", "1/2-20 UNF"),
        ("#10-24", "#10-24 UNC"),
        ("No. 10 UNF", "#10-32 UNF"),
        ("1 1/8-12", "1 1/8-12 UNF"),
        ("1½ UNC", "1 1/2-6 UNC"),
        ("3/8-16 NC", "3/8-16 UNC"),
        ("1/2-28 UNEF", "1/2-28 UN"),
        ("5/16 CEI", "5/16-26 BSC"),
        ("5/16 B.S.F.", "5/16-22 BSF"),
        ("2BA", "2 BA"),
        ("BA 0", "0 BA"),
        ("M10", "M10x1.5"),
        ("m12 x 1,25", "M12x1.25"),
        ("2 BSW", "2-4.5 BSW"),
    ],
)
def test_threads_are_read_as_they_are_written(written, name):
    cut = thread_of(written)
    assert cut.name == name
    assert thread_of(cut.name) == cut


@pytest.mark.parametrize(
    ("written", "because"),
    [
        # 1/2 in has 12 threads an inch in Whitworth and 13 in UNC: 12 must not pass as 60°.
        ("1/2-12", r"write 1/2 BSW \(55°\) or 1/2-12 UN \(60°\)"),
        ("3/8-16", r"write 3/8 BSW \(55°\) or 3/8 UNC \(60°\)"),
        ("1/4-26", r"1/4 BSF \(55°\) or 1/4 BSC \(60°\) or 1/4-26 UN"),
        ("1/2", r"1/2 BSW \(55°\) or 1/2 BSF \(55°\) or 1/2 UNC \(60°\) or 1/2 UNF"),
        ("1/2-24", r"1/2-24 UN \(60°\) or 1/2-24 Whit \(55°\)"),
        ("1/2-13 BSW", "has 12 threads an inch, not 13; a special is written 1/2-13 Whit"),
        ("1/2-12 UNC", "a special is written 1/2-12 UN"),
        ("UNC 1/2 UNF", "two series"),
        ("1/2 UNEF", "how many threads an inch"),
        ("5 BSW", "not a size of BSW"),
        ("17 BA", "0 BA to 16 BA"),
        ("1/0 BSF", "a zero"),
        ("M10x9", "no thread of that diameter"),
        ("bolt", "is not a thread such as"),
        ("", "is not a thread such as"),
    ],
)
def test_threads_that_could_be_two_or_none_are_refused_with_the_ways_to_write_it(written, because):
    with pytest.raises(BenchrunError, match=because):
        thread_of(written)


def test_a_grade_says_that_a_bare_inch_thread_is_unified():
    result = CALCS["bolt"].work({"thread": "3/8-16", "grade": "5"})
    assert any("3/8-16 UNC, 60°" in note for note in result.notes)
    with pytest.raises(BenchrunError, match="3/8 BSW"):
        CALCS["bolt"].work({"thread": "3/8-16", "proof": "500"})


def test_a_british_bolt_takes_the_proof_strength_of_its_standard():
    found = CALCS["bolt"].work({"thread": "1/2 BSF", "proof": "30 tsi", "fraction": "1"})
    # By hand: π/4 (12.7 − 0.96049 × 1.5875)² = 98.08 mm²; 30 tsi = 463.33 MPa.
    assert float(found["stress_area"].number) == pytest.approx(98.08, abs=0.01)
    assert float(found["preload"].number) == pytest.approx(45.44, abs=0.01)
    for wrong in ({"class": "8.8"}, {"grade": "5"}):
        with pytest.raises(BenchrunError, match="British"):
            CALCS["bolt"].work({"thread": "1/2 BSF", **wrong})


@given(st.sampled_from([row for row in table_rows("thread_series") if row["unit"] == "in"]))
def test_every_size_of_the_table_is_read_by_its_series(row):
    cut = thread_of(f"{row['size']} {row['series']}")
    assert cut.diameter == Decimal(row["major"]) * INCH
    assert cut.pitch == INCH / Decimal(row["per_inch"])
    assert cut.root_diameter <= cut.bore_diameter < cut.pitch_diameter < cut.diameter
