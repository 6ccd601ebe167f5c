"""Temperature that drifts during development, and the time that makes up for it."""

import math
from dataclasses import dataclass

from chemistry.science.errors import OutOfRange, check_positive, check_range

STEEPEST = 8.0
"""Bound on |k · (start - surroundings)|: the series is exact to rounding inside it."""

WIDEST_RESCALE = 0.25
HAIR_C = 1e-9


class NotRetimed(ValueError):
    """A colour step outside its tolerance is unusable; a longer time does not mend it."""

    def __init__(self, temp_c: float, aim_c: float, tolerance_c: float) -> None:
        super().__init__(temp_c, aim_c, tolerance_c)
        self.temp_c = temp_c
        self.aim_c = aim_c
        self.tolerance_c = tolerance_c


@dataclass(frozen=True, slots=True)
class Course:
    """A temperature on its way from ``start_c`` towards the surroundings."""

    start_c: float
    surroundings_c: float
    tau_min: float

    def __post_init__(self) -> None:
        check_range("start_c", self.start_c, None)
        check_range("surroundings_c", self.surroundings_c, None)
        check_positive("tau_min", self.tau_min)

    def at_c(self, minutes: float) -> float:
        """Temperature after ``minutes``.

        Units: min, °C.  Domain: minutes >= 0.  Raises: OutOfRange.
        Source: Newton's law of cooling, T_s + (T₀ - T_s)·e^(-t/τ).
        """
        check_range("minutes", minutes, 0)
        away = self.start_c - self.surroundings_c
        return self.surroundings_c + away * math.exp(-minutes / self.tau_min)

    def minutes_to(self, temp_c: float) -> float:
        """Minutes until ``temp_c`` is reached.

        Units: °C, min.  Domain: between start and surroundings, short of the latter.
        Raises: OutOfRange.
        """
        away = self.start_c - self.surroundings_c
        left = temp_c - self.surroundings_c
        if left == 0 or away == 0 or not 0 < left / away <= 1:
            raise OutOfRange("temp_c", temp_c, *sorted((self.start_c, self.surroundings_c)))
        return self.tau_min * math.log(away / left)

    def worst_c(self, minutes: float, *, aim_c: float) -> float:
        """Largest distance from ``aim_c`` until ``minutes``; the course never turns back."""
        return max(abs(self.start_c - aim_c), abs(self.at_c(minutes) - aim_c))


def effect_min(course: Course, minutes: float, *, k_per_c: float, reference_c: float) -> float:
    """Minutes at ``reference_c`` that develop as much as ``minutes`` on this course.

    The integral of exp(k·(T - T_ref)) in closed form: with u = e^(-t/τ) and
    x = k·(T₀ - T_s) it is e^(k·(T_s - T_ref)) · (t + τ · Σ xⁿ(1 - uⁿ) ÷ (n·n!)), n = 1, 2, …
    Units: min, 1/°C, °C.  Domain: |x| <= 8.  Raises: OutOfRange.
    Source: exponential integral, power series (Abramowitz & Stegun 5.1.10).
    """
    check_range("minutes", minutes, 0)
    series = _series(course, k_per_c)
    return _base(course, k_per_c, reference_c) * _grown(series, course.tau_min, minutes)


def effect_by_steps_min(
    course: Course, minutes: float, *, k_per_c: float, reference_c: float, steps: int = 200
) -> float:
    """The same integral by Simpson's rule: the numerical check of ``effect_min``.

    Units: min, 1/°C, °C.  Domain: steps even and above zero.  Raises: OutOfRange.
    """
    if steps < 2 or steps % 2:
        raise OutOfRange("steps", steps, 2, None)
    width = minutes / steps
    total = 0.0
    for step in range(steps + 1):
        weight = 1 if step in (0, steps) else 4 if step % 2 else 2
        total += weight * math.exp(k_per_c * (course.at_c(step * width) - reference_c))
    return total * width / 3


