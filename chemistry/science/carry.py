"""What leaves a bath besides what is poured: carry-out and evaporation."""

from decimal import Decimal

from chemistry.science.area import AU_MM2
from chemistry.science.errors import check_positive, check_range
from chemistry.units import whole_half_up


def carry_out_ul(area_mm2: Decimal, *, ul_per_au: Decimal, kept: Decimal = Decimal(1)) -> int:
    """Liquid that an area takes along into the next bath.

    ``kept`` is the share that a squeegee or a long drain leaves on it.
    Units: mm², µL per AU, µL.  Domain: 0 <= kept <= 1.  Raises: OutOfRange.
    """
    check_range("area_mm2", area_mm2, 0)
    check_range("ul_per_au", ul_per_au, 0)
    check_range("kept", kept, 0, 1)
    return whole_half_up(area_mm2 * ul_per_au * kept / AU_MM2)


def evaporation_rate_ul_per_cm2_h(*, lost_ul: int, open_cm2: Decimal, hours: Decimal) -> Decimal:
    """A house's own rate, from a tray of water left standing; no published figure is known.

    Units: µL, cm², h.  Raises: OutOfRange.
    """
    check_range("lost_ul", lost_ul, 0)
    check_positive("open_cm2", open_cm2)
    check_positive("hours", hours)
    return lost_ul / (open_cm2 * hours)


def evaporated_ul(
    *, rate_ul_per_cm2_h: Decimal, open_cm2: Decimal, hours: Decimal, volume_ul: int
) -> int:
    """Water lost from an open surface, never more than there is.

    Units: µL/(cm² h), cm², h, µL.  Raises: OutOfRange.
    """
    check_range("rate_ul_per_cm2_h", rate_ul_per_cm2_h, 0)
    check_range("open_cm2", open_cm2, 0)
    check_range("hours", hours, 0)
    check_range("volume_ul", volume_ul, 0)
    return min(volume_ul, whole_half_up(rate_ul_per_cm2_h * open_cm2 * hours))


def concentrated(value: Decimal, *, before_ul: int, after_ul: int) -> Decimal:
    """A concentration once water has left or come back; the solute stays.

    Units: any concentration, µL.  Domain: volumes above zero.  Raises: OutOfRange.
    Source: C·V is constant.
    """
    check_range("value", value, 0)
    check_positive("before_ul", before_ul)
    check_positive("after_ul", after_ul)
    return value * before_ul / after_ul
