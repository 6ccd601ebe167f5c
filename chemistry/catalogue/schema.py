"""What the catalogue's data files hold, once read: plain values, nothing stored yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from chemistry.models import FigureName

UNITS: Mapping[str, str] = {
    FigureName.CAPACITY: "AU/L",
    FigureName.PER_PASS: "AU/L",
    FigureName.MIN_STOCK: "mL/AU",
    FigureName.REPLENISH: "mL/AU",
    FigureName.ARREARS_LIMIT: "AU/L",
    FigureName.TURNOVER_LIMIT: "bath volumes",
    FigureName.AREA_LIMIT: "AU/L",
    FigureName.REUSE_STEP_AREA: "AU/L",
    FigureName.REUSE_STEP_PCT: "%",
    FigureName.KEEPING_FULL: "days",
    FigureName.KEEPING_PART: "days",
    FigureName.KEEPING_TANK: "days",
    FigureName.USABLE_AFTER: "h",
}
"""The one unit each figure is given in; an AU is 80 in²."""


class CatalogueFault(ValueError):
    """A data file says something that cannot be; names the place and what is wrong there."""

    def __init__(self, where: str, what: str) -> None:
        super().__init__(f"{where}: {what}")
        self.where = where
        self.what = what


@dataclass(frozen=True, slots=True)
class FigureData:
    name: str
    material: str
    value: Decimal | None
    unit: str
    source: str
    standing: str
    conditions: str


@dataclass(frozen=True, slots=True)
class WayData:
    way: str
    mix_n: Decimal | None
    draw_n: Decimal | None
    replenisher: str
    figures: tuple[FigureData, ...]

    @property
    def dilution_n(self) -> Decimal:
        """The n of the working solution that film meets; 0 is undiluted stock."""
        return self.draw_n if self.draw_n is not None else self.mix_n or Decimal(0)


@dataclass(frozen=True, slots=True)
class IngredientData:
    order: int
    part: str
    name: str
    amount: Decimal | None
    unit: str
    temp_c: Decimal | None
    cas: str
    source: str
    standing: str
    note: str


@dataclass(frozen=True, slots=True)
class HazardData:
    form: str
    signal: str
    statements: tuple[str, ...]
    protection: tuple[str, ...]
    source: str
    standing: str
    note: str


@dataclass(frozen=True, slots=True)
class RecipeData:
    code: str
    name: str
    role: str
    letter: str
    reaction: str
    contents: str
    cautions: str
    stream: str
    classes: tuple[str, ...]
    ingredients: tuple[IngredientData, ...]
    hazards: tuple[HazardData, ...]
    ways: tuple[WayData, ...]


@dataclass(frozen=True, slots=True)
class StepData:
    name: str
    role: str
    reaction: str
    minutes: Decimal | None
    temp_c: Decimal | None
    tolerance_c: Decimal | None
    agitation: str
    caution: str
    is_dark: bool
    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class ProcessFigureData:
    bath: str
    name: str
    value: Decimal | None
    unit: str
    source: str
    standing: str
    conditions: str


@dataclass(frozen=True, slots=True)
class ProcessData:
    code: str
    name: str
    needs_held_temperature: bool
    is_bookable: bool
    source: str
    standing: str
    steps: tuple[StepData, ...]
    figures: tuple[ProcessFigureData, ...]


@dataclass(frozen=True, slots=True)
class FilmData:
    name: str
    material: str
    speed: int
    process: str


@dataclass(frozen=True, slots=True)
class RowData:
    film: str
    developer: str
    dilution_n: Decimal
    index: int
    agitation: str
    source: str
    standing: str
    points: tuple[tuple[Decimal, Decimal], ...]


@dataclass(frozen=True, slots=True)
class FormatData:
    name: str
    kind: str
    area_mm2: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class Catalogue:
    formats: tuple[FormatData, ...]
    recipes: tuple[RecipeData, ...]
    processes: tuple[ProcessData, ...]
    films: tuple[FilmData, ...]
    rows: tuple[RowData, ...]
