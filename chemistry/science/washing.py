"""Washing film: fills and dumps, running water, and where neither applies.

The models speak of thiosulfate that is free to leave. Only a residual test shows that a wash
was archival; no function here says so.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from chemistry.science.errors import check_positive, check_range

FEWEST_FILLS = 5
COLDEST_WASH_C = 10.0
COLD_POINTS = ((5 / 3, 4.0), (10.0, 2.0), (20.0, 1.0))
"""°C and factor on the time. Source: TM 11-2323 (× 4 at 35 °F, × 2 at 50 °F, 1 at 68 °F)."""


class Material(StrEnum):
    """What is washed."""

    FILM = "film"
    RC_PAPER = "RC paper"
    FB_PAPER = "FB paper"


class WrongWash(ValueError):
    """This way of washing does not apply to this material or after this fixer."""


@dataclass(frozen=True, slots=True)
class WashCase:
    """What a wash rule depends on."""

    material: Material
    hardening_fixer: bool
    water_c: float


def fill_residue(*, held_ml: float, fill_ml: float, fills: int) -> float:
    """Share of the dissolved fixer left after so many fills, each well mixed and drained.

    Units: mL.  Domain: held_ml >= 0, fill_ml > 0, fills >= 0.  Raises: OutOfRange.
    Source: dilution, (d ÷ (d + V))ⁿ.
    """
    check_range("held_ml", held_ml, 0)
    check_positive("fill_ml", fill_ml)
    check_range("fills", fills, 0)
    return float((held_ml / (held_ml + fill_ml)) ** fills)


def fills_for(case: WashCase, *, held_ml: float, fill_ml: float, residue: float) -> int:
    """Fills, each with its soak, that bring film down to ``residue``; never under five.

    The dilution alone would be content with two or three: what is slow is the way out of the
    gelatin, hence the soaks, and the least number.
    Units: mL, share.  Domain: 0 < residue < 1, water at 10 °C or warmer.
    Raises: WrongWash for paper on fibre base and after a hardening fixer; OutOfRange.
    Source: dilution model; the least number is the house's rule.
    """
    _check_soaked(case)
    check_positive("residue", residue)
    check_range("residue", residue, 0, math.nextafter(1.0, 0.0))
    per_fill = fill_residue(held_ml=held_ml, fill_ml=fill_ml, fills=1)
    if per_fill == 0:
        return FEWEST_FILLS
    enough = math.ceil(math.log(residue) / math.log(per_fill) - 1e-12)
    return max(FEWEST_FILLS, enough)


def soak_min(case: WashCase, *, soak_at_20_c_min: float) -> float:
    """Length of each soak: longer when the water is colder.

    Units: min.  Raises: WrongWash, OutOfRange.
    """
    _check_soaked(case)
    check_positive("soak_at_20_c_min", soak_at_20_c_min)
    return soak_at_20_c_min * cold_factor(case.water_c)


def running_residue(minutes: float, *, halving_min: float = 1.0) -> float:
    """Share of hypo left in film after running water; it halves each minute at best.

    Units: min.  Domain: minutes >= 0.  Raises: OutOfRange.
    Source: NAVEDTRA 14209, Photography (Basic), rate of water change.
    """
    check_range("minutes", minutes, 0)
    check_positive("halving_min", halving_min)
    return float(0.5 ** (minutes / halving_min))


def running_min(case: WashCase, *, residue: float, halving_min: float = 1.0) -> float:
    """Minutes of running water that bring film down to ``residue``, longer when cold.

    Units: min, share.  Domain: 0 < residue <= 1.  Raises: WrongWash, OutOfRange.
    Source: halving rule of NAVEDTRA 14209, cold factor of TM 11-2323.
    """
    if case.material is Material.FB_PAPER:
        raise WrongWash("the halving rule is for film; fibre base holds on to its hypo")
    check_positive("residue", residue)
    check_range("residue", residue, 0, 1)
    check_positive("halving_min", halving_min)
    return -math.log2(residue) * halving_min * cold_factor(case.water_c)


def counterflow_residue(*, flow_ml: float, carried_ml: float, stages: int) -> float:
    """Share left after stages of counter-flow rinsing, for a flow far above the carry-over.

    Units: mL over the same time.  Domain: flow at least ten times the carry-over.
    Raises: OutOfRange.  Source: rinse model, 1 ÷ (Q ÷ d)ʳ.
    """
    check_positive("carried_ml", carried_ml)
    check_range("flow_ml / carried_ml", flow_ml / carried_ml, 10)
    check_range("stages", stages, 0)
    return float((carried_ml / flow_ml) ** stages)


def cold_factor(water_c: float) -> float:
    """Factor on the washing time of cold water, between published points by the logarithm.

    Units: °C.  Domain: from 35 °F (1.67 °C); from 20 °C on it is 1.  Raises: OutOfRange.
    Source: TM 11-2323.
    """
    check_range("water_c", water_c, COLD_POINTS[0][0] - 1e-9)
    for (low, factor), (high, next_factor) in zip(COLD_POINTS, COLD_POINTS[1:], strict=False):
        if water_c <= high:
            share = (water_c - low) / (high - low)
            return float(factor * (next_factor / factor) ** share)
    return 1.0


def _check_soaked(case: WashCase) -> None:
    if case.material is Material.FB_PAPER:
        raise WrongWash("fibre-base paper is never washed by filling and dumping")
    if case.hardening_fixer:
        raise WrongWash("after a hardening fixer film is washed in running water")
    check_range("water_c", case.water_c, COLDEST_WASH_C)
