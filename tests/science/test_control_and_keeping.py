"""Charts, thermometers, age and deadlines: laws, and figures worked out another way."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science import containers, control, deadlines, keeping, replenish, thermometers
from chemistry.science.area import AU_MM2
from chemistry.science.errors import OutOfRange

NOON = datetime(2025, 3, 1, 12, tzinfo=UTC)
densities = st.decimals("0.10", "2.50", places=2)
LIVES = {"full": Decimal(180), "half": Decimal(60), "tray": Decimal(1)}


@given(st.lists(densities, min_size=2, max_size=40))
def test_the_chart_is_that_of_the_textbook(values):
    chart = control.individuals(values)
    floats = np.array([float(value) for value in values])
    moving = np.abs(np.diff(floats)).mean()

    assert float(chart.mean) == pytest.approx(floats.mean())
    assert float(chart.upper - chart.mean) == pytest.approx(3 * moving / 1.128, abs=1e-12)
    assert abs(chart.upper + chart.lower - 2 * chart.mean) < Decimal("1e-20")


def test_no_moving_range_crosses_a_remix():
    values = [Decimal("0.50"), Decimal("0.52"), Decimal("0.90"), Decimal("0.92")]

    assert control.individuals(values).moving_range == Decimal("0.14")
    assert control.individuals(values, remixed_before={2}).moving_range == Decimal("0.02")


def strips(count, lot="lot 7", **changed):
    return [
        control.Strip(Decimal("0.50") + Decimal(n % 3) / 100, lot, **changed) for n in range(count)
    ]


def test_a_house_chart_wants_twenty_strips_of_one_lot():
    assert control.house_chart(strips(20)).sigma > 0
    with pytest.raises(OutOfRange):
        control.house_chart(strips(19))
    with pytest.raises(OutOfRange):
        control.house_chart([*strips(19), *strips(1, lot="lot 8")])


def test_a_house_chart_leaves_out_the_range_across_a_remix():
    later = [control.Strip(one.value + 1, one.lot, at == 0) for at, one in enumerate(strips(10))]

    assert control.house_chart([*strips(10), *later]).moving_range < Decimal("0.02")


@given(st.lists(densities, min_size=1, max_size=30))
def test_run_rules_are_blind_to_the_side(values):
    chart = control.Chart(Decimal(1), Decimal("0.1128"), Decimal("0.1"), Decimal(0), Decimal(2))
    mirrored = [2 - value for value in values]

    assert control.western_electric(values, chart) == control.western_electric(mirrored, chart)


@given(st.lists(densities, max_size=30))
def test_a_trend_is_a_strict_run(values):
    marked = {signal.at for signal in control.trends(values)}
    for at in range(len(values)):
        run = list(pairwise(values[at - 4 : at + 1])) if at >= 4 else []
        rising = bool(run) and all(a < b for a, b in run)
        falling = bool(run) and all(a > b for a, b in run)

        assert (at in marked) == (rising or falling)


def test_a_second_strip_past_the_control_limit_stops_the_bath():
    past, action, good = (
        control.Verdict.CONTROL,
        control.Verdict.ACTION,
        control.Verdict.IN_CONTROL,
    )

    assert control.answer(past) is control.Answer.REPEAT
    assert control.answer(past, past) is control.Answer.STOP
    assert control.answer(past, action) is control.Answer.FIND_CAUSE
    assert control.answer(past, good) is control.Answer.GO_ON


def test_the_nearest_comparison_gives_the_offset():
    compared = [
        thermometers.Comparison(Decimal("20.4"), Decimal("20.0")),
        thermometers.Comparison(Decimal("37.6"), Decimal("38.0")),
    ]

    assert thermometers.corrected_c(Decimal("20.0"), compared) == Decimal("19.6")
    assert thermometers.corrected_c(Decimal("38.0"), compared) == Decimal("38.4")
    with pytest.raises(thermometers.NotCompared):
        thermometers.corrected_c(Decimal("28.0"), compared)
    with pytest.raises(thermometers.NotCompared):
        thermometers.corrected_c(Decimal("20.0"), [])


@given(st.lists(st.tuples(st.sampled_from(sorted(LIVES)), st.integers(0, 10**7)), max_size=8))
def test_age_adds_up_and_never_shrinks(stays):
    at, intervals, used = NOON, [], Decimal(0)
    for state, seconds in stays:
        until = at + timedelta(seconds=seconds)
        intervals.append(keeping.Interval(state, at, until))
        at = until
        older = keeping.age_used(intervals, LIVES)
        assert older >= used
        used = older

    expected = sum(seconds / 86400 / float(LIVES[state]) for state, seconds in stays)
    assert float(used) == pytest.approx(expected)


@given(st.decimals(0, "0.99", places=2), st.sampled_from(sorted(LIVES)))
def test_at_the_instant_named_the_age_is_used_up(used, state):
    rate = keeping.rate_per_day(LIVES, state)
    until = keeping.good_until(NOON, used, rate)

    rest = keeping.age_used([keeping.Interval(state, NOON, until)], LIVES)
    assert abs(used + rest - 1) < Decimal("1e-10")


def test_time_does_not_run_backwards():
    with pytest.raises(OutOfRange):
        keeping.age_used([keeping.Interval("full", NOON, NOON - timedelta(days=1))], LIVES)


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 600))
def test_months_and_days_count_the_same_way(start, months):
    last = deadlines.last_day_of_months(start, months=months)

    assert (last.year - start.year) * 12 + last.month - start.month == months
    assert last.day <= start.day
    assert deadlines.last_day(start, days=deadlines.days_left(start, last)) == last


@given(st.integers(1, 10**9), st.decimals(1, 98, places=1), st.integers(0, 10**9))
def test_a_container_takes_no_more_than_its_line(capacity_ul, fill_pct, balance_ul):
    limit_ul = containers.fill_limit_ul(capacity_ul, fill_pct=fill_pct)
    room_ul = containers.room_ul(balance_ul=balance_ul, limit_ul=limit_ul)

    assert limit_ul <= capacity_ul * fill_pct / 100 < limit_ul + 1
    assert room_ul >= 0
    assert balance_ul + room_ul == max(balance_ul, limit_ul)


@given(st.integers(0, 10**10), st.decimals("0.8", "1.9", places=2))
def test_mass_and_volume_are_inverse(volume_ul, density):
    mass = containers.mass_kg(volume_ul, density_g_per_ml=density)

    assert volume_ul - containers.volume_ul(mass, density_g_per_ml=density) in (0, 1)


STAGES = [
    replenish.RateStage(Decimal(0), Decimal(45_000)),
    replenish.RateStage(12 * AU_MM2, Decimal(22_000)),
]
units = st.integers(0, 96).map(lambda quarters: AU_MM2 * quarters / 4)


@given(units, units)
def test_paying_what_is_owed_pays_for_the_area(one, two):
    paid_to, area = sorted((one, two))
    owed = replenish.owed_by_stages_ul(STAGES, paid_to_mm2=paid_to, area_mm2=area)
    paid = replenish.paid_mm2(STAGES, paid_to_mm2=paid_to, added_ul=owed)

    assert area - paid_to - Decimal("1e-9") <= paid < area - paid_to + AU_MM2 / 22_000 + 1


@given(units, st.integers(1000, 200_000).map(Decimal))
def test_one_rate_or_a_table_of_one_stage_owe_the_same(area, rate):
    stages = [replenish.RateStage(Decimal(0), rate)]

    by_table = replenish.owed_by_stages_ul(stages, paid_to_mm2=Decimal(0), area_mm2=area)
    assert by_table == replenish.owed_ul(area, rate)
    assert replenish.rate_at(stages, area) == rate


@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_after_the_bleed_the_replenisher_just_fits(volume_ul, added_ul):
    bleed = replenish.bleed_ul(volume_ul, added_ul, 10**6)

    assert 0 <= bleed <= volume_ul
    assert volume_ul - bleed + added_ul == min(volume_ul + added_ul, 10**6)


@pytest.mark.parametrize(
    "stages",
    [[], STAGES[1:], [STAGES[0], STAGES[0]], [replenish.RateStage(Decimal(0), Decimal(0))]],
)
def test_a_table_of_rates_ascends_from_zero(stages):
    with pytest.raises(OutOfRange):
        replenish.rate_at(stages, Decimal(0))
