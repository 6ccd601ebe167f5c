"""What becomes of silver and hypo: conservation, and the worse rule."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import carry, fixing, silver, washing
from chemistry.science.area import AU_MM2
from chemistry.science.errors import OutOfRange
from chemistry.science.span import Span

shares = st.decimals(0, 1, places=4)
grams = st.decimals(0, 50, places=3)
volumes = st.integers(1000, 50_000_000)
FILM = washing.WashCase(washing.Material.FILM, hardening_fixer=False, water_c=20.0)


@given(shares, shares, st.integers(0, 20), volumes, volumes, shares)
def test_two_baths_move_towards_each_other_never_apart(one, two, sheets, first, second, part):
    before = fixing.TwoBaths(one, two)
    after = fixing.two_baths_after(
        before,
        area_mm2=AU_MM2 * sheets / 4,
        capacity_mm2_per_l=20 * AU_MM2,
        first_ul=first,
        second_ul=second,
        carried_ul=int(second * part),
    )

    assert after.first_wear >= one
    assert two <= after.second_wear <= max(two, after.first_wear)


def test_the_second_bath_gains_by_what_is_carried_over():
    after = fixing.two_baths_after(
        fixing.TwoBaths(Decimal("0.45"), Decimal("0.1")),
        area_mm2=AU_MM2,
        capacity_mm2_per_l=20 * AU_MM2,
        first_ul=1_000_000,
        second_ul=500_000,
        carried_ul=20_000,
    )

    assert after == fixing.TwoBaths(Decimal("0.5"), Decimal("0.116"))


def test_the_first_bath_goes_by_the_worse_of_count_and_clearing():
    fresh, used = fixing.TwoBaths(Decimal("0.3")), fixing.TwoBaths(Decimal(1))

    assert not fixing.must_rotate(fresh, None)
    assert not fixing.must_rotate(fresh, fixing.FixerVerdict.GOOD)
    assert fixing.must_rotate(fresh, fixing.FixerVerdict.SPENT)
    assert fixing.must_rotate(used, fixing.FixerVerdict.GOOD)


def test_a_pair_of_baths_ends_after_three_rotations():
    state, rotations = fixing.TwoBaths(Decimal(1), Decimal("0.1")), 0
    while (state := fixing.rotated(state)) is not None:
        rotations += 1

    assert rotations == 3


@given(grams, shares, shares, st.integers(0, 100))
def test_dissolved_silver_is_never_more_than_the_coating(coating, one, two, sheets):
    low, high = sorted((one, two))
    area_mm2 = AU_MM2 * sheets / 4
    into = silver.into_fixer_g(
        area_mm2=area_mm2, coating_g_per_m2=Span.exactly(coating), dissolved=Span(low, high)
    )

    assert 0 <= into.low <= into.high <= coating * area_mm2 / 1_000_000


@given(st.decimals(1, 12_000, places=1), st.decimals("0.5", "0.99", places=2), grams)
def test_as_many_stages_as_needed_and_no_more(start, efficiency, limit):
    limit += Decimal("0.01")
    stages = silver.stages_needed(start_mg_per_l=start, limit_mg_per_l=limit, efficiency=efficiency)

    assert silver.after_recovery(start, efficiency=efficiency, stages=stages) <= limit
    if stages:
        one_less = silver.after_recovery(start, efficiency=efficiency, stages=stages - 1)
        assert one_less > limit * Decimal("0.999999")


@given(st.decimals(1, 12_000, places=1), st.decimals(0, 12_000, places=1))
def test_the_efficiency_needed_comes_down_to_the_limit(start, limit):
    efficiency = silver.efficiency_needed(start_mg_per_l=start, limit_mg_per_l=limit)
    left = silver.after_recovery(start, efficiency=efficiency)

    assert abs(left - min(start, limit)) < Decimal("1e-9")


@given(st.integers(0, 100_000), grams, volumes)
def test_the_first_rinse_holds_exactly_what_was_carried(carried_ul, concentration, rinse_ul):
    rinse = silver.first_rinse_mg_per_l(
        carried_ul=carried_ul, fixer_g_per_l=concentration, rinse_ul=rinse_ul
    )
    carried_mg = silver.carried_out_mg(carried_ul, fixer_g_per_l=concentration)

    assert abs(rinse * (carried_ul + rinse_ul) / 1_000_000 - carried_mg) < Decimal("1e-15")


@given(st.floats(0.1, 50.0), st.floats(100.0, 5000.0), st.floats(1e-12, 0.5))
def test_the_fills_advised_are_enough_and_never_under_five(held_ml, fill_ml, residue):
    fills = washing.fills_for(FILM, held_ml=held_ml, fill_ml=fill_ml, residue=residue)
    left = washing.fill_residue(held_ml=held_ml, fill_ml=fill_ml, fills=fills)

    assert fills >= 5
    assert left <= residue * (1 + 1e-9)


@given(st.floats(1e-9, 1.0), st.floats(0.5, 10.0))
def test_running_water_for_the_minutes_advised_leaves_the_residue(residue, halving_min):
    minutes = washing.running_min(FILM, residue=residue, halving_min=halving_min)

    assert washing.running_residue(minutes, halving_min=halving_min) == pytest.approx(residue)


@given(st.floats(1.7, 30.0), st.floats(0.0, 5.0))
def test_colder_water_never_washes_faster(water_c, warmer):
    assert washing.cold_factor(water_c) >= washing.cold_factor(water_c + warmer) >= 1.0


def test_cold_water_asks_for_longer_soaks():
    cold = washing.WashCase(washing.Material.FILM, hardening_fixer=False, water_c=10.0)

    assert washing.soak_min(cold, soak_at_20_c_min=2.0) == pytest.approx(4.0)
    assert washing.soak_min(FILM, soak_at_20_c_min=2.0) == pytest.approx(2.0)


def test_fixing_twice_as_long_ten_degrees_colder():
    assert fixing.cold_fixing_factor(15.0) == pytest.approx(math.sqrt(2))


@given(st.integers(1, 10**7), shares)
def test_evaporation_takes_water_and_leaves_the_solute(volume_ul, share):
    left_ul = volume_ul - int(volume_ul * share * Decimal("0.99"))
    stronger = carry.concentrated(Decimal(100), before_ul=volume_ul, after_ul=left_ul)
    back = carry.concentrated(stronger, before_ul=left_ul, after_ul=volume_ul)

    assert stronger >= 100
    assert abs(back - 100) < Decimal("1e-20")


def test_no_more_evaporates_than_there_is():
    rate = carry.evaporation_rate_ul_per_cm2_h(
        lost_ul=12_000, open_cm2=Decimal(600), hours=Decimal(10)
    )
    figures = {"rate_ul_per_cm2_h": rate, "open_cm2": Decimal(300)}

    assert rate == 2
    assert carry.evaporated_ul(hours=Decimal(5), volume_ul=10**6, **figures) == 3000
    assert carry.evaporated_ul(hours=Decimal(5), volume_ul=1000, **figures) == 1000


def test_a_range_is_not_upside_down():
    with pytest.raises(OutOfRange):
        Span(Decimal(2), Decimal(1))
