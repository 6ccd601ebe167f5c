"""Times against an independent least-squares fit, and the laws they must keep."""

import math
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from chemistry.science.errors import OutOfRange
from chemistry.science.kinetics import TimeFactors, fit_k, reuse_factor, time_at_s
from chemistry.science.rows import PrintedRow, SharedCoefficient, row_fit, row_time_min

ROW = PrintedRow("film, developer, tank", ((20.0, 8.0), (22.0, 6.75), (24.0, 5.75)))
temps = st.floats(20.0, 24.0)
coefficients = st.floats(0.0, 0.2)


@given(st.lists(st.tuples(st.integers(150, 300), st.floats(1.0, 60.0)), min_size=2, max_size=12))
def test_the_fit_is_the_least_squares_line(rows):
    rows = [(tenths / 10, minutes) for tenths, minutes in rows]
    assume(len({temp for temp, _ in rows}) > 1)
    line = stats.linregress([temp for temp, _ in rows], [math.log(m) for _, m in rows])
    if line.slope > -1e-9:
        return
    fit = fit_k(rows)

    assert fit.k_per_c == pytest.approx(-line.slope, rel=1e-7, abs=1e-12)
    at_base = line.intercept + line.slope * fit.base_c
    assert math.log(fit.base_min) == pytest.approx(at_base, rel=1e-9, abs=1e-9)


@given(coefficients, temps, temps)
def test_there_and_back_is_the_same_time(k_per_c, here_c, there_c):
    figures = {"k_per_c": k_per_c, "low_c": 20.0, "high_c": 24.0}
    there_s = time_at_s(480.0, here_c, there_c, **figures)

    assert time_at_s(there_s, there_c, here_c, **figures) == pytest.approx(480.0, rel=1e-12)


@given(st.floats(0.01, 0.2), temps, temps)
def test_warmer_is_never_slower(k_per_c, one_c, two_c):
    cooler, warmer = sorted((one_c, two_c))
    figures = {"k_per_c": k_per_c, "low_c": 20.0, "high_c": 24.0}

    assert time_at_s(480.0, 20.0, warmer, **figures) <= time_at_s(480.0, 20.0, cooler, **figures)


@pytest.mark.parametrize(("base_c", "actual_c"), [(19.9, 20.0), (20.0, 24.1), (20.0, math.nan)])
def test_nothing_is_said_outside_the_printed_range(base_c, actual_c):
    with pytest.raises(OutOfRange):
        time_at_s(480.0, base_c, actual_c, k_per_c=0.07, low_c=20.0, high_c=24.0)


@given(temps)
def test_a_row_stays_between_its_own_times(actual_c):
    assert 5.0 < row_time_min(ROW, actual_c) < 8.5


def test_a_row_answers_with_its_own_fit_only():
    other = PrintedRow("another film", ((20.0, 9.0), (24.0, 6.0)))

    assert row_time_min(ROW, 21.0, fit=row_fit(ROW)) == row_time_min(ROW, 21.0)
    with pytest.raises(SharedCoefficient):
        row_time_min(ROW, 21.0, fit=row_fit(other))


def test_a_row_printed_at_one_temperature_answers_there_only():
    row = PrintedRow("one temperature", ((20.0, 11.0),))

    assert row_time_min(row, 20.0) == 11.0
    with pytest.raises(OutOfRange):
        row_time_min(row, 20.2)


@given(st.integers(0, 400))
def test_reuse_grows_in_even_steps(quarters):
    factor = reuse_factor(
        area_before_mm2_per_l=Decimal(quarters),
        step_mm2_per_l=Decimal(4),
        gain_per_step=Decimal("0.1"),
        way="reused",
    )

    assert factor == float(1 + Decimal("0.1") * (quarters // 4))


@given(st.floats(1.0, 3.0), st.floats(1.0, 1.5), st.floats(0.5, 2.0))
def test_every_factor_counts_once(reuse, short_volume, temperature):
    factors = TimeFactors(reuse=reuse, short_volume=short_volume, temperature=temperature)

    expected = 600.0 * math.prod((reuse, short_volume, temperature))
    assert factors.apply(600.0) == pytest.approx(expected, rel=1e-12)


def test_a_factor_of_nothing_is_no_factor():
    with pytest.raises(OutOfRange):
        TimeFactors(temperature=0.0).apply(600.0)
