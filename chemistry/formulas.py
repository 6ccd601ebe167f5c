"""What goes into a solution by weight, for the volume that is wanted.

Reads ``version.ingredients.all()`` only, so that a page may fetch them beforehand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from chemistry.models import Ingredient, RecipeVersion, Unit
from chemistry.science.formula import measured
from chemistry.science.mixing import split_parts
from chemistry.units import ml_from_ul

LITRE_UL = 1_000_000
LITRE_ML = Decimal(1000)
GRADUATE_UL = 100
"""Parts by volume are given to a tenth of a millilitre; their sum is exact all the same."""


@dataclass(frozen=True, slots=True)
class Line:
    """One ingredient with its amount for the volume; None where no amount is known."""

    ingredient: Ingredient
    amount: Decimal | None
    unit: str

    @property
    def is_too_little(self) -> bool:
        """There is some of it, but less than a balance tells."""
        return self.amount == 0


@dataclass(frozen=True, slots=True)
class Solution:
    """All that goes into one solution of a formula, in order."""

    title: str
    volume_ul: int
    is_of_parts: bool
    lines: tuple[Line, ...]

    @property
    def source(self) -> str:
        """Where every amount comes from, if it is the same for all of them."""
        rows = [line.ingredient for line in self.lines]
        said = {f"{row.source}, {row.get_standing_display()}" for row in rows}
        return said.pop() if len(said) == 1 else ""


def formula(version: RecipeVersion, volume_ul: int = LITRE_UL) -> list[Solution]:
    """Every solution of the recipe, each for this volume, in the order they are written."""
    rows = sorted(version.ingredients.all(), key=lambda row: row.order)
    grouped = [(part, list(found)) for part, found in groupby(rows, lambda row: row.part)]
    return [_solution(part, found, volume_ul) for part, found in grouped]


def for_bottle(version: RecipeVersion, volume_ul: int) -> tuple[list[Solution], list[Solution]]:
    """What is put together for a bottle of so much, and, by the litre, what is made beforehand.

    Where solutions are put together by parts, they themselves are made beforehand.
    """
    now = formula(version, volume_ul)
    if not any(solution.is_of_parts for solution in now):
        return now, []
    beforehand = [one for one in formula(version) if not one.is_of_parts]
    return [one for one in now if one.is_of_parts], beforehand


def missing_amounts(version: RecipeVersion) -> list[str]:
    """The ingredients of which nobody has entered how much."""
    rows = sorted(version.ingredients.all(), key=lambda row: row.order)
    return [row.name for row in rows if row.amount is None]


def _solution(part: str, rows: Sequence[Ingredient], volume_ul: int) -> Solution:
    is_of_parts = all(row.unit == Unit.PARTS for row in rows)
    lines = _of_parts(rows, volume_ul) if is_of_parts else _by_weight(rows, volume_ul)
    return Solution(part, volume_ul, is_of_parts, tuple(lines))


def _by_weight(rows: Sequence[Ingredient], volume_ul: int) -> list[Line]:
    to_ml = ml_from_ul(volume_ul)
    return [Line(row, _measured(row.amount, to_ml), row.unit) for row in rows]


def _measured(amount: Decimal | None, to_ml: Decimal) -> Decimal | None:
    return None if amount is None else measured(amount, from_ml=LITRE_ML, to_ml=to_ml)


def _of_parts(rows: Sequence[Ingredient], volume_ul: int) -> list[Line]:
    known = [row.amount for row in rows if row.amount is not None]
    if len(known) < len(rows):
        return [Line(row, None, Unit.ML) for row in rows]
    amounts = split_parts(volume_ul, known, step_ul=GRADUATE_UL)
    return [
        Line(row, ml_from_ul(amount), Unit.ML) for row, amount in zip(rows, amounts, strict=True)
    ]
