"""The figures of a way of use, as the sums want them.

Reads ``way.figures.all()`` only, so that a page with many bottles can fetch them beforehand.
"""

from __future__ import annotations

from decimal import Decimal

from chemistry.models import Figure, FigureName, WayOfUse
from chemistry.science.area import AU_MM2
from chemistry.science.wear import BathFigures
from chemistry.units import UL_PER_ML
from darkroom.models import Material


def figure(way: WayOfUse, name: FigureName, material: str = "") -> Figure | None:
    """The figure for this material, or else the one for every material; None without a value."""
    found = {row.material: row for row in _known(way, name)}
    return found.get(material) or found.get("")


def value(way: WayOfUse, name: FigureName, material: str = "") -> Decimal | None:
    found = figure(way, name, material)
    return None if found is None else found.value


def missing_figures(way: WayOfUse) -> list[FigureName]:
    """What stands without a value, remembered too uncertainly or left to the house to enter."""
    return sorted({FigureName(row.name) for row in way.figures.all() if row.value is None})


def bath_figures(way: WayOfUse) -> BathFigures:
    """What limits a bath in this way of use, per mm² and litre."""
    rates = [row.value for row in _known(way, FigureName.REPLENISH) if row.value is not None]
    return BathFigures(
        way=way.way,
        capacity_mm2_per_l=_capacities(way),
        # Of several rates by material the largest counts: it settles what any of them owes.
        replenish_ul_per_au=max(rates) * UL_PER_ML if rates else None,
        arrears_limit_mm2_per_l=_area(way, FigureName.ARREARS_LIMIT),
        turnover_limit=value(way, FigureName.TURNOVER_LIMIT),
        area_limit_mm2_per_l=_area(way, FigureName.AREA_LIMIT),
    )


def _capacities(way: WayOfUse) -> dict[str, Decimal]:
    known = {row.material: row.value for row in _known(way, FigureName.CAPACITY)}
    return {
        str(material): au_per_l * AU_MM2
        for material in Material
        if (au_per_l := known.get(material, known.get(""))) is not None
    }


def _area(way: WayOfUse, name: FigureName) -> Decimal | None:
    au_per_l = value(way, name)
    return None if au_per_l is None else au_per_l * AU_MM2


def _known(way: WayOfUse, name: FigureName) -> list[Figure]:
    return [row for row in way.figures.all() if row.name == name and row.value is not None]
