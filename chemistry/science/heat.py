"""Heat balances: what a solution comes to in its vessel, and how warm to pour it."""

from collections.abc import Sequence
from itertools import pairwise

from chemistry.science.errors import OutOfRange, check_positive, check_range

WATER = (
    (15.0, 999.103, 4.1885),
    (18.0, 998.599, 4.1856),
    (20.0, 998.207, 4.1841),
    (22.0, 997.773, 4.1828),
    (24.0, 997.299, 4.1818),
    (25.0, 997.048, 4.1813),
    (30.0, 995.649, 4.1798),
    (35.0, 994.033, 4.1793),
    (37.8, 993.040, 4.1793),
    (40.0, 992.216, 4.1794),
)
"""°C, kg/m³, kJ/(kg K) at 0.101325 MPa. Source: IAPWS-95 (computed)."""


def water_density_g_per_ml(temp_c: float) -> float:
    """Density of water, interpolated.

    Units: °C, g/mL.  Domain: 15 <= temp_c <= 40.  Raises: OutOfRange.
    Source: IAPWS-95 at 0.101325 MPa.
    """
    return _water(temp_c)[0] / 1000


def water_j_per_g_c(temp_c: float) -> float:
    """Specific heat of water, interpolated.

    Units: °C, J/(g K).  Domain: 15 <= temp_c <= 40.  Raises: OutOfRange.
    Source: IAPWS-95 at 0.101325 MPa.
    """
    return _water(temp_c)[1]


def solution_j_per_c(volume_ml: float, temp_c: float = 20.0) -> float:
    """Heat that a volume of working solution takes per °C, reckoned as water.

    Units: mL, J/°C.  Domain: volume above zero, 15 <= temp_c <= 40.  Raises: OutOfRange.
    """
    check_positive("volume_ml", volume_ml)
    density, specific = _water(temp_c)
    return volume_ml * density / 1000 * specific


def balance_c(parts: Sequence[tuple[float, float]]) -> float:
    """Common temperature of bodies brought together, nothing lost.

    Units: (J/°C, °C), °C.  Domain: no heat capacity negative, one above zero.
    Raises: OutOfRange.
    Source: conservation of heat.
    """
    for heat, temp_c in parts:
        check_range("heat_j_per_c", heat, 0)
        check_range("temp_c", temp_c, None)
    whole = sum(heat for heat, _ in parts)
    check_positive("heat_j_per_c", whole)
    return sum(heat * temp_c for heat, temp_c in parts) / whole


def pour_in_c(
    *, solution_j_per_c: float, poured_c: float, vessel_j_per_c: float, vessel_c: float
) -> float:
    """Temperature right after pouring in, with the vessel's own heat.

    Units: J/°C, °C.  Raises: OutOfRange.
    Source: T₀ = (m·c·T_poured + C_v·T_v) ÷ (m·c + C_v).
    """
    check_positive("solution_j_per_c", solution_j_per_c)
    return balance_c([(solution_j_per_c, poured_c), (vessel_j_per_c, vessel_c)])


def pour_at_c(
    *, wanted_c: float, solution_j_per_c: float, vessel_j_per_c: float, vessel_c: float
) -> float:
    """Temperature at which to pour so that the vessel ends at ``wanted_c``.

    Units: J/°C, °C.  Raises: OutOfRange.  Source: the balance of ``pour_in_c`` solved.
    """
    check_positive("solution_j_per_c", solution_j_per_c)
    check_range("vessel_j_per_c", vessel_j_per_c, 0)
    check_range("wanted_c", wanted_c, None)
    check_range("vessel_c", vessel_c, None)
    return wanted_c + vessel_j_per_c / solution_j_per_c * (wanted_c - vessel_c)


def vessel_j_per_c(
    *, solution_j_per_c: float, poured_c: float, vessel_c: float, read_c: float
) -> float:
    """A vessel's own heat, from what a known solution came to in it.

    Units: J/°C, °C.  Domain: the reading between the vessel and the solution, short of the vessel.
    Raises: OutOfRange.  Source: the balance of ``pour_in_c`` solved.
    """
    check_positive("solution_j_per_c", solution_j_per_c)
    check_range("read_c", read_c, *sorted((poured_c, vessel_c)))
    if read_c == vessel_c:
        raise OutOfRange("read_c", read_c, *sorted((poured_c, vessel_c)))
    return solution_j_per_c * (poured_c - read_c) / (read_c - vessel_c)


def hot_and_cold_ml(
    *, total_ml: float, wanted_c: float, hot_c: float, cold_c: float
) -> tuple[float, float]:
    """Hot and cold water that together make ``total_ml`` at ``wanted_c``.

    Units: mL, °C.  Domain: cold_c <= wanted_c <= hot_c, cold_c < hot_c.  Raises: OutOfRange.
    """
    check_positive("total_ml", total_ml)
    check_positive("hot_c - cold_c", hot_c - cold_c)
    check_range("wanted_c", wanted_c, cold_c, hot_c)
    hot = total_ml * (wanted_c - cold_c) / (hot_c - cold_c)
    return hot, total_ml - hot


def water_to_temper_ml(
    *, bath_ml: float, bath_c: float, wanted_c: float, water_c: float, vessel_j_per_c: float
) -> float:
    """Hot (or cold) water to add to a tempering bath, its vessel included.

    The heat per mL is taken as equal for both waters, as it is within 1 %.
    Units: mL, °C, J/°C.  Domain: wanted_c between bath_c and water_c, short of water_c.
    Raises: OutOfRange.
    """
    check_positive("bath_ml", bath_ml)
    check_range("vessel_j_per_c", vessel_j_per_c, 0)
    check_range("wanted_c", wanted_c, min(bath_c, water_c), max(bath_c, water_c))
    if wanted_c == bath_c:
        return 0.0
    if wanted_c == water_c:
        raise OutOfRange("wanted_c", wanted_c, None, None)
    vessel_ml = vessel_j_per_c / solution_j_per_c(1.0, 20.0)
    return (bath_ml + vessel_ml) * (wanted_c - bath_c) / (water_c - wanted_c)


def _water(temp_c: float) -> tuple[float, float]:
    check_range("temp_c", temp_c, WATER[0][0], WATER[-1][0])
    for (low, density, specific), (high, density_2, specific_2) in pairwise(WATER):
        if temp_c <= high:
            share = (temp_c - low) / (high - low)
            return (
                density + share * (density_2 - density),
                specific + share * (specific_2 - specific),
            )
    raise OutOfRange("temp_c", temp_c, WATER[0][0], WATER[-1][0])
