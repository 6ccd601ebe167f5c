"""What must hold of a recipe's formula, of its hazards, and of every value."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from typing import Protocol

from chemistry.catalogue.schema import RecipeData
from chemistry.models import Form, Reaction, Role, Standing, Unit
from chemistry.science.mixtures import Chemical

MAY_BE_EMPTY = frozenset({Standing.REMEMBERED_LOW, Standing.HOUSE})
DEVELOPING = frozenset({Role.DEVELOPER, Role.REPLENISHER})


class Valued(Protocol):
    @property
    def value(self) -> Decimal | None: ...
    @property
    def standing(self) -> str: ...


def value_problems(figure: Valued) -> Iterator[str]:
    return _amount_problems(figure.value, figure.standing)


def contents_problems(recipe: RecipeData) -> Iterator[str]:
    yield from _formula(recipe)
    yield from _hazards(recipe)
    is_acid = recipe.reaction == Reaction.ACID
    if is_acid != (Chemical.ACID in recipe.classes):
        yield "what reacts acid counts as acid, and nothing else does"
    if recipe.role in DEVELOPING and Chemical.ORGANIC_REDUCER not in recipe.classes:
        yield "a developer counts as organic reducer"


def _formula(recipe: RecipeData) -> Iterator[str]:
    places = Counter((row.part, row.name) for row in recipe.ingredients)
    yield from (f"{name} stands there twice" for (_, name), n in places.items() if n > 1)
    for row in recipe.ingredients:
        yield from (f"{row.name} {p}" for p in _amount_problems(row.amount, row.standing))
        if row.amount == 0:
            yield f"{row.name} is none at all"
    by_parts = {part: {u == Unit.PARTS for u in _units(recipe, part)} for part, _ in places}
    yield from (
        f"{part} mixes parts with weights" for part, kinds in by_parts.items() if len(kinds) > 1
    )


def _units(recipe: RecipeData, part: str) -> list[str]:
    return [row.unit for row in recipe.ingredients if row.part == part]


def _hazards(recipe: RecipeData) -> Iterator[str]:
    forms = Counter(hazard.form for hazard in recipe.hazards)
    yield from (f"hazards of the {form} stand there twice" for form, n in forms.items() if n > 1)
    if not forms:
        yield "no hazards stand there"
    weighed = any(row.unit == Unit.GRAM for row in recipe.ingredients)
    if weighed and Form.POWDER not in forms:
        yield "powder is weighed, and its hazards do not stand there"
    for hazard in recipe.hazards:
        if not hazard.protection:
            yield f"no protection stands with the {hazard.form}"


def _amount_problems(value: Decimal | None, standing: str) -> Iterator[str]:
    if standing == Standing.REMEMBERED_LOW and value is not None:
        yield "is remembered uncertainly and is no default"
    if value is None and standing not in MAY_BE_EMPTY:
        yield "has no value"
    if value is not None and value < 0:
        yield "is negative"
