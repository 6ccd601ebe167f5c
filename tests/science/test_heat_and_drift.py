"""Heat and drift against water tables, quadrature and root finding done elsewhere."""

import math

import iapws
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import integrate, optimize

from chemistry.science import cooling, heat, warmup
from chemistry.science.drift import (
    Course,
    NotRetimed,
    colour_time_min,
    drift_time_min,
    effect_by_steps_min,
    effect_min,
    rescaled_tau_min,
)
from chemistry.science.errors import OutOfRange

temps = st.floats(16.0, 30.0)
taus = st.floats(5.0, 400.0)
coefficients = st.floats(0.01, 0.15)
lengths = st.floats(0.5, 60.0)
courses = st.builds(Course, temps, temps, taus)


def rate(course, k_per_c, reference_c=20.0):
    return lambda minutes: math.exp(k_per_c * (course.at_c(minutes) - reference_c))


@pytest.mark.parametrize("temp_c", [15.0, 17.3, 20.0, 23.1, 27.5, 32.5, 36.4, 38.0, 40.0])
def test_water_is_that_of_iapws(temp_c):
    water = iapws.IAPWS95(T=temp_c + 273.15, P=0.101325)

    assert heat.water_density_g_per_ml(temp_c) == pytest.approx(water.rho / 1000, abs=5e-5)
    assert heat.water_j_per_g_c(temp_c) == pytest.approx(water.cp, abs=5e-4)


@given(courses, lengths, coefficients)
def test_the_closed_form_is_the_integral(course, minutes, k_per_c):
    expected, _ = integrate.quad(rate(course, k_per_c), 0, minutes, epsabs=1e-11, epsrel=1e-11)

    got = effect_min(course, minutes, k_per_c=k_per_c, reference_c=20.0)
    stepped = effect_by_steps_min(course, minutes, k_per_c=k_per_c, reference_c=20.0)
    assert got == pytest.approx(expected, rel=1e-9)
    assert stepped == pytest.approx(expected, rel=1e-5)


@given(courses, st.floats(2.0, 30.0), coefficients)
def test_the_drift_time_is_the_root(course, printed_min, k_per_c):
    def short(minutes):
        done, _ = integrate.quad(rate(course, k_per_c), 0, minutes, epsabs=1e-11)
        return done - printed_min

    expected = optimize.brentq(short, 0, printed_min * 30, xtol=1e-10)
    got = drift_time_min(
        course, printed_min=printed_min, reference_c=20.0, k_per_c=k_per_c, low_c=10.0, high_c=35.0
    )
    assert got == pytest.approx(expected, rel=1e-7)


@given(st.floats(20.0, 24.0), taus, coefficients)
def test_a_bath_that_holds_gives_the_plain_time(temp_c, tau_min, k_per_c):
    got = drift_time_min(
        Course(temp_c, temp_c, tau_min),
        printed_min=8.0,
        reference_c=20.0,
        k_per_c=k_per_c,
        low_c=20.0,
        high_c=24.0,
    )

    assert got == pytest.approx(8.0 * math.exp(-k_per_c * (temp_c - 20.0)), rel=1e-9)


@given(st.floats(20.5, 23.5), st.floats(18.0, 20.0), taus)
def test_a_cooler_room_never_shortens_the_time(start_c, room_c, tau_min):
    figures = {"printed_min": 6.0, "reference_c": 20.0, "k_per_c": 0.08}
    wide = {"low_c": 10.0, "high_c": 30.0}
    here = drift_time_min(Course(start_c, room_c, tau_min), **figures, **wide)
    colder = drift_time_min(Course(start_c, room_c - 1.0, tau_min), **figures, **wide)

    assert colder >= here


@pytest.mark.parametrize(
    "course", [Course(24.1, 24.1, 60.0), Course(21.0, 15.0, 20.0), Course(23.8, 30.0, 30.0)]
)
def test_a_course_that_leaves_the_row_is_refused(course):
    with pytest.raises(OutOfRange):
        drift_time_min(
            course, printed_min=8.0, reference_c=20.0, k_per_c=0.08, low_c=20.0, high_c=24.0
        )


def test_colour_is_refused_when_it_drifts_out_and_is_never_retimed():
    held = Course(37.9, 37.7, 300.0)

    assert colour_time_min(held, printed_min=3.25, aim_c=37.8, tolerance_c=0.15) == 3.25
    with pytest.raises(NotRetimed):
        colour_time_min(Course(37.8, 22.0, 60.0), printed_min=3.25, aim_c=37.8, tolerance_c=0.15)


@given(courses, st.floats(0.0, 3.0))
def test_minutes_to_a_temperature_is_the_inverse_of_the_course(course, share):
    assume(abs(course.start_c - course.surroundings_c) > 0.5)
    minutes = share * course.tau_min

    assert course.minutes_to(course.at_c(minutes)) == pytest.approx(minutes, rel=1e-6, abs=1e-6)


@given(courses, lengths, temps)
def test_the_worst_distance_bounds_the_whole_course(course, minutes, aim_c):
    worst = course.worst_c(minutes, aim_c=aim_c)

    for part in range(11):
        assert abs(course.at_c(minutes * part / 10) - aim_c) <= worst + 1e-9


