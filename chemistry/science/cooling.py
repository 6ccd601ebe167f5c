"""Cooling constants, from what a thermometer showed while a vessel cooled."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from chemistry.science.errors import OutOfRange, check_positive, check_range


@dataclass(frozen=True, slots=True)
class CoolingFit:
    """A vessel's cooling constant, and by how much the worst reading misses the curve."""

    tau_min: float
    start_c: float
    surroundings_c: float
    worst_c: float


def fit_cooling(rows: Sequence[tuple[float, float]], *, surroundings_c: float) -> CoolingFit:
    """Least-squares line through ln(T - T_s) over time.

    Units: (min, °C), °C.  Domain: readings at two times at least, all on one side of the
    surroundings, and coming nearer to them.  Raises: OutOfRange.
    Source: Newton's law of cooling.
    """
    side = 1.0 if rows and rows[0][1] > surroundings_c else -1.0
    for minutes, temp_c in rows:
        check_range("minutes", minutes, None)
        check_positive("temp_c - surroundings_c", side * (temp_c - surroundings_c))
    times = [minutes for minutes, _ in rows]
    if len(set(times)) < 2:
        raise OutOfRange("readings", len(set(times)), 2, None)
    logs = [math.log(side * (temp_c - surroundings_c)) for _, temp_c in rows]
    slope, level = _line(times, logs)
    check_positive("1 / tau_min", -slope)
    start_c = surroundings_c + side * math.exp(level)
    misses = [
        abs(surroundings_c + side * math.exp(level + slope * minutes) - temp_c)
        for minutes, temp_c in rows
    ]
    return CoolingFit(-1 / slope, start_c, surroundings_c, max(misses))


def surroundings_c(first_c: float, second_c: float, third_c: float) -> float:
    """Temperature of unknown surroundings, from three readings equally far apart in time.

    Units: °C.  Domain: readings run one way and slow down.  Raises: OutOfRange.
    Source: the differences to the surroundings form a geometric series, hence
    T_s = (T₁·T₃ - T₂²) ÷ (T₁ + T₃ - 2·T₂).
    """
    _ratio(first_c, second_c, third_c)
    step, next_step = second_c - first_c, third_c - second_c
    return first_c + step * step / (step - next_step)


def tau_from_three_min(
    first_c: float, second_c: float, third_c: float, *, spacing_min: float
) -> float:
    """Cooling constant from the same three readings.

    Units: °C, min.  Domain: as ``surroundings_c``, spacing above zero.  Raises: OutOfRange.
    """
    check_positive("spacing_min", spacing_min)
    return spacing_min / -math.log(_ratio(first_c, second_c, third_c))


def _ratio(first_c: float, second_c: float, third_c: float) -> float:
    """What is left of the difference after one interval: above zero, below one."""
    for temp_c in (first_c, second_c, third_c):
        check_range("temp_c", temp_c, None)
    step, next_step = second_c - first_c, third_c - second_c
    ratio = next_step / step if step else math.inf
    if not 0 < ratio < 1:
        raise OutOfRange("third_c", third_c, *sorted((second_c, second_c + step)))
    return ratio


def _line(xs: Sequence[float], ys: Sequence[float]) -> tuple[float, float]:
    mean_x, mean_y = math.fsum(xs) / len(xs), math.fsum(ys) / len(ys)
    across = math.fsum((x - mean_x) * (y - mean_y) for x, y in zip(xs, ys, strict=True))
    slope = across / math.fsum((x - mean_x) ** 2 for x in xs)
    return slope, mean_y - slope * mean_x
