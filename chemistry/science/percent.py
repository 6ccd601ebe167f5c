"""Percent solutions: dilution to a strength, criss-cross, and dilution in two steps."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from chemistry.science.errors import OutOfRange, check_positive, check_range
from chemistry.science.mixing import Dilution, mix
from chemistry.units import whole_half_up


def solid_g(percent: Decimal, *, volume_ml: Decimal) -> Decimal:
    """Dry chemical for a solution of so many grams in 100 mL *made up to* the volume.

    Units: % w/v, mL, g.  Domain: 0 <= percent <= 100.  Raises: OutOfRange.
    """
    check_range("percent", percent, 0, 100)
    check_range("volume_ml", volume_ml, 0)
    return percent * volume_ml / 100


def criss_cross(
    *, strong_pct: Decimal, weak_pct: Decimal, wanted_pct: Decimal
) -> tuple[Decimal, Decimal]:
    """Parts of the strong and of the weak solution (water is 0 %) for the strength wanted.

    Units: %.  Domain: 0 <= weak <= wanted <= strong <= 100, weak < strong.
    Raises: OutOfRange.
    Source: the criss-cross rule, wanted - weak parts of strong, strong - wanted parts of weak.
    """
    check_range("strong_pct", strong_pct, 0, 100)
    check_range("weak_pct", weak_pct, 0, strong_pct)
    check_range("wanted_pct", wanted_pct, weak_pct, strong_pct)
    check_positive("strong_pct - weak_pct", strong_pct - weak_pct)
    return wanted_pct - weak_pct, strong_pct - wanted_pct


def to_strength_ul(
    total_ul: int, *, strong_pct: Decimal, wanted_pct: Decimal, weak_pct: Decimal = Decimal(0)
) -> tuple[int, int]:
    """Strong and weak solution that make ``total_ul`` of the strength wanted, summing to it.

    Volumes are taken to add, as for dilute solutions they very nearly do.
    Units: µL, %.  Raises: OutOfRange.  Source: C₁V₁ + C₂V₂ = C·V.
    """
    check_range("total_ul", total_ul, 0)
    strong, weak = criss_cross(strong_pct=strong_pct, weak_pct=weak_pct, wanted_pct=wanted_pct)
    strong_ul = whole_half_up(total_ul * strong / (strong + weak))
    return strong_ul, total_ul - strong_ul


def water_to_weaken_ul(have_ul: int, *, have_pct: Decimal, wanted_pct: Decimal) -> int:
    """Water to add to what there is.

    Units: µL, %.  Domain: 0 < wanted_pct <= have_pct <= 100.  Raises: OutOfRange.
    """
    check_range("have_ul", have_ul, 0)
    check_range("have_pct", have_pct, 0, 100)
    check_positive("wanted_pct", wanted_pct)
    check_range("wanted_pct", wanted_pct, 0, have_pct)
    return whole_half_up(have_ul * (have_pct - wanted_pct) / wanted_pct)


def strength_pct(parts: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    """Strength of a mixture of solutions, each as (amount, percent), amounts adding up.

    Units: any amount, %.  Raises: OutOfRange.
    """
    for amount, percent in parts:
        check_range("amount", amount, 0)
        check_range("percent", percent, 0, 100)
    whole = sum((amount for amount, _ in parts), Decimal(0))
    check_positive("amount", whole)
    return sum((amount * percent for amount, percent in parts), Decimal(0)) / whole


def weight_pct(
    *, volume_ml: Decimal, density_g_per_ml: Decimal, percent: Decimal, water_ml: Decimal
) -> Decimal:
    """Strength by weight of a weighed-out acid or base put into water.

    Volumes contract on mixing, weights do not: three parts of glacial acetic acid and eight of
    water are 27.3 % by volume and 28.2 % by weight.
    Units: mL, g/mL, % by weight.  Raises: OutOfRange.  Source: water 0.9982 g/mL at 20 °C.
    """
    check_positive("density_g_per_ml", density_g_per_ml)
    water_g = water_ml * Decimal("0.9982")
    return strength_pct([(volume_ml * density_g_per_ml, percent), (water_g, Decimal(0))])


@dataclass(frozen=True, slots=True)
class TwoSteps:
    """A high dilution by way of an intermediate solution, amounts in µL."""

    first_stock_ul: int
    first_water_ul: int
    taken_ul: int
    second_water_ul: int


def in_two_steps(
    total_ul: int, dilution: Dilution, *, first: Dilution, first_total_ul: int
) -> TwoSteps:
    """Reach a dilution whose stock would be too little to measure by way of a first one.

    Units: µL.  Domain: the first no higher than the whole; enough of it made.
    Raises: OutOfRange.
    """
    check_range("first parts", first.parts, 0, dilution.parts)
    second = Dilution(dilution.total_parts / first.total_parts - 1)
    taken_ul, water_ul = mix(total_ul, second)
    if taken_ul > first_total_ul:
        raise OutOfRange("first_total_ul", first_total_ul, taken_ul, None)
    return TwoSteps(*mix(first_total_ul, first), taken_ul, water_ul)
