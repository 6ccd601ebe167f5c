"""Recipes of the catalogue as versions: written anew only when what they say has changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch

from chemistry.catalogue.schema import RecipeData, WayData
from chemistry.models import Figure, Recipe, RecipeVersion, Standing, WayOfUse

FIGURE_FIELDS = ("name", "material", "value", "unit", "source", "standing", "conditions")
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
        "ways": {
            way.way: {
                "mix_n": way.mix_n,
                "draw_n": way.draw_n,
                "replenisher": way.replenisher.code if way.replenisher else "",
                "figures": {
                    (f.name, f.material): {name: getattr(f, name) for name in FIGURE_FIELDS}
                    for f in way.figures.all()
                },
            }
            for way in version.ways.all()
        },
    }


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
        created_by=by,
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
    return recipe.versions.prefetch_related(Prefetch("ways", queryset=ways)).first()


def dilutions(version: RecipeVersion) -> set[Decimal]:
    """The n of every working solution that film may meet; 0 is undiluted stock."""
    return {
        way.draw_n if way.draw_n is not None else way.mix_n or Decimal(0)
        for way in version.ways.all()
    }


def _recipe(data: RecipeData) -> Recipe:
    values = {"name": data.name, "role": data.role, "letter": data.letter}
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
        "ways": {way.way: _way(way) for way in data.ways},
    }


def _way(way: WayData) -> Content:
    return {
        "mix_n": way.mix_n,
        "draw_n": way.draw_n,
        "replenisher": way.replenisher,
        "figures": {
            (f.name, f.material): {name: getattr(f, name) for name in FIGURE_FIELDS}
            for f in way.figures
        },
    }


def _with_house_figures(wanted: Content, present: Content) -> Content:
    """What the house entered itself outlasts a change of the catalogue."""
    for name, way in wanted["ways"].items():
        own = {
            key: figure
            for key, figure in present["ways"].get(name, {}).get("figures", {}).items()
            if figure["standing"] == Standing.HOUSE and figure["value"] is not None
        }
        way["figures"].update(own)
    return wanted
