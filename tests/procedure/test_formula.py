"""Formulas: arithmetic with units, findings, three-valued conditions, refusals with their place."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint_registry import MIXED, quantity, value_in

from benchrun.procedure.formula import Formula, FormulaError, Known, Missing, parse_formula
from benchrun.quantity import UNITS, Measure, plain, read
from benchrun.shopmath.calc import Calc
from benchrun.shopmath.catalogue import CALCS
from benchrun.shopmath.inputs import Input

GRID = tuple(read(text, "mm") for text in ("61.95", "61.97", "61.96", "61.98"))
KNOWN: dict[str, Known] = {
    "bore": GRID,
    "ring": read("62.000", "mm"),
    "cracks": "none seen",
    "bath": read("20", "degC"),
    "push": read("3", "kN"),
    "face": read("2", "mm²"),
    "gone": (),
}
DIMENSIONS = {
    "bore": "length",
    "ring": "length",
    "cracks": "finding",
    "bath": "temperature",
    "push": "force",
    "face": "area",
    "later": "length",
}


def value(text: str, unit: str | None = None) -> Measure | bool | str:
    return parse_formula(text).value(KNOWN, unit)


def number(text: str, unit: str) -> Decimal:
    found = value(text, unit)
    assert isinstance(found, Measure)
    assert found.unit == unit
    return found.value


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("2 + 3 * 4", "", "14"),
        ("(2 + 3) * 4", "", "20"),
        ("2 - 3 - 4", "", "-5"),
        ("-2 ** 2", "", "-4"),
        ("2 ** -1", "", "0.5"),
        ("12 / 4 / 3", "", "1"),
        ("2 × 3 ÷ 4", "", "1.5"),
        ("ring + 1 in", "mm", "87.4"),
        ("mean(bore)", "mm", "61.965"),
        ("least(bore)", "mm", "61.95"),
        ("most(bore, ring)", "mm", "62.000"),
        ("spread(bore)", "µm", "30"),
        ("count(bore)", "", "4"),
        ("count(bore > 61.96 mm)", "", "2"),
        ("count(gone)", "", "0"),
        ("most(bore - ring)", "µm", "-20"),
        ("push / face", "MPa", "1500"),
        ("push * ring", "N m", "186"),
        ("ring ** 2", "mm²", "3844"),
        ("face / ring * 31", "mm", "1"),
        ("bath - 15 C", "K", "5"),
        ("bath + 5 K", "degC", "25"),
        ("mean(bath, 30 C)", "degC", "25"),
        ("45 ft lb", "ft lb", "45"),
        ("2 h + 30 min", "min", "150"),
        ("65 %", "%", "65"),
    ],
)
def test_a_sum_has_its_value_in_the_unit_asked_for(text: str, unit: str, expected: str) -> None:
    assert number(text, unit) == Decimal(expected)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("ring >= 62 mm", True),
        ("ring > 62 mm", False),
        ("25.4 mm == 1 in", True),
        ("61.9 mm < mean(bore) <= 61.965 mm", True),
        ("61.9 mm < mean(bore) < 61.965 mm", False),
        ('cracks is "none seen"', True),
        ("cracks is not 'none seen'", False),
        ("bath > 67 F", True),
        ("not ring > 62 mm and cracks is 'none seen'", True),
        ("ring ≠ 1 in", True),
    ],
)
def test_a_condition_is_judged_at_the_limit_and_across_units(text: str, expected: bool) -> None:
    assert value(text) is expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("later > 1 mm or ring > 1 mm", True),
        ("ring > 1 mm or later > 1 mm", True),
        ("later > 1 mm and ring < 1 mm", False),
        ("ring < 1 mm and later > 1 mm", False),
    ],
)
def test_what_is_known_decides_where_it_can(text: str, expected: bool) -> None:
    assert value(text) is expected


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("later + ring", {"later"}),
        ("later > 1 mm and ring > 1 mm", {"later"}),
        ("later > 1 mm or other > 1 mm", {"later", "other"}),
        ("not later > 1 mm", {"later"}),
        ("mean(gone)", {"gone"}),
    ],
)
def test_what_is_not_known_is_named(text: str, names: set[str]) -> None:
    with pytest.raises(Missing) as caught:
        value(text)
    assert caught.value.names == names


@pytest.mark.parametrize(
    ("text", "at", "said"),
    [
        ("", 0, "empty"),
        ("ring +", 6, "ends where a value"),
        ("ring ring", 5, "missing before 'ring'"),
        ("5 furlong", 2, "unit 'furlong' is not known"),
        ("(ring", 5, "')' is missing"),
        ("ring = 3 mm", 5, "write =="),
        ("mean()", 0, "one or more values"),
        ("9**9**9", 3, "power"),
        ("2 ** 7", 5, "power"),
        ("2 ** ring", 5, "power"),
        ("ring. + 1", 0, "a name is missing after ring."),
        ('cracks is "none', 10, "never closed"),
        ("ring > 3,5 mm", 8, "comma"),
        ("ring ; 3", 5, "no meaning"),
        ("(" * 31 + "1" + ")" * 31, 30, "deep"),
        ("not " * 40 + "ring", 120, "deep"),
        ("1+" * 199 + "1", None, "parts"),
        ("1" * 401, 0, "characters"),
    ],
)
def test_what_is_no_formula_is_refused_where_it_shows(text: str, at: int | None, said: str) -> None:
    with pytest.raises(FormulaError) as caught:
        parse_formula(text)
    assert said in caught.value.message
    if at is not None:
        assert caught.value.at == at


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("mean(bore) - ring", "length"),
        ("ring * ring", "area"),
        ("push / face", "pressure"),
        ("spread(bath, 30 C)", "temperature difference"),
        ("bath - 3 K", "temperature"),
        ("ring > 3 mm", "condition"),
        ("cracks", "finding"),
        ("count(bore)", "number"),
        ('limits(size=ring, class="P7").size_max', "length"),
        ("summary(values=bore).s", "length"),
        ("bore(grid=bore, planes=2).taper", "length"),
        ('accept(value=ring, low=61 mm, high=63 mm, U=3 µm).verdict is "inside"', "condition"),
    ],
)
def test_what_a_formula_measures_is_known_before_any_reading(text: str, dimension: str) -> None:
    assert parse_formula(text).dimension(DIMENSIONS, {"bore"}) == dimension


@pytest.mark.parametrize(
    ("text", "at", "said"),
    [
        ("ring + push", 5, "a force cannot be added to a length"),
        ("ring - 3", 5, "a number cannot be taken from a length"),
        ("ring > 3 kN", 7, "a length cannot be compared with a force"),
        ("bath + bath", 5, "two temperatures"),
        ("bath * 2", 5, "temperature cannot be multiplied"),
        ("cracks > 3", 9, "cannot be compared"),
        ('cracks < "none seen"', 9, "write `is`"),
        ("ring and cracks is 'none seen'", 0, "a condition"),
        ("rong > 3 mm", 0, "did you mean 'ring'?"),
        ("mm > 3", 0, "unit without a number"),
        ("mean(ring, push)", 11, "have no mean"),
        ("cracks + ring", 0, "a quantity is needed"),
        ("limit(size=62 mm)", 0, "did you mean 'limits'?"),
        ("limits(size=62 mm)", 0, "also needs class"),
        ('limits(size=62 mm, class="P7")', 0, "size_max"),
        ('limits(size=push, class="P7").lower', 0, "size is a length"),
        ('limits(62 mm, class="P7").lower', 0, "by name"),
        ('limits(size=62 mm, class="P7", more=3).lower', 0, "takes no 'more'"),
        ('limits(size=62 mm, class="P99").lower', 0, "limits:"),
        ('limits(size=bore, class="P7").lower', 0, "one value"),
    ],
)
def test_parts_that_do_not_go_together_are_refused_where_they_stand(
    text: str, at: int, said: str
) -> None:
    with pytest.raises(FormulaError) as caught:
        parse_formula(text).dimension(DIMENSIONS, {"bore"})
    assert said in caught.value.message
    assert caught.value.at == at


def test_the_sums_of_the_shop_give_the_same_as_by_hand() -> None:
    # ISO 286-2, table for P7: 62 mm is -21 / -51 µm.
    assert number('limits(size=62 mm, class="P7").size_max', "mm") == Decimal("61.979")
    assert number('limits(size=ring, class="P7").lower', "µm") == -51
    # Two planes of two readings: means 61.96 and 61.97.
    assert number("bore(grid=bore, planes=2).taper", "µm").copy_abs() == 10


def test_a_division_by_nothing_is_refused_with_its_place() -> None:
    with pytest.raises(FormulaError, match="division by zero") as caught:
        value("1 + ring / (ring - ring)")
    assert caught.value.at == 9


def test_several_values_are_not_one() -> None:
    with pytest.raises(FormulaError, match="several values"):
        value("bore + 1 mm")


def test_formulas_are_equal_when_their_texts_are() -> None:
    one, other = parse_formula("ring > 3 mm"), parse_formula("ring > 3 mm")
    assert one == other
    assert hash(one) == hash(other)
    assert one != parse_formula("ring > 4 mm")


def test_names_are_known_with_those_drawn_together_apart() -> None:
    formula = parse_formula('mean(bore) > ring and cracks is "none seen"')
    assert formula.reads == {"bore", "ring", "cracks"}
    assert formula.bare == {"ring", "cracks"}
    assert formula.compared == (("cracks", "none seen", 32),)


def test_nothing_but_arithmetic_is_reachable() -> None:
    for text in (
        '__import__("os").system',
        "ring.__class__",
        "[1]",
        "lambda: 1",
        "ring if 1 else 2",
    ):
        with pytest.raises(FormulaError):
            Formula.dimension(parse_formula(text), DIMENSIONS)


LENGTHS = st.decimals("0.001", "999", places=3)


@given(LENGTHS, LENGTHS)
def test_order_does_not_depend_on_the_unit(left: Decimal, right: Decimal) -> None:
    known: dict[str, Known] = {
        "one": Measure("", left, "mm"),
        "other": Measure("", right / Decimal("25.4"), "in"),
        "same": Measure("", right, "mm"),
    }
    sign = parse_formula("one < same").value(known)
    assert sign is (left < right)
    assert parse_formula("one * 1000 < same * 1000").value(known) is sign


@given(LENGTHS, LENGTHS, LENGTHS)
def test_mean_lies_between_least_and_most(one: Decimal, two: Decimal, three: Decimal) -> None:
    known: dict[str, Known] = {"x": tuple(Measure("", each, "mm") for each in (one, two, three))}
    assert parse_formula("least(x) <= mean(x) <= most(x)").value(known) is True
    assert parse_formula("spread(x) == most(x) - least(x)").value(known) is True


@given(st.text(alphabet="ab01 +-*/().,<>=\"'_mnot%²°", max_size=60))
def test_any_text_is_a_formula_or_refused(text: str) -> None:
    try:
        formula = parse_formula(text)
        formula.dimension(DIMENSIONS)
        formula.value(KNOWN)
    except (FormulaError, Missing):
        pass


def as_formula(entry: Input, text: str) -> str:
    """An input as a formula writes it: texts and lists in quotes, a number with its unit."""
    if entry.kind in ("number", "share") and entry.unit != "difference":
        unit = entry.bare(read(text, entry.unit).value) if entry.bare else entry.unit
        typed = read(text, unit if entry.kind == "number" else "")
        return f"{plain(typed.value)} {typed.unit}".strip()
    return f'"{text}"'


# Sums whose values come from readings, as lists or in any one unit, are tried above.
IN_FORMULAS = [
    calc
    for calc in CALCS.values()
    if not any(
        entry.kind.startswith("same") or entry.kind.endswith(("numbers", "grid"))
        for entry in calc.inputs
        if entry.name in calc.example
    )
]


@pytest.mark.parametrize("calc", [pytest.param(calc, id=calc.name) for calc in IN_FORMULAS])
def test_every_sum_in_a_formula_gives_what_it_gives_at_the_bench(calc: Calc) -> None:
    wanted = calc.work(calc.example)
    typed = ", ".join(
        f"{entry.name}={as_formula(entry, calc.example[entry.name])}"
        for entry in calc.inputs
        if entry.name in calc.example
    )
    for name, amount in wanted.outputs.items():
        formula = parse_formula(f"{calc.name}({typed}).{name}")
        if isinstance(amount.value, str):
            assert formula.value(KNOWN, None) == amount.value
            assert formula.dimension(DIMENSIONS, set()) == "finding"
        else:
            found = formula.value(KNOWN, amount.unit)
            assert isinstance(found, Measure)
            assert abs(found.value - amount.value) <= abs(amount.value) * Decimal("1e-9")


@pytest.mark.parametrize("sign", ["*", "/"])
def test_products_and_quotients_of_any_two_units_are_those_of_pint(sign: str) -> None:
    compared = 0
    for one in MIXED:
        for other in MIXED:
            known = {"a": read("7.25", one), "b": read("0.8", other)}
            left, right = quantity(Decimal("7.25"), one), quantity(Decimal("0.8"), other)
            theirs = left * right if sign == "*" else left / right
            for unit in (unit.name for unit in UNITS if unit.name in MIXED):
                if not theirs.is_compatible_with(quantity(Decimal(1), unit)):
                    continue
                ours = parse_formula(f"a {sign} b").value(known, unit)
                assert isinstance(ours, Measure)
                wanted = value_in(theirs, unit)
                assert abs(ours.value - wanted) <= abs(wanted) * Decimal("1e-20"), (one, other)
                compared += 1
    assert compared > 300
