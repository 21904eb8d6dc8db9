from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchrun.errors import BenchrunError
from benchrun.shopmath.catalogue import CALCS

DILUTE, MIX = CALCS["dilute"], CALCS["mix"]


def test_weighed_acid_as_in_the_reference_example():
    # Computed, density from memory: 1 kg of 15 % w/w from 85 %: 176.5 g = 104.7 ml; 823.5 g water.
    result = DILUTE(basis="w/w", stock="85", target="15", amount="1 kg", stock_density="1.685")
    assert float(result["stock_mass"].number) == pytest.approx(176.47, abs=0.01)
    assert float(result["stock_volume"].number) == pytest.approx(104.73, abs=0.01)
    assert float(result["water_mass"].number) == pytest.approx(823.53, abs=0.01)


def test_caustic_by_mass_in_volume_as_in_the_reference_example():
    # Computed: 50 % w/w of 1.525 g/ml is 76.25 % w/v; 5 l of 10 % w/v take 656 ml.
    result = DILUTE(basis="w/v", stock="76.25", target="10", amount="5 l", stock_density="1.525")
    assert float(result["stock_volume"].number) == pytest.approx(655.7, abs=0.1)
    assert float(result["stock_mass"].number) == pytest.approx(1000, abs=0.1)


def test_mixed_bases_are_refused_because_the_volume_rule_gives_half_as_much_again():
    # The trap, computed: 176.5 ml of 85 % w/w in a litre is 22.6 % w/w, not 15.
    with pytest.raises(BenchrunError, match="mixed bases"):
        DILUTE(basis="w/v", stock="85 % w/w", target="15", amount="1 l")
    with pytest.raises(BenchrunError, match="mixed bases"):
        DILUTE(basis="w/w", stock="50", target="10 % w/v", amount="1 kg")
    with pytest.raises(BenchrunError, match="weighed"):
        DILUTE(basis="w/w", stock="85", target="15", amount="1 l")


def test_a_density_of_the_bath_lets_a_weighed_bath_be_measured():
    by_volume = DILUTE(basis="w/w", stock="85", target="15", amount="1 l", mix_density="1.08")
    by_mass = DILUTE(basis="w/w", stock="85", target="15", amount="1080 g")
    assert by_volume["stock_mass"].number == by_mass["stock_mass"].number


def test_the_order_is_said_and_cautioned_of():
    result = DILUTE(basis="v/v", stock="100", target="5", amount="10 l")
    assert any("into water" in caution for caution in result.cautions)
    assert any("water first" in note for note in result.notes)


@given(
    st.sampled_from(["w/w", "w/v", "v/v"]), st.integers(2, 100), st.integers(1, 100),
    st.decimals(1, 5000, places=1),
)  # fmt: skip
def test_what_is_dissolved_is_neither_made_nor_lost(basis, stock, share, amount):
    target = Decimal(stock * share) / 100
    unit, part = ("g", "stock_mass") if basis == "w/w" else ("ml", "stock_volume")
    result = DILUTE(basis=basis, stock=str(stock), target=str(target), amount=f"{amount} {unit}")
    dissolved = result[part].number * stock
    assert abs(dissolved - amount * target) <= amount * target * Decimal("1e-20")


@pytest.mark.parametrize(
    ("changes", "because"),
    [
        ({"target": "90"}, "does not strengthen"),
        ({"stock": "120"}, "stronger than 100"),
        ({"target": "0"}, "no strength"),
        ({"amount": "0"}, "more than nothing"),
        ({"amount": "5 bar"}, "not a unit"),
        ({"stock_density": "16"}, "0.5 to 3"),
        ({"basis": "mol"}, "none of w/w"),
    ],
)
def test_baths_that_cannot_be_are_refused(changes, because):
    base = {"basis": "w/w", "stock": "85", "target": "15", "amount": "1 kg"}
    with pytest.raises(BenchrunError, match=because):
        DILUTE.work(base | changes)


def test_two_packs_by_volume_with_thinner_as_in_the_reference_example():
    # Computed: 2:1 and 10 % of the mixed volume, 500 ml: 303.0, 151.5, 45.5 ml.
    result = MIX(ratio="2:1", amount="500 ml", thinner="10")
    found = [float(result[name].number) for name in ("base", "hardener", "thinner")]
    assert found == pytest.approx([303.0, 151.5, 45.45], abs=0.05)


