"""Recipes of the catalogue as versions: written anew only when what they say has changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch

from chemistry.catalogue.schema import RecipeData, WayData
from chemistry.models import (
    Figure,
    Hazard,
    Ingredient,
    Recipe,
    RecipeVersion,
    Standing,
    WayOfUse,
)

FIGURE_FIELDS = ("name", "material", "value", "unit", "source", "standing", "conditions")
INGREDIENT_FIELDS = ("order", "amount", "unit", "temp_c", "cas", "source", "standing", "note")
HAZARD_FIELDS = ("signal", "statements", "protection", "source", "standing", "note")
Content = dict[str, Any]


def load(recipes: Sequence[RecipeData]) -> int:
    """How many recipes are new or have a new version."""
    stored = {data.code: _recipe(data) for data in recipes}
    return sum(_load_version(stored[data.code], data, stored) for data in recipes)


def content_of(version: RecipeVersion) -> Content:
    """What a version says, in a form that two versions can be compared in."""
    return {
        "contents": version.contents,
        "cautions": version.cautions,
        "stream": version.stream,
        "classes": list(version.classes),
        "ingredients": {
            (row.part, row.name): _said(row, INGREDIENT_FIELDS) for row in version.ingredients.all()
        },
        "hazards": {row.form: _said(row, HAZARD_FIELDS) for row in version.hazards.all()},
        "ways": {
            way.way: {
                "mix_n": way.mix_n,
                "draw_n": way.draw_n,
                "replenisher": way.replenisher.code if way.replenisher else "",
                "figures": {
                    (f.name, f.material): _said(f, FIGURE_FIELDS) for f in way.figures.all()
                },
            }
            for way in version.ways.all()
        },
    }


def _said(row: Any, names: Sequence[str]) -> dict[str, Any]:
    """These values of a row; what a list holds as a list, be it stored or read."""
    values = {name: getattr(row, name) for name in names}
    return {k: list(v) if isinstance(v, tuple) else v for k, v in values.items()}


def write_version(
    recipe: Recipe, content: Content, *, number: int, stored: Mapping[str, Recipe], by: Any = None
) -> RecipeVersion:
    """A new version that says this."""
    version = RecipeVersion.objects.create(
        recipe=recipe,
        number=number,
        contents=content["contents"],
        cautions=content["cautions"],
        stream=content["stream"],
        classes=content["classes"],
        created_by=by,
    )
    Ingredient.objects.bulk_create(
        Ingredient(version=version, part=part, name=name, **values)
        for (part, name), values in content["ingredients"].items()
    )
    Hazard.objects.bulk_create(
        Hazard(version=version, form=form, **values) for form, values in content["hazards"].items()
    )
    for name, way in content["ways"].items():
        row = WayOfUse.objects.create(
            version=version,
            way=name,
            mix_n=way["mix_n"],
            draw_n=way["draw_n"],
            replenisher=stored[way["replenisher"]] if way["replenisher"] else None,
        )
        Figure.objects.bulk_create(Figure(way=row, **figure) for figure in way["figures"].values())
    return version


def latest_version(recipe: Recipe) -> RecipeVersion | None:
    ways = WayOfUse.objects.select_related("replenisher").prefetch_related("figures")
    beside = (Prefetch("ways", queryset=ways), "ingredients", "hazards")
    return recipe.versions.prefetch_related(*beside).first()


def dilutions(version: RecipeVersion) -> set[Decimal]:
    """The n of every working solution that film may meet; 0 is undiluted stock."""
    return {
        way.draw_n if way.draw_n is not None else way.mix_n or Decimal(0)
        for way in version.ways.all()
    }


def _recipe(data: RecipeData) -> Recipe:
    names = ("name", "role", "letter", "reaction")
    values = {name: getattr(data, name) for name in names}
    recipe, is_new = Recipe.objects.get_or_create(code=data.code, defaults=values)
    if not is_new and any(getattr(recipe, name) != value for name, value in values.items()):
        for name, value in values.items():
            setattr(recipe, name, value)
        recipe.save(update_fields=list(values))
    return recipe


def _load_version(recipe: Recipe, data: RecipeData, stored: Mapping[str, Recipe]) -> bool:
    latest = latest_version(recipe)
    wanted = _content(data)
    if latest is not None:
        present = content_of(latest)
        wanted = _with_house_figures(wanted, present)
        if wanted == present:
            return False
    number = latest.number + 1 if latest else 1
    write_version(recipe, wanted, number=number, stored=stored)
    return True


def _content(data: RecipeData) -> Content:
    return {
        "contents": data.contents,
        "cautions": data.cautions,
        "stream": data.stream,
        "classes": list(data.classes),
        "ingredients": {
            (row.part, row.name): _said(row, INGREDIENT_FIELDS) for row in data.ingredients
        },
        "hazards": {row.form: _said(row, HAZARD_FIELDS) for row in data.hazards},
        "ways": {way.way: _way(way) for way in data.ways},
    }


def _way(way: WayData) -> Content:
    return {
        "mix_n": way.mix_n,
        "draw_n": way.draw_n,
        "replenisher": way.replenisher,
        "figures": {(f.name, f.material): _said(f, FIGURE_FIELDS) for f in way.figures},
    }


def _with_house_figures(wanted: Content, present: Content) -> Content:
    """What the house entered itself outlasts a change of the catalogue."""
    for name, way in wanted["ways"].items():
        own = {
            key: figure
            for key, figure in present["ways"].get(name, {}).get("figures", {}).items()
            if _is_own(figure["standing"], figure["value"])
        }
        way["figures"].update(own)
    for key, row in present["ingredients"].items():
        if key in wanted["ingredients"] and _is_own(row["standing"], row["amount"]):
            wanted["ingredients"][key] = row
    return wanted


def _is_own(standing: str, value: Decimal | None) -> bool:
    return standing == Standing.HOUSE and value is not None
