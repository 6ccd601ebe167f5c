"""Mixing conserves the whole and the solute, whatever the figures."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science.errors import OutOfRange
from chemistry.science.formula import scaled, swap_factor
from chemistry.science.load import DoesNotFit, load_volume_ml, sheets_per_load
from chemistry.science.mixing import Dilution, mix, split_parts, total_from_stock_ul
from chemistry.science.percent import in_two_steps, strength_pct, to_strength_ul

totals = st.integers(0, 10**9)
dilutions = st.decimals(min_value=0, max_value=500, places=2).map(Dilution)
percents = st.decimals(min_value=0, max_value=100, places=2)


@given(totals, dilutions)
def test_stock_and_water_are_the_whole_and_stock_is_within_half_a_microlitre(total_ul, dilution):
    stock_ul, water_ul = mix(total_ul, dilution)

    exact = Fraction(total_ul) / (1 + Fraction(dilution.parts))
    assert stock_ul + water_ul == total_ul
    assert water_ul >= 0
    assert abs(stock_ul - exact) <= Fraction(1, 2)


@given(st.integers(0, 10**7), dilutions)
def test_stock_makes_the_total_from_which_it_comes(stock_ul, dilution):
    total_ul = total_from_stock_ul(stock_ul, dilution)

    assert abs(mix(total_ul, dilution)[0] - stock_ul) <= 1


@given(dilutions)
def test_a_dilution_survives_being_written_and_read(dilution):
    assert Dilution.parse(str(dilution)) == dilution


@given(st.integers(1000, 10**9), st.lists(st.integers(0, 200).map(Decimal), min_size=1, max_size=6))
def test_parts_sum_to_the_whole(total_ul, parts):
    if not any(parts):
        with pytest.raises(OutOfRange):
            split_parts(total_ul, parts)
        return
    amounts = split_parts(total_ul, parts)

    assert sum(amounts) == total_ul
    assert min(amounts) >= 0
    for amount, part in zip(amounts, parts, strict=True):
        exact = Fraction(total_ul) * Fraction(part) / Fraction(sum(parts))
        assert abs(amount - exact) <= Fraction(len(parts), 2)


def test_equal_parts_get_equal_amounts_and_the_water_takes_the_rest():
    assert split_parts(1000, [Decimal(1), Decimal(1), Decimal(100)]) == (10, 10, 980)
    assert split_parts(1000, [Decimal(1), Decimal(1), Decimal(5)], step_ul=100) == (100, 100, 800)


def test_a_total_too_small_to_be_split_is_refused():
    with pytest.raises(OutOfRange):
        split_parts(2, [Decimal(1)] * 4)


@given(st.integers(1, 10**9), percents, percents, percents)
def test_criss_cross_conserves_the_solute(total_ul, one, two, three):
    weak, wanted, strong = sorted((one, two, three))
    if weak == strong:
        return
    strong_ul, weak_ul = to_strength_ul(
        total_ul, strong_pct=strong, wanted_pct=wanted, weak_pct=weak
    )
    got = strength_pct([(Decimal(strong_ul), strong), (Decimal(weak_ul), weak)])

    assert strong_ul + weak_ul == total_ul
    assert abs(got - wanted) * total_ul <= (strong - weak) * Decimal("0.5") + Decimal("1e-9")


@given(st.integers(1_000_000, 10**8), st.integers(1, 60), st.integers(1, 60))
def test_two_steps_reach_the_dilution(total_ul, one, two):
    first = Dilution(Decimal(one))
    steps = in_two_steps(
        total_ul, first.then(Dilution(Decimal(two))), first=first, first_total_ul=total_ul
    )
    stock = Fraction(steps.taken_ul, 1 + one)

    assert steps.taken_ul + steps.second_water_ul == total_ul
    assert abs(stock - Fraction(total_ul, (1 + one) * (1 + two))) <= 1


@given(st.decimals(1, 1000, places=1), st.decimals(1, 9000, places=0))
def test_a_scaled_formula_is_right_to_half_a_step(grams, to_ml):
    step = Decimal("0.1")
    made = scaled({"metol": grams}, from_ml=Decimal(1000), to_ml=to_ml, step=step)

    assert abs(made["metol"] - grams * to_ml / 1000) <= step / 2
    assert made["metol"] % step == 0


def test_swapping_there_and_back_changes_nothing():
    there = swap_factor(specified="potassium hydroxide", on_hand="sodium hydroxide")
    back = swap_factor(specified="sodium hydroxide", on_hand="potassium hydroxide")

    assert abs(there * back - 1) < Decimal("1e-20")


areas = st.integers(1, 5_000_000).map(Decimal)
measures = st.integers(1, 500).map(Decimal)


@given(areas, measures, st.integers(0, 100).map(Decimal), measures)
def test_a_load_keeps_every_floor_or_says_what_would_fit(area_mm2, stock_ml, parts, per_pass_au):
    figures = {
        "vessel_min_ml": Decimal(100),
        "vessel_max_ml": Decimal(2000),
        "stock_ml_per_au": stock_ml,
        "dilution_parts": parts,
        "per_pass_mm2_per_l": per_pass_au * 51612,
    }
    most_mm2 = min(
        Decimal(2000) * Decimal("51612.8") / (stock_ml * (1 + parts)), 2 * per_pass_au * 51612
    )
    if area_mm2 > most_mm2 * Decimal("1.000001"):
        with pytest.raises(DoesNotFit) as refused:
            load_volume_ml(area_mm2=area_mm2, **figures)
        assert refused.value.largest_area_mm2 == pytest.approx(most_mm2)
        area_mm2 = most_mm2
    volume_ml = load_volume_ml(area_mm2=area_mm2 * Decimal("0.999999"), **figures)

    assert 100 <= volume_ml <= 2000
    assert volume_ml / (1 + parts) * Decimal("51612.8") >= stock_ml * area_mm2 * Decimal("0.99999")
    assert area_mm2 / volume_ml * 1000 <= per_pass_au * 51612 * Decimal("1.00001")


@given(st.integers(1, 12), measures, st.integers(0, 100).map(Decimal))
def test_one_more_sheet_would_not_fit(positions, stock_ml, parts):
    sheet_mm2, max_ml = Decimal("12903.2"), Decimal(1500)
    figures = {
        "vessel_max_ml": max_ml,
        "stock_ml_per_au": stock_ml,
        "dilution_parts": parts,
        "per_pass_mm2_per_l": None,
    }
    sheets = sheets_per_load(positions=positions, sheet_mm2=sheet_mm2, **figures)

    if sheets:
        load_volume_ml(vessel_min_ml=Decimal(1), area_mm2=sheets * sheet_mm2, **figures)
    if sheets < positions:
        with pytest.raises(DoesNotFit):
            load_volume_ml(vessel_min_ml=Decimal(1), area_mm2=(sheets + 1) * sheet_mm2, **figures)
