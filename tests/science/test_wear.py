"""The replay of a bath's life: order, laws, and the facts that must not get lost."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science.area import AU_MM2
from chemistry.science.errors import OutOfRange, UnknownClass
from chemistry.science.replenish import RateStage
from chemistry.science.wear import (
    BathFigures,
    BathState,
    Refusal,
    ReplenishEvent,
    UseEvent,
    VolumeEvent,
    after_load,
    refusals,
    remaining_mm2,
    replay,
    rounded,
)

NOON = datetime(2025, 3, 1, 12, tzinfo=UTC)
LITRE = 1_000_000
FIXER = BathFigures(
    way="reused", capacity_mm2_per_l={"film": 20 * AU_MM2, "tabular film": 20 * AU_MM2 / 3 * 2}
)
TANK = BathFigures(
    way="replenished",
    capacity_mm2_per_l={},
    replenish_ul_per_au=Decimal(70_000),
    arrears_limit_mm2_per_l=2 * AU_MM2,
    turnover_limit=Decimal(1),
    area_limit_mm2_per_l=30 * AU_MM2,
)
CONCENTRATE = BathFigures(way="to_draw", capacity_mm2_per_l={})


def use(area_mm2, *, minutes=0, key=1, material="film"):
    at = NOON + timedelta(minutes=minutes)
    return UseEvent(at, at, key, Decimal(area_mm2), material)


def pour(delta_ul, *, minutes=0, key=1, incoming_wear=Decimal(0)):
    at = NOON + timedelta(minutes=minutes)
    return VolumeEvent(at, at, key, delta_ul, incoming_wear)


def replenish(added_ul, *, minutes=0, key=1):
    at = NOON + timedelta(minutes=minutes)
    return ReplenishEvent(at, at, key, added_ul)


def fixer_after(*events):
    return replay(events, figures=FIXER, full_ul=LITRE)


def tank_after(*events):
    return replay(events, figures=TANK, full_ul=LITRE)


def test_a_pass_takes_its_share_of_the_litres_there_are():
    state = fixer_after(pour(LITRE // 2, minutes=-9), use(AU_MM2))

    assert state == BathState(volume_ul=LITRE // 2, wear=Decimal("0.1"), area_mm2=AU_MM2)


def test_a_use_without_recorded_volume_counts_against_the_full_bath():
    assert fixer_after(use(AU_MM2)).wear == Decimal("0.05")


def test_an_unknown_material_wears_by_the_smallest_capacity():
    known = fixer_after(use(AU_MM2, material="tabular film"))

    assert fixer_after(use(AU_MM2, material="glass plate")) == known


def test_a_bath_without_any_capacity_is_spent_by_its_first_pass():
    figures = BathFigures(way="reused", capacity_mm2_per_l={})

    assert replay([use(1)], figures=figures, full_ul=LITRE).wear == 1


def test_at_one_moment_uses_come_before_movements():
    start, same_time = pour(LITRE, minutes=-9), pour(-LITRE // 2, key=0)

    assert fixer_after(start, same_time, use(AU_MM2)).wear == Decimal("0.05")


def test_a_back_dated_pour_changes_the_uses_after_it():
    late = VolumeEvent(NOON - timedelta(hours=1), NOON + timedelta(days=1), 9, 2 * LITRE)

    assert fixer_after(use(AU_MM2), late).wear == Decimal("0.025")


def test_incoming_liquid_brings_its_wear_by_volume():
    state = fixer_after(pour(LITRE), pour(3 * LITRE, minutes=1, incoming_wear=Decimal("0.8")))

    assert state.wear == Decimal("0.6")


def test_water_for_evaporation_changes_only_the_volume():
    worn = fixer_after(pour(LITRE), use(AU_MM2, minutes=1), pour(-LITRE // 10, minutes=2))
    topped = fixer_after(
        pour(LITRE),
        use(AU_MM2, minutes=1),
        pour(-LITRE // 10, minutes=2),
        pour(LITRE // 10, minutes=3, incoming_wear=None),
    )

    assert (worn.volume_ul, topped.volume_ul) == (900_000, LITRE)
    assert worn.wear == topped.wear == Decimal("0.05")


def test_a_filling_entered_late_does_not_wash_a_use_away():
    assert fixer_after(use(AU_MM2), pour(LITRE, minutes=1)).wear == Decimal("0.05")


def test_a_way_of_use_that_does_not_exist_is_an_error():
    with pytest.raises(ValueError, match="no such way of use"):
        BathFigures(way="one-shot", capacity_mm2_per_l={})


def test_a_capacity_of_nothing_is_an_error():
    with pytest.raises(OutOfRange):
        BathFigures(way="reused", capacity_mm2_per_l={"film": Decimal(0)})


def test_a_stored_state_is_rounded_to_twelve_places():
    state = BathState(LITRE, wear=Decimal(1) / 3)

    assert rounded(state).wear == Decimal("0.333333333333")
    assert rounded(rounded(state)) == rounded(state)


def test_a_table_of_rates_pays_by_the_area_already_paid():
    table = (RateStage(Decimal(0), Decimal(45_000)), RateStage(12 * AU_MM2, Decimal(22_000)))
    figures = replace(TANK, replenish_stages=table)
    events = [pour(LITRE), use(13 * AU_MM2, minutes=1), replenish(12 * 45_000, minutes=2)]

    assert replay(events, figures=figures, full_ul=LITRE).arrears_mm2 == AU_MM2


def test_a_bath_never_holds_less_than_nothing():
    assert fixer_after(pour(LITRE), pour(-2 * LITRE, minutes=1)).volume_ul == 0


def test_replenisher_pays_arrears_without_credit():
    owing = tank_after(pour(LITRE), use(2 * AU_MM2, minutes=1), replenish(70_000, minutes=2))
    paid = tank_after(pour(LITRE), use(2 * AU_MM2, minutes=1), replenish(700_000, minutes=2))

    assert (owing.arrears_mm2, owing.turnover) == (AU_MM2, Decimal("0.07"))
    assert (paid.arrears_mm2, paid.wear) == (0, 0)


def test_replenisher_does_not_move_volume_by_itself():
    assert tank_after(pour(LITRE), replenish(70_000, minutes=1)).volume_ul == LITRE


def test_concentrate_to_draw_neither_wears_nor_owes():
    state = replay([pour(LITRE), use(AU_MM2)], figures=CONCENTRATE, full_ul=LITRE)

    assert (state.wear, state.arrears_mm2, state.area_mm2) == (0, 0, AU_MM2)
    assert remaining_mm2(state, "film", CONCENTRATE) is None


@pytest.mark.parametrize(
    ("state", "figures", "material", "codes"),
    [
        (BathState(LITRE, wear=Decimal("0.95")), FIXER, "film", ()),
        (BathState(LITRE, wear=Decimal("0.951")), FIXER, "film", ("spent",)),
        (BathState(LITRE), FIXER, "FB paper", ("class",)),
        (BathState(0), FIXER, "film", ("volume",)),
        (BathState(LITRE, arrears_mm2=AU_MM2), TANK, "film", ()),
        (BathState(LITRE, arrears_mm2=AU_MM2 + 1), TANK, "film", ("arrears",)),
        (BathState(LITRE, turnover=Decimal("0.99")), TANK, "film", ()),
        (BathState(LITRE, turnover=Decimal(1)), TANK, "film", ("turnover",)),
        (BathState(LITRE, area_mm2=29 * AU_MM2 + 1), TANK, "film", ("area_limit",)),
        (BathState(0), CONCENTRATE, "film", ()),
    ],
)
def test_refusals(state, figures, material, codes):
    found = refusals(state, area_mm2=AU_MM2, material=material, figures=figures)

    assert tuple(refusal.code for refusal in found) == codes


@pytest.mark.parametrize(("turnover", "left"), [("0.99", AU_MM2 * 2), ("1", 0)])
def test_a_bath_at_its_turnover_takes_nothing_more(turnover, left):
    assert remaining_mm2(BathState(LITRE, turnover=Decimal(turnover)), "film", TANK) == left


def test_a_refusal_says_what_it_would_come_to():
    state = BathState(LITRE, wear=Decimal(1))

    assert refusals(state, area_mm2=AU_MM2, material="film", figures=FIXER) == (
        Refusal("spent", Decimal("1.05"), Decimal(1)),
    )


def test_planning_with_an_unknown_class_is_an_error():
    with pytest.raises(UnknownClass):
        after_load(
            BathState(LITRE), area_mm2=AU_MM2, material="glass", figures=FIXER, full_ul=LITRE
        )
    with pytest.raises(UnknownClass):
        remaining_mm2(BathState(LITRE), "glass", FIXER)


areas = st.integers(0, 40_000_000).map(lambda hundredths: Decimal(hundredths) / 100)
volumes = st.integers(1, 20_000_000)


@given(st.lists(areas, max_size=6), volumes, st.randoms())
def test_the_order_in_which_events_arrive_does_not_matter(sizes, volume_ul, random):
    events = [pour(volume_ul, minutes=-1), *(use(a, key=k) for k, a in enumerate(sizes))]
    shuffled = random.sample(events, len(events))

    assert replay(events, figures=FIXER, full_ul=LITRE) == replay(
        shuffled, figures=FIXER, full_ul=LITRE
    )


@given(volumes, st.decimals(0, 1, places=6), volumes, st.decimals(0, 1, places=6))
def test_pouring_together_conserves_what_is_used_up(here_ul, here, there_ul, there):
    state = fixer_after(
        pour(here_ul, incoming_wear=here), pour(there_ul, minutes=1, incoming_wear=there)
    )

    together = state.wear * state.volume_ul
    assert abs(together - (here * here_ul + there * there_ul)) < Decimal("1e-15")


@given(st.decimals(0, 1, places=6), volumes)
def test_what_remains_is_exactly_what_is_not_refused(wear, volume_ul):
    state = BathState(volume_ul, wear=wear)
    left = remaining_mm2(state, "film", FIXER)
    hair = Decimal("1e-9")

    if left > hair:
        assert refusals(state, area_mm2=left - hair, material="film", figures=FIXER) == ()
    assert refusals(state, area_mm2=left + hair, material="film", figures=FIXER) != ()


@given(st.lists(st.tuples(areas, st.integers(0, 500_000)), max_size=8))
def test_arrears_are_never_negative_and_turnover_only_grows(steps):
    events = [pour(LITRE, minutes=-1)]
    turnover = Decimal(0)
    for minute, (area, added) in enumerate(steps):
        events += [use(area, minutes=minute), replenish(added, minutes=minute)]
        state = tank_after(*events)

        assert state.arrears_mm2 >= 0
        assert state.turnover >= turnover
        turnover = state.turnover


@given(areas, volumes)
def test_a_planned_load_equals_the_same_load_replayed(area, volume_ul):
    before = fixer_after(pour(volume_ul))
    planned = after_load(before, area_mm2=area, material="film", figures=FIXER, full_ul=LITRE)

    assert planned == fixer_after(pour(volume_ul), use(area, minutes=1))