@given(st.floats(100.0, 20_000.0), st.floats(0.0, 5000.0), temps, temps)
def test_pouring_at_the_answer_gives_the_temperature_wanted(solution, vessel, wanted_c, vessel_c):
    poured_c = heat.pour_at_c(
        wanted_c=wanted_c, solution_j_per_c=solution, vessel_j_per_c=vessel, vessel_c=vessel_c
    )
    got = heat.pour_in_c(
        solution_j_per_c=solution, poured_c=poured_c, vessel_j_per_c=vessel, vessel_c=vessel_c
    )

    assert got == pytest.approx(wanted_c, abs=1e-6)


@given(st.floats(500.0, 30_000.0), st.floats(16.0, 22.0), st.floats(23.0, 40.0), st.floats(0, 9e3))
def test_tempering_water_brings_the_bath_there(bath_ml, bath_c, wanted_c, vessel):
    added_ml = heat.water_to_temper_ml(
        bath_ml=bath_ml, bath_c=bath_c, wanted_c=wanted_c, water_c=60.0, vessel_j_per_c=vessel
    )
    per_ml = heat.solution_j_per_c(1.0)
    parts = [(bath_ml * per_ml, bath_c), (vessel, bath_c), (added_ml * per_ml, 60.0)]

    assert heat.balance_c(parts) == pytest.approx(wanted_c, abs=1e-9)


@given(st.lists(st.tuples(st.floats(0.1, 9e4), temps), min_size=1, max_size=5))
def test_a_balance_lies_between_its_parts_and_conserves_heat(parts):
    got = heat.balance_c(parts)
    gained = math.fsum(capacity * (got - temp_c) for capacity, temp_c in parts)

    assert min(t for _, t in parts) - 1e-9 <= got <= max(t for _, t in parts) + 1e-9
    assert abs(gained) <= 1e-6 * sum(capacity for capacity, _ in parts)


@given(courses, st.floats(0.2, 3.0))
def test_three_readings_give_the_surroundings_and_the_constant(course, share):
    assume(abs(course.start_c - course.surroundings_c) > 1.0)
    spacing_min = share * course.tau_min
    first, second, third = (course.at_c(n * spacing_min) for n in range(3))

    assert cooling.surroundings_c(first, second, third) == pytest.approx(
        course.surroundings_c, abs=1e-6
    )
    assert cooling.tau_from_three_min(
        first, second, third, spacing_min=spacing_min
    ) == pytest.approx(course.tau_min, rel=1e-6)


@given(courses, st.integers(2, 12))
def test_a_logged_cool_down_gives_its_constant_back(course, readings):
    assume(abs(course.start_c - course.surroundings_c) > 1.0)
    rows = [
        (n * course.tau_min / 10, course.at_c(n * course.tau_min / 10)) for n in range(readings)
    ]
    fit = cooling.fit_cooling(rows, surroundings_c=course.surroundings_c)

    assert fit.tau_min == pytest.approx(course.tau_min, rel=1e-6)
    assert fit.start_c == pytest.approx(course.start_c, abs=1e-6)
    assert fit.worst_c < 1e-6


def test_a_cool_down_is_fitted_as_least_squares_would():
    rows = [(0.0, 38.0), (5.0, 36.1), (10.0, 34.6), (20.0, 31.7), (40.0, 27.9)]

    def miss(guess):
        return [guess[0] - minutes / guess[1] - math.log(temp_c - 20.0) for minutes, temp_c in rows]

    best = optimize.least_squares(miss, (3.0, 40.0), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    fit = cooling.fit_cooling(rows, surroundings_c=20.0)

    assert fit.tau_min == pytest.approx(best.x[1], rel=1e-6)


def test_a_rescaled_constant_keeps_the_loss():
    tau_min = rescaled_tau_min(
        90.0, logged_j_per_c=2000.0, actual_j_per_c=2400.0, vessel_j_per_c=400.0
    )

    assert warmup.loss_w_per_c(heat_j_per_c=2800.0, tau_min=tau_min) == pytest.approx(
        warmup.loss_w_per_c(heat_j_per_c=2400.0, tau_min=90.0)
    )
    with pytest.raises(OutOfRange):
        rescaled_tau_min(90.0, logged_j_per_c=2000.0, actual_j_per_c=2501.0, vessel_j_per_c=0.0)


@given(st.floats(1e4, 1e5), st.floats(200.0, 2000.0), st.floats(0.5, 8.0), st.floats(15.0, 25.0))
def test_warm_up_is_the_solution_of_its_equation(capacity, power_w, loss, start_c):
    figures = {"power_w": power_w, "loss_w_per_c": loss, "room_c": 20.0}
    if not warmup.can_hold(target_c=38.0, **figures):
        with pytest.raises(warmup.CannotHold):
            warmup.warm_up_min(heat_j_per_c=capacity, start_c=start_c, target_c=38.0, **figures)
        return
    minutes = warmup.warm_up_min(heat_j_per_c=capacity, start_c=start_c, target_c=38.0, **figures)
    course = Course(start_c, warmup.highest_c(**figures), capacity / loss / 60)

    assert course.at_c(minutes) == pytest.approx(38.0, abs=1e-9)
    without_loss = capacity * (38.0 - start_c) / power_w / 60
    assert minutes > without_loss or start_c < 20.0


@given(st.floats(1.0, 60.0), st.floats(0.2, 20.0), st.floats(0.05, 1.0))
def test_after_its_lag_a_bottle_is_within_the_tolerance(tau_min, away_c, tolerance_c):
    lag_min = warmup.bottle_lag_min(
        tau_bottle_min=tau_min, difference_c=-away_c, tolerance_c=tolerance_c
    )

    assert lag_min >= 0
    assert away_c * math.exp(-lag_min / tau_min) <= tolerance_c * (1 + 1e-9)
