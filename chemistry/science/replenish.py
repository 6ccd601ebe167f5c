"""What a replenished bath is owed, and what must leave to make room."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from itertools import pairwise

from chemistry.science.area import AU_MM2
from chemistry.science.errors import OutOfRange, check_positive, check_range
from chemistry.units import MM2_PER_FT2, UL_PER_ML


def owed_ul(arrears_mm2: Decimal, ul_per_au: Decimal) -> int:
    """Replenisher that settles the arrears, rounded up to whole µL so that it settles them.

    Units: mm², µL per AU, µL.  Raises: OutOfRange.
    """
    check_range("arrears_mm2", arrears_mm2, 0)
    check_positive("ul_per_au", ul_per_au)
    owed = arrears_mm2 * ul_per_au / AU_MM2
    return int(owed.to_integral_value(rounding=ROUND_CEILING))


def ul_per_au_from_ml_per_ft2(ml_per_ft2: Decimal) -> Decimal:
    """A rate printed per square foot, per unit of 80 in².

    Units: mL/ft², µL per AU.  Raises: OutOfRange.  Source: 1 ft² = 144 in².
    """
    check_range("ml_per_ft2", ml_per_ft2, 0)
    return ml_per_ft2 * UL_PER_ML * AU_MM2 / MM2_PER_FT2


def bleed_ul(volume_ul: int, added_ul: int, full_ul: int) -> int:
    """Used solution that has to leave before ``added_ul`` of replenisher goes in.

    Units: µL.  Domain: 0 <= volume_ul <= full_ul, 0 <= added_ul <= full_ul.
    Raises: OutOfRange.
    """
    check_positive("full_ul", full_ul)
    check_range("volume_ul", volume_ul, 0, full_ul)
    check_range("added_ul", added_ul, 0, full_ul)
    return max(0, volume_ul + added_ul - full_ul)


@dataclass(frozen=True, slots=True)
class RateStage:
    """From this cumulative area on, the bath is replenished at this rate."""

    from_mm2: Decimal
    ul_per_au: Decimal


def rate_at(stages: Sequence[RateStage], area_mm2: Decimal) -> Decimal:
    """Replenishment rate that holds once ``area_mm2`` has been through the bath.

    Units: mm², µL per AU.  Domain: stages ascend and begin at zero.  Raises: OutOfRange.
    """
    _check_stages(stages)
    check_range("area_mm2", area_mm2, 0)
    return [stage.ul_per_au for stage in stages if stage.from_mm2 <= area_mm2][-1]


def owed_by_stages_ul(
    stages: Sequence[RateStage], *, paid_to_mm2: Decimal, area_mm2: Decimal
) -> int:
    """Replenisher owed for the area between ``paid_to_mm2`` and ``area_mm2``, stage by stage.

    Units: mm² through the bath since mixing, µL.  Raises: OutOfRange.
    """
    _check_stages(stages)
    check_range("area_mm2", area_mm2, 0)
    check_range("paid_to_mm2", paid_to_mm2, 0, area_mm2)
    ends = [stage.from_mm2 for stage in stages[1:]] + [area_mm2]
    owed = Decimal(0)
    for stage, end in zip(stages, ends, strict=True):
        stretch = min(end, area_mm2) - max(stage.from_mm2, paid_to_mm2)
        owed += max(Decimal(0), stretch) * stage.ul_per_au / AU_MM2
    return int(owed.to_integral_value(rounding=ROUND_CEILING))


def paid_mm2(stages: Sequence[RateStage], *, paid_to_mm2: Decimal, added_ul: int) -> Decimal:
    """Area that an amount of replenisher pays for, counted on from ``paid_to_mm2``.

    The inverse of ``owed_by_stages_ul``, without its rounding.
    Units: mm² through the bath since mixing, µL.  Raises: OutOfRange.
    """
    _check_stages(stages)
    check_range("paid_to_mm2", paid_to_mm2, 0)
    check_range("added_ul", added_ul, 0)
    left, reached = Decimal(added_ul), paid_to_mm2
    ends = [stage.from_mm2 for stage in stages[1:]]
    for stage, end in zip(stages, ends, strict=False):
        price = max(Decimal(0), end - reached) * stage.ul_per_au / AU_MM2
        if price >= left:
            return reached + left * AU_MM2 / stage.ul_per_au - paid_to_mm2
        left, reached = left - price, max(reached, end)
    return reached + left * AU_MM2 / stages[-1].ul_per_au - paid_to_mm2


def _check_stages(stages: Sequence[RateStage]) -> None:
    if not stages or stages[0].from_mm2 != 0:
        raise OutOfRange("from_mm2", stages[0].from_mm2 if stages else -1, 0, 0)
    for earlier, later in pairwise(stages):
        if later.from_mm2 <= earlier.from_mm2:
            raise OutOfRange("from_mm2", later.from_mm2, earlier.from_mm2, None)
    for stage in stages:
        check_positive("ul_per_au", stage.ul_per_au)
