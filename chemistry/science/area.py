"""Areas of film and paper; the unit of exhaustion is eighty square inches."""

from decimal import ROUND_FLOOR, Decimal

from chemistry.science.errors import check_positive, check_range

MM2_PER_IN2 = Decimal("645.16")
AU_MM2 = 80 * MM2_PER_IN2
ROLL_MM2 = AU_MM2
"""A 135-36 or a 120 roll; by the convention of the trade both count as one unit."""


def sheet_area_mm2(width_in: Decimal, height_in: Decimal) -> Decimal:
    """Nominal area of a sheet, exactly.

    Units: in, mm².  Domain: both sides above zero.  Raises: OutOfRange.
    Source: 1 in = 25.4 mm, definition of 1959.
    """
    check_positive("width_in", width_in)
    check_positive("height_in", height_in)
    return width_in * height_in * MM2_PER_IN2


def area_units(area_mm2: Decimal) -> Decimal:
    """Area in units of 80 in².

    Units: mm², AU.  Source: the convention behind the capacity tables of the trade.
    """
    return area_mm2 / AU_MM2


def remaining_sheets(capacity_left_mm2: Decimal, sheet_mm2: Decimal) -> int:
    """Whole sheets that the capacity left still takes; never rounded up, never negative.

    Units: mm².  Raises: OutOfRange for a sheet without area.
    """
    check_positive("sheet_mm2", sheet_mm2)
    check_range("capacity_left_mm2", capacity_left_mm2, None)
    sheets = (capacity_left_mm2 / sheet_mm2).to_integral_value(rounding=ROUND_FLOOR)
    return max(0, int(sheets))
