"""Silver: into the fixer, out of it again, and over into the rinse. Estimates are ranges."""

from decimal import Decimal
from enum import StrEnum

from chemistry.science.errors import check_positive, check_range
from chemistry.science.span import Span

MM2_PER_M2 = 1_000_000
UL_PER_L = 1_000_000
MG_PER_G = 1000
LEAST_EFFICIENCY = Decimal("0.01")
SILVER_G_PER_AH = Decimal("107.8682") * 3600 / Decimal("96485.33212")
IRON_G_PER_G_SILVER = Decimal("55.845") / (2 * Decimal("107.8682"))


class SilverVerdict(StrEnum):
    """Whether a fixer may fix what comes next, by its silver."""

    WITHIN = "within"
    UNCERTAIN = "uncertain"
    OVER = "over"


def into_fixer_g(*, area_mm2: Decimal, coating_g_per_m2: Span, dissolved: Span) -> Span:
    """Silver that an area gives to the fixer.

    Units: mm², g/m², share, g.  Domain: share at most 1.  Raises: OutOfRange.
    Source: area × coating × share dissolved; both vary widely and stay ranges.
    """
    check_range("area_mm2", area_mm2, 0)
    check_range("dissolved", dissolved.high, 0, 1)
    return coating_g_per_m2.by(dissolved).times(area_mm2 / MM2_PER_M2)


def g_per_l(grams: Span, volume_ul: int) -> Span:
    """Silver concentration of a bath.

    Units: g, µL, g/L.  Domain: volume above zero.  Raises: OutOfRange.
    """
    check_positive("volume_ul", volume_ul)
    return grams.times(Decimal(UL_PER_L) / volume_ul)


def verdict(silver_g_per_l: Span, *, limit_g_per_l: Decimal) -> SilverVerdict:
    """Judge a fixer against the limit of the material that is to be fixed *next*.

    A bath that film has loaded to a film's limit is far over that of fibre paper.
    Units: g/L.  Domain: limit above zero.  Raises: OutOfRange.
    """
    check_positive("limit_g_per_l", limit_g_per_l)
    if silver_g_per_l.low > limit_g_per_l:
        return SilverVerdict.OVER
    within = silver_g_per_l.high <= limit_g_per_l
    return SilverVerdict.WITHIN if within else SilverVerdict.UNCERTAIN


def after_recovery(value: Decimal, *, efficiency: Decimal, stages: int = 1) -> Decimal:
    """What is left after ``stages`` recovery units in series.

    Units: any concentration or mass; efficiency as a share.
    Domain: 0 <= efficiency <= 1, stages >= 0.  Raises: OutOfRange.
    Source: C·(1 - η)ⁿ.
    """
    check_range("value", value, 0)
    check_range("efficiency", efficiency, 0, 1)
    check_range("stages", stages, 0)
    left = 1 - efficiency
    return value * left**stages if stages else value


def efficiency_needed(*, start_mg_per_l: Decimal, limit_mg_per_l: Decimal) -> Decimal:
    """Share that has to be recovered to come down to a limit; 0 if it is met already.

    Units: mg/L.  Domain: start above zero.  Raises: OutOfRange.
    """
    check_positive("start_mg_per_l", start_mg_per_l)
    check_range("limit_mg_per_l", limit_mg_per_l, 0)
    return max(Decimal(0), 1 - limit_mg_per_l / start_mg_per_l)


def stages_needed(*, start_mg_per_l: Decimal, limit_mg_per_l: Decimal, efficiency: Decimal) -> int:
    """Recovery units in series that come down to a limit.

    Units: mg/L.  Domain: limit above zero, 0.01 <= efficiency <= 1.  Raises: OutOfRange.
    """
    check_positive("limit_mg_per_l", limit_mg_per_l)
    check_range("start_mg_per_l", start_mg_per_l, 0)
    check_range("efficiency", efficiency, LEAST_EFFICIENCY, 1)
    stages, left = 0, start_mg_per_l
    while left > limit_mg_per_l:
        stages, left = stages + 1, left * (1 - efficiency)
    return stages


def carried_out_mg(carried_ul: int, *, fixer_g_per_l: Decimal) -> Decimal:
    """Silver that leaves the fixer with the film.

    Units: µL, g/L, mg.  Domain: not negative.  Raises: OutOfRange.
    """
    check_range("carried_ul", carried_ul, 0)
    check_range("fixer_g_per_l", fixer_g_per_l, 0)
    return carried_ul * fixer_g_per_l * MG_PER_G / UL_PER_L


def first_rinse_mg_per_l(*, carried_ul: int, fixer_g_per_l: Decimal, rinse_ul: int) -> Decimal:
    """Silver in the first still rinse, well mixed with what the film brought along.

    Units: µL, g/L, mg/L.  Domain: rinse above zero.  Raises: OutOfRange.
    Source: dilution, C·d ÷ (d + V).
    """
    check_positive("rinse_ul", rinse_ul)
    carried_out_mg(carried_ul, fixer_g_per_l=fixer_g_per_l)
    return fixer_g_per_l * MG_PER_G * carried_ul / (carried_ul + rinse_ul)


def plated_g(ampere_hours: Decimal, *, efficiency: Decimal = Decimal(1)) -> Decimal:
    """Silver that a current plates out.

    Units: A·h, share, g.  Raises: OutOfRange.
    Source: Faraday's law, M = 107.8682 g/mol, F = 96 485.33 C/mol.
    """
    check_range("ampere_hours", ampere_hours, 0)
    check_range("efficiency", efficiency, 0, 1)
    return ampere_hours * SILVER_G_PER_AH * efficiency


def iron_used_g(silver_g: Decimal) -> Decimal:
    """Steel wool that gives way to an amount of silver at the least.

    Units: g.  Raises: OutOfRange.  Source: 2 Ag⁺ + Fe → 2 Ag + Fe²⁺.
    """
    check_range("silver_g", silver_g, 0)
    return silver_g * IRON_G_PER_G_SILVER
