"""What a run needs and the shop lacks is told before it starts, each thing in one line."""

import datetime as dt

import pytest

from benchrun.board import look
from benchrun.procedure.load import load_bytes
from benchrun.run.commands import PutIn
from benchrun.run.entries import PartSpec
from benchrun.session import begin
from benchrun.shop.books import read_books
from benchrun.shop.duties import Sort, duties
from benchrun.shop_use.readiness import at_hand, shortages

DAY = dt.date(2026, 3, 10)
PROCEDURE = load_bytes(
    b"""\
procedure: wash
title: Wash
revision: 1
status: draft
use: step by step
scope: Invented.
changes: {1: First.}
sources: {s: "common practice, no source"}
needs:
  instruments:
    - {instrument: bath thermometer, resolution: 0.5 degC}
    - {instrument: film gauge, calibrated: yes}
    - lens
  supplies:
    - {supply: degreasing fluid, amount: 2 l}
    - lint-free cloths
batch: {part: lever}
vessels: {tub: {title: wash tub, holds: 6}}
stages:
  - stage: All
    steps:
      - dwell: Soak it.
        id: soak
        in: tub
        least: 10 min
        early: [again]
        source: s
""",
    "wash.yaml",
)


@pytest.fixture
def lacking(shop, write):
    def told(**files):
        for name, text in files.items():
            write(f"{name}.yaml", f"{name}:\n{text}")
        return shortages(read_books(shop), PROCEDURE, DAY)

    return told


def test_a_shop_that_keeps_no_files_is_not_nagged(lacking):
    assert lacking() == ()


def test_what_no_file_lists_is_told_in_one_line_a_file(lacking):
    assert lacking(
        instruments="  - {id: a, name: lens, range: 1 to 20}\n",
        supplies="  - {id: a, name: tape, amount: 1}\n",
    ) == (
        "not in instruments.yaml: bath thermometer and film gauge",
        "not in supplies.yaml: degreasing fluid and lint-free cloths",
    )


@pytest.mark.parametrize(
    ("resolution", "told"),
    [
        ("0.5 degC", ()),
        ("1 degF", ("shows steps of 1 °F; 0.5 degC are asked for",)),
        ("0.9 degF", ()),
    ],
)
def test_a_thermometer_that_is_too_coarse_is_told_in_any_unit(lacking, resolution, told):
    unit = resolution.split()[1]
    found = lacking(
        instruments="  - {id: glass, name: bath thermometer, range: 0 " + f"{unit} to 100 {unit}, "
        f"resolution: {resolution}}}\n"
        "  - {id: f, name: film gauge, range: 0 to 1 mm, calibrated: 2026-01-01}\n"
        "  - {id: l, name: lens, range: 1 to 20}\n"
    )
    assert found == tuple(f"bath thermometer (glass) {one}" for one in told)


def test_one_fit_instrument_of_several_suffices(lacking):
    lens = "  - {id: l, name: lens, range: 1 to 20}\n"
    glass = "  - {id: t, name: bath thermometer, range: 0 degC to 60 degC}\n"
    old = (
        "  - {id: old, name: film gauge, range: 0 to 1 mm, calibrated: 2020-01-01, "
        "until: 2021-01-01}\n"
    )
    new = "  - {id: new, name: film gauge, range: 0 to 1 mm, calibrated: 2026-01-01}\n"
    assert lacking(instruments=lens + glass + old) == (
        "film gauge (old) is past its calibration date, 2021-01-01",
    )
    assert lacking(instruments=lens + glass + old + new) == ()
    bare = "  - {id: bare, name: film gauge, range: 0 to 1 mm}\n"
    assert lacking(instruments=lens + glass + bare) == (
        "film gauge (bare) has no calibration date",
    )


CLOTHS = "  - {id: c, name: lint-free cloths, amount: 20}\n"


def test_several_tins_together_suffice_or_are_told_short(lacking):
    tin = "  - {{id: {0}, name: degreasing fluid, amount: {1}}}\n"
    assert lacking(supplies=CLOTHS + tin.format("a", "1.5 l") + tin.format("b", "500 ml")) == ()
    assert lacking(supplies=CLOTHS + tin.format("a", "1.5 l") + tin.format("b", "400 ml")) == (
        "degreasing fluid: 2 l needed, 1.9 l left: 0.1 l short",
    )


def test_a_tin_that_is_used_up_names_the_one_to_take(lacking):
    empty = (
        "  - {id: a, name: degreasing fluid, amount: 1 l, book: [{on: 2026-01-01, used: 1 l}]}\n"
    )
    full = "  - {id: b, name: degreasing fluid, amount: 5 l}\n"
    assert lacking(supplies=CLOTHS + empty + full) == ("degreasing fluid (a) is used up: take b",)
    assert lacking(supplies=CLOTHS + empty) == ("degreasing fluid (a) is used up",)
    out = empty.replace("amount: 1 l", "amount: 1 l, out of use: leaks")
    assert lacking(supplies=CLOTHS + out + full) == ()


