"""The figures of a way of use, as the sums want them.

Reads ``way.figures.all()`` only, so that a page with many bottles can fetch them beforehand.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from chemistry.models import Figure, FigureName, WayOfUse
from chemistry.science.area import AU_MM2
from chemistry.science.wear import BathFigures
from chemistry.units import UL_PER_ML
from darkroom.models import Material


def figure(way: WayOfUse, name: FigureName, material: str = "") -> Figure | None:
    """The figure for this material, or else the one for every material; None without a value."""
    return _pick(way.figures.all(), name, material)


def value(way: WayOfUse, name: FigureName, material: str = "") -> Decimal | None:
    return _value(way.figures.all(), name, material)


def missing_figures(way: WayOfUse) -> list[FigureName]:
    """What stands without a value, remembered too uncertainly or left to the house to enter."""
    return sorted({FigureName(row.name) for row in way.figures.all() if row.value is None})


def bath_figures(way: WayOfUse) -> BathFigures:
    """What limits a bath in this way of use, per mm² and litre."""
    rows = list(way.figures.all())
    rates = [row.value for row in _known(rows, FigureName.REPLENISH) if row.value is not None]
    return BathFigures(
        way=way.way,
        capacity_mm2_per_l=_capacities(rows),
        # Of several rates by material the largest counts: it settles what any of them owes.
        replenish_ul_per_au=max(rates) * UL_PER_ML if rates else None,
        arrears_limit_mm2_per_l=_area(rows, FigureName.ARREARS_LIMIT),
        turnover_limit=_value(rows, FigureName.TURNOVER_LIMIT),
        area_limit_mm2_per_l=_area(rows, FigureName.AREA_LIMIT),
    )


def _capacities(rows: Iterable[Figure]) -> dict[str, Decimal]:
    known = {row.material: row.value for row in _known(rows, FigureName.CAPACITY)}
    return {
        str(material): au_per_l * AU_MM2
        for material in Material
        if (au_per_l := known.get(material, known.get(""))) is not None
    }


def _area(rows: Iterable[Figure], name: FigureName) -> Decimal | None:
    au_per_l = _value(rows, name)
    return None if au_per_l is None else au_per_l * AU_MM2


def _value(rows: Iterable[Figure], name: FigureName, material: str = "") -> Decimal | None:
    found = _pick(rows, name, material)
    return None if found is None else found.value


def _pick(rows: Iterable[Figure], name: FigureName, material: str) -> Figure | None:
    found = {row.material: row for row in _known(rows, name)}
    return found.get(material) or found.get("")


def _known(rows: Iterable[Figure], name: FigureName) -> list[Figure]:
    return [row for row in rows if row.name == name and row.value is not None]
