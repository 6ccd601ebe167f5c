"""Waste containers: how far to fill them, and what they weigh."""

from decimal import ROUND_FLOOR, Decimal

from chemistry.science.errors import check_positive, check_range

UL_PER_L = 1_000_000
FULLEST_PCT = Decimal(98)


def fill_limit_ul(capacity_ul: int, *, fill_pct: Decimal) -> int:
    """Most that may stand in a container, rounded down.

    Units: µL, % of the capacity.  Domain: 0 < fill_pct <= 98.  Raises: OutOfRange.
    Source: UN Model Regulations 4.1.1.4 for the upper bound; the figure itself is the house's,
    for published ones run from 80 to 95 %.
    """
    check_positive("capacity_ul", capacity_ul)
    check_positive("fill_pct", fill_pct)
    check_range("fill_pct", fill_pct, 0, FULLEST_PCT)
    return int((capacity_ul * fill_pct / 100).to_integral_value(rounding=ROUND_FLOOR))


def headspace_limit_ul(capacity_ul: int, *, height_mm: Decimal, headspace_mm: Decimal) -> int:
    """The same for a rule that asks for a height left free; straight walls are assumed.

    Units: µL, mm.  Domain: 0 <= headspace_mm < height_mm.  Raises: OutOfRange.
    """
    check_positive("capacity_ul", capacity_ul)
    check_positive("height_mm", height_mm)
    check_range("headspace_mm", headspace_mm, 0)
    check_positive("height_mm - headspace_mm", height_mm - headspace_mm)
    share = (height_mm - headspace_mm) / height_mm
    return int((capacity_ul * share).to_integral_value(rounding=ROUND_FLOOR))


def room_ul(*, balance_ul: int, limit_ul: int) -> int:
    """What may still be poured in; nothing once the limit is reached.

    Units: µL.  Raises: OutOfRange.
    """
    check_range("balance_ul", balance_ul, 0)
    check_range("limit_ul", limit_ul, 0)
    return max(0, limit_ul - balance_ul)


def mass_kg(volume_ul: int, *, density_g_per_ml: Decimal) -> Decimal:
    """Mass of a volume, exactly.

    Units: µL, g/mL, kg.  Domain: 0.7 <= density <= 2.  Raises: OutOfRange.
    """
    check_range("volume_ul", volume_ul, 0)
    check_range("density_g_per_ml", density_g_per_ml, Decimal("0.7"), 2)
    return volume_ul * density_g_per_ml / UL_PER_L


def volume_ul(mass: Decimal, *, density_g_per_ml: Decimal) -> int:
    """Volume of a mass, rounded down, so that it never exceeds a limit given by mass.

    Units: kg, g/mL, µL.  Domain: 0.7 <= density <= 2.  Raises: OutOfRange.
    """
    check_range("mass", mass, 0)
    check_range("density_g_per_ml", density_g_per_ml, Decimal("0.7"), 2)
    litres = mass / density_g_per_ml
    return int((litres * UL_PER_L).to_integral_value(rounding=ROUND_FLOOR))
