"""Developing times: temperature, reuse and short volume, each counted once."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from chemistry.science.errors import OutOfRange, check_positive, check_range

SHORTEST_EVEN_MIN = 5.0
"""Below this, development may be uneven. Source: film makers' sheets; common practice."""


@dataclass(frozen=True, slots=True)
class Fit:
    """t(T) = base_min · exp(-k (T - base_c)), valid from low_c to high_c only."""

    k_per_c: float
    base_c: float
    base_min: float
    low_c: float
    high_c: float
    worst_ln: float
    row: str = ""

    @property
    def q10(self) -> float:
        """Factor on the rate per 10 °C."""
        return math.exp(10 * self.k_per_c)

    @property
    def log10_per_c(self) -> float:
        """Wall's form of the coefficient: decades of time per °C."""
        return self.k_per_c / math.log(10)


def fit_k(rows: Sequence[tuple[float, float]], *, row: str = "") -> Fit:
    """Least-squares fit of ln(time) to the printed temperatures of one row.

    The base temperature is the row's lowest. A k belongs to its film, developer and
    dilution and is never shared: published rows run from 0.036 to 0.108 per °C. ``row`` names
    the row, so that the fit can be refused for any other.
    Units: (°C, min).  Domain: two different temperatures at least, times above zero, and
    times that do not grow with temperature.  Raises: OutOfRange.
    Source: exponential law of reaction kinetics; regression on Kodak F-32 (2001).
    """
    for temp_c, minutes in rows:
        check_range("temp_c", temp_c, None)
        check_positive("minutes", minutes)
    temps = [temp_c for temp_c, _ in rows]
    if len(set(temps)) < 2:
        raise OutOfRange("temperatures", len(set(temps)), 2, None)
    slope, mean_c, mean_ln = _line(rows)
    check_range("k_per_c", -slope, 0)
    worst = max(abs(math.log(m) - mean_ln - slope * (t - mean_c)) for t, m in rows)
    base_min = math.exp(mean_ln + slope * (min(temps) - mean_c))
    return Fit(-slope, min(temps), base_min, min(temps), max(temps), worst, row)


def _line(rows: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    mean_c = math.fsum(t for t, _ in rows) / len(rows)
    mean_ln = math.fsum(math.log(m) for _, m in rows) / len(rows)
    across = math.fsum((t - mean_c) * (math.log(m) - mean_ln) for t, m in rows)
    return across / math.fsum((t - mean_c) ** 2 for t, _ in rows), mean_c, mean_ln


def time_at_s(
    base_s: float,
    base_c: float,
    actual_c: float,
    *,
    k_per_c: float,
    low_c: float,
    high_c: float,
) -> float:
    """Developing time at ``actual_c`` with the same effect as ``base_s`` at ``base_c``.

    Units: s, °C, 1/°C.  Domain: both temperatures inside the printed range of the row.
    Raises: OutOfRange.
    Source: t = t₀ · exp(-k ΔT), k fitted to the same row.
    """
    check_positive("base_s", base_s)
    check_range("base_c", base_c, low_c, high_c)
    check_range("actual_c", actual_c, low_c, high_c)
    check_range("k_per_c", k_per_c, 0)
    return base_s * math.exp(-k_per_c * (actual_c - base_c))


def reuse_factor(
    *,
    area_before_mm2_per_l: Decimal,
    step_mm2_per_l: Decimal,
    gain_per_step: Decimal,
    way: str,
) -> float:
    """Factor on the time for what the bath developed *before* this load; linear in steps.

    Units: mm²/L, share of the time per step.  Domain: none negative, step above zero.
    Raises: OutOfRange; ValueError unless the bath is a reused one, for a one-shot or a
    replenished developer is never compensated so.
    Source: makers' reuse rules (so much longer per film already developed in a litre).
    """
    if way != "reused":
        raise ValueError(f"time is not extended for a bath that is {way}")
    check_range("area_before_mm2_per_l", area_before_mm2_per_l, 0)
    check_positive("step_mm2_per_l", step_mm2_per_l)
    check_range("gain_per_step", gain_per_step, 0)
    steps = (area_before_mm2_per_l / step_mm2_per_l).to_integral_value(rounding=ROUND_FLOOR)
    return float(1 + gain_per_step * steps)


def short_volume_factor(
    *, ml_per_au: Decimal, full_ml_per_au: Decimal, short_ml_per_au: Decimal, gain: Decimal
) -> float:
    """Factor on the time where film shares less solution than the maker's full measure.

    One step: from the full measure on it is 1, from the short measure on 1 + gain, and below
    the short measure there is no answer.
    Units: mL per AU.  Domain: short_ml_per_au <= ml_per_au, short <= full.  Raises: OutOfRange.
    Source: makers' sheets, for instance Kodak J-78: D-76 1+1, 473 or 237 mL, +10 %.
    """
    check_positive("short_ml_per_au", short_ml_per_au)
    check_range("full_ml_per_au", full_ml_per_au, short_ml_per_au)
    check_range("gain", gain, 0)
    check_range("ml_per_au", ml_per_au, short_ml_per_au)
    return 1.0 if ml_per_au >= full_ml_per_au else float(1 + gain)


@dataclass(frozen=True, slots=True)
class TimeFactors:
    """The factors on a printed time. Each has one place, so none can enter twice.

    There is none for rotary processing and none for a presoak: those have rows of their own.
    """

    reuse: float = 1.0
    short_volume: float = 1.0
    temperature: float = 1.0

    def apply(self, printed_s: float) -> float:
        """Printed time with every factor once.  Units: s.  Raises: OutOfRange."""
        check_positive("printed_s", printed_s)
        for name in ("reuse", "short_volume", "temperature"):
            check_positive(name, getattr(self, name))
        return printed_s * self.reuse * self.short_volume * self.temperature


def is_too_short(minutes: float) -> bool:
    """Whether the time after all factors is short enough to warn of uneven development."""
    check_positive("minutes", minutes)
    return minutes < SHORTEST_EVEN_MIN