def drift_time_min(
    course: Course,
    *,
    printed_min: float,
    reference_c: float,
    k_per_c: float,
    low_c: float,
    high_c: float,
) -> float:
    """Time on this course with the effect of ``printed_min`` at ``reference_c``.

    Newton's method on the closed form; the effect is concave when cooling and convex when
    warming, so that from this start it closes in from one side and cannot miss.
    Units: min, °C, 1/°C.  Domain: the whole course within the row's range.
    Raises: OutOfRange, also where the temperature leaves the row's range on the way.
    Source: equal integral of the rate exp(k·(T - T_ref)).
    """
    check_positive("printed_min", printed_min)
    check_range("reference_c", reference_c, low_c, high_c)
    check_range("start_c", course.start_c, low_c, high_c)
    series, base = _series(course, k_per_c), _base(course, k_per_c, reference_c)
    minutes = printed_min / math.exp(k_per_c * (course.start_c - reference_c))
    for _ in range(60):
        rate = math.exp(k_per_c * (course.at_c(minutes) - reference_c))
        missing = printed_min - base * _grown(series, course.tau_min, minutes)
        minutes += missing / rate
        if abs(missing) <= 1e-12 * printed_min:
            break
    check_range("end_c", course.at_c(minutes), low_c, high_c)
    return minutes


def colour_time_min(
    course: Course, *, printed_min: float, aim_c: float, tolerance_c: float
) -> float:
    """The printed time, unchanged, if the course stays within the tolerance throughout.

    Units: min, °C.  Domain: tolerance above zero.  Raises: NotRetimed, OutOfRange.
    Source: process manuals give one time and a tolerance for colour developers, and no other.
    """
    check_positive("printed_min", printed_min)
    check_positive("tolerance_c", tolerance_c)
    for temp_c in (course.start_c, course.at_c(printed_min)):
        if abs(temp_c - aim_c) > tolerance_c + HAIR_C:
            raise NotRetimed(temp_c, aim_c, tolerance_c)
    return printed_min


def rescaled_tau_min(
    tau_min: float, *, logged_j_per_c: float, actual_j_per_c: float, vessel_j_per_c: float
) -> float:
    """A logged cooling constant carried over to another volume in the same vessel.

    Units: min, J/°C of the solution, J/°C of the vessel.
    Domain: the volume within 25 % of the logged one.  Raises: OutOfRange.
    Source: τ = (m·c + C_v) ÷ (h·A), with h·A unchanged.
    """
    check_positive("tau_min", tau_min)
    check_positive("logged_j_per_c", logged_j_per_c)
    check_range("vessel_j_per_c", vessel_j_per_c, 0)
    low, high = 1 - WIDEST_RESCALE - HAIR_C, 1 + WIDEST_RESCALE + HAIR_C
    check_range("actual_j_per_c", actual_j_per_c, low * logged_j_per_c, high * logged_j_per_c)
    return tau_min * (actual_j_per_c + vessel_j_per_c) / (logged_j_per_c + vessel_j_per_c)


def _base(course: Course, k_per_c: float, reference_c: float) -> float:
    return math.exp(k_per_c * (course.surroundings_c - reference_c))


def _series(course: Course, k_per_c: float) -> list[float]:
    """Coefficients xⁿ ÷ (n·n!), until they no longer count."""
    check_range("k_per_c", k_per_c, 0)
    x = k_per_c * (course.start_c - course.surroundings_c)
    check_range("k_per_c * (start_c - surroundings_c)", x, -STEEPEST, STEEPEST)
    power, terms = 1.0, []
    for n in range(1, 60):
        power *= x / n
        terms.append(power / n)
        if abs(power) < 1e-18 * (1 + abs(x)):
            break
    return terms


def _grown(series: list[float], tau_min: float, minutes: float) -> float:
    """t + τ · Σ coefficient · (1 - uⁿ)."""
    u = math.exp(-minutes / tau_min)
    grown, power = 0.0, 1.0
    for term in series:
        power *= u
        grown += term * (1.0 - power)
    return minutes + tau_min * grown