def test_what_the_thinner_is_a_share_of_matters():
    thinner = {
        of: MIX(ratio="2:1", amount="330", thinner="10", thinner_of=of)["thinner"].number
        for of in ("mixed", "base", "total")
    }
    # By hand: 3.3 parts; 2 base and 0.2 thinner in 3.2; a tenth of the whole.
    assert thinner["mixed"] == 30
    assert thinner["base"] == Decimal(330) * 2 / 32
    assert thinner["total"] == 33


def test_a_ratio_by_volume_as_a_ratio_by_mass():
    # Computed: 4:1 by volume at 1.35 and 1.05 g/ml is 5.143:1 by mass.
    result = MIX(ratio="4:1", amount="1 kg", base_density="1.35", hardener_density="1.05")
    assert float(result["ratio_by_mass"].number) == pytest.approx(5.143, abs=0.001)
    total = result["base_mass"].number + result["hardener_mass"].number
    assert abs(total - 1000) < Decimal("1e-20")


@given(
    st.integers(1, 10), st.integers(1, 10), st.integers(0, 50),
    st.sampled_from(["mixed", "base", "total"]), st.sampled_from(["volume", "mass"]),
)  # fmt: skip
def test_the_parts_make_the_amount_and_keep_the_ratio(a, b, thinner, of, by):
    result = MIX.work(
        {
            "ratio": f"{a}:{b}",
            "amount": "700",
            "by": by,
            "thinner": Decimal(thinner),
            "thinner_of": of,
        }
    )
    suffix = "" if by == "volume" else "_mass"
    base, hardener, thin = (
        result[f"{name}{suffix}"].number for name in ("base", "hardener", "thinner")
    )
    assert abs(base + hardener + thin - 700) < Decimal("1e-20")
    assert abs(base * b - hardener * a) < Decimal("1e-20")
    share_of = {"mixed": base + hardener, "base": base, "total": Decimal(700)}[of]
    assert abs(thin * 100 - share_of * thinner) < Decimal("1e-18")


@pytest.mark.parametrize(
    ("changes", "because"),
    [
        ({"ratio": "4"}, "not a ratio"),
        ({"ratio": "4:0"}, "more than nothing"),
        ({"thinner": "-1"}, "thinner"),
        ({"thinner": "100", "thinner_of": "total"}, "under 100"),
        ({"amount": "1 kg"}, "densities"),
        ({"base_density": "50"}, "0.5 to 5"),
    ],
)
def test_mixtures_that_cannot_be_are_refused(changes, because):
    with pytest.raises(BenchrunError, match=because):
        MIX.work({"ratio": "4:1", "amount": "500 ml"} | changes)


def test_a_third_part_of_the_ratio_is_thinner():
    mixed = CALCS["mix"].work({"ratio": "4:1:1", "amount": "600 ml"})
    assert [mixed[name].exact for name in ("base", "hardener", "thinner")] == ["400", "100", "100"]
    assert mixed.workings == ("4:1:1: 400 ml + 100 ml + 100 ml = 600 ml",)
    with pytest.raises(BenchrunError, match="name no thinner"):
        CALCS["mix"].work({"ratio": "4:1:1", "amount": "600 ml", "thinner": "10"})
    for wrong in ("4:1:1:1", "4", "4:0:1", "4:1:"):
        with pytest.raises(BenchrunError):
            CALCS["mix"].work({"ratio": wrong, "amount": "600 ml"})


def test_parts_with_a_colon_are_said_both_ways_and_asked_about():
    base = {"basis": "v/v", "stock": "100", "amount": "5.5 l"}
    with pytest.raises(BenchrunError, match=r"type 1\+10 for 10 parts of water, or 1 in 10"):
        CALCS["dilute"].work({**base, "target": "1:10"})
    assert CALCS["dilute"].work({**base, "target": "1+10"})["stock_volume"].exact == "500"
    assert CALCS["dilute"].work({**base, "target": "1 in 10"})["stock_volume"].exact == "550"
    with pytest.raises(BenchrunError, match="so much stock"):
        CALCS["dilute"].work({**base, "target": "11 in 10"})