def test_a_vessel_and_the_bath_in_it_are_looked_at(lacking):
    bath = (
        "  - {id: bath, name: old bath, amount: 9 l, weakest: 10 %, "
        "book: [{on: 2026-03-01, strength: 8 %}]}\n"
        "  - {id: f, name: degreasing fluid, amount: 9 l}\n"
    )
    assert lacking(
        vessels="  - {id: tub, name: wash tub, holds: 4, filled with: bath}\n",
        supplies=CLOTHS + bath,
    ) == (
        "the wash tub holds 4; the procedure counts on 6",
        "in the wash tub, old bath (bath) had a strength of 8 % on 2026-03-01; "
        "below 10 % it is spent",
    )


def test_a_tub_in_use_and_a_faulty_file_are_told(shop, person, clock, write):
    session = begin(shop, PROCEDURE, [PartSpec("a")], person, clock)
    session.send(PutIn("soak", ("a",), session.run.n - 1)).result()
    write("parts.yaml", "parts:\n  - {id: a}\n")
    told = shortages(read_books(shop), PROCEDURE, DAY, uses=look(shop, clock.now()).uses)
    assert told == (
        "parts.yaml:2:5: a has no name: write it",
        f"the wash tub holds 1 part of {session.folder.run}: a",
    )


def test_what_was_at_hand_is_kept_in_words_by_id(shop, write):
    assert at_hand(read_books(shop), PROCEDURE) == {}
    write("instruments.yaml", "instruments:\n  - {id: l, name: lens, range: 1 to 20}\n"
          "  - {id: x, name: other, range: 1 to 2}\n")  # fmt: skip
    write("supplies.yaml", "supplies:\n  - {id: f, name: degreasing fluid, amount: 9 l, lot: Q}\n"
          "  - {id: bath, name: old bath, amount: 9 l}\n")  # fmt: skip
    write("vessels.yaml", "vessels:\n  - {id: tub, name: grey tub, filled with: bath}\n")
    assert at_hand(read_books(shop), PROCEDURE) == {
        "instruments": {
            "l": "lens; range 1 to 20; expanded uncertainty unknown; "
            "calibrated never, as far as is known"
        },
        "supplies": {
            "f": "degreasing fluid; lot Q; 9 l left",
            "bath": "old bath; lot unknown; 9 l left",
        },
        "vessels": {"tub": "grey tub"},
    }


def test_what_the_steps_use_is_told_short_for_the_batch(shop, write):
    write("supplies.yaml", "supplies:\n" + CLOTHS
          + "  - {id: f, name: degreasing fluid, amount: 3 l}\n")  # fmt: skip
    uses = b"        in: tub\n        uses: {supply: degreasing fluid, amount: 0.7 l}\n"
    content = PROCEDURE.content.replace(b"        in: tub\n", uses)
    procedure = load_bytes(content, "wash.yaml")
    assert shortages(read_books(shop), procedure, DAY, parts=4) == ()
    assert shortages(read_books(shop), procedure, DAY, parts=5) == (
        "degreasing fluid: 3.5 l needed, 3 l left: 0.5 l short",
    )


def test_a_tin_that_is_kept_in_another_kind_of_unit_is_told_before_the_start(shop, write):
    write("supplies.yaml", "supplies:\n" + CLOTHS
          + "  - {id: f, name: degreasing fluid, amount: 3 kg}\n")  # fmt: skip
    assert shortages(read_books(shop), PROCEDURE, DAY, parts=1) == (
        "degreasing fluid: 2 l needed, and the shop keeps f in kg",
    )


def test_duties_come_with_the_late_first_and_then_by_day(shop, write):
    write(
        "parts.yaml",
        "parts:\n"
        "  - {id: a, name: arm, away: [{sent: 2026-02-01, to: x, due: 2026-03-30}]}\n"
        "  - {id: b, name: arm, away: [{sent: 2026-02-01, to: y, due: 2026-03-09}]}\n"
        "  - {id: c, name: arm, away: [{sent: 2026-02-01, to: z}]}\n"
        "  - {id: d, name: arm, away: [{sent: 2026-02-01, to: z, back: 2026-02-02}]}\n",
    )
    write(
        "instruments.yaml",
        "instruments:\n  - {id: g, name: gauge, range: 0 to 1 mm, until: 2026-03-20}\n"
        "  - {id: h, name: gauge, range: 0 to 1 mm, until: 2026-03-25}\n",
    )
    found = duties(read_books(shop), DAY)
    assert [(one.sort, str(one.due), one.late) for one in found] == [
        (Sort.AWAY, "2026-03-09", True),
        (Sort.INSTRUMENT, "2026-03-20", False),
        (Sort.AWAY, "2026-03-30", False),
        (Sort.AWAY, "None", False),
    ]
    path = shop.path / "shop.yaml"
    path.write_text(path.read_text() + "remind days: 15\n")
    assert len(duties(read_books(shop), DAY)) == 5
