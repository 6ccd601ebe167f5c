"""Ways of use as lines of a card."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from django.db.models import Prefetch

from chemistry.figures import missing_figures
from chemistry.formulas import missing_amounts
from chemistry.models import Figure, FigureName, Recipe, RecipeVersion, Role, WayOfUse
from chemistry.science.mixing import Dilution


@dataclass(frozen=True)
class WayLine:
    label: str
    dilution: str
    drawn: str
    missing: tuple[str, ...]


@dataclass(frozen=True)
class RecipeCard:
    """A recipe in its latest version."""

    recipe: Recipe
    version: RecipeVersion
    ways: tuple[WayLine, ...]

    @property
    def version_says(self) -> str:
        return f"Version {self.version.number}, {self.version.get_stream_display().lower()} waste"

    @property
    def can_mix(self) -> bool:
        return any(not way.missing for way in self.ways)


@dataclass(frozen=True)
class RoleGroup:
    role: str
    label: str
    choices: tuple[RecipeCard, ...]


def recipe_groups() -> list[RoleGroup]:
    """Every recipe with its latest version, by role; the number of queries is fixed."""
    ways = WayOfUse.objects.prefetch_related("figures").order_by("way")
    beside = (Prefetch("ways", ways), "ingredients")
    versions = RecipeVersion.objects.order_by("-number").prefetch_related(*beside)
    recipes = Recipe.objects.prefetch_related(Prefetch("versions", versions))
    cards = [recipe_card(recipe) for recipe in recipes if recipe.versions.all()]
    by_role = {role: tuple(group) for role, group in groupby(cards, lambda c: c.recipe.role)}
    return [RoleGroup(role, role.label, by_role[role]) for role in Role if role in by_role]


def recipe_card(recipe: Recipe) -> RecipeCard:
    latest = recipe.versions.all()[0]
    return RecipeCard(recipe, latest, tuple(way_lines(latest)))


def way_lines(version: RecipeVersion) -> list[WayLine]:
    return [
        WayLine(
            label=way.get_way_display(),
            dilution=dilution_text(way.mix_n),
            drawn=dilution_text(way.draw_n),
            missing=tuple(lacking(way, version)),
        )
        for way in version.ways.all()
    ]


def lacking(way: WayOfUse, version: RecipeVersion) -> list[str]:
    """What has to be entered before it can be mixed so, in words."""
    amounts = [f"how much {name.lower()}" for name in missing_amounts(version)]
    return [*amounts, *(name.label for name in missing_figures(way))]


def dilution_text(parts: Decimal | None) -> str:
    """``1+4``, ``undiluted`` for 1+0, and nothing where nothing is diluted."""
    if parts is None:
        return ""
    return str(Dilution(parts)) if parts else "undiluted"


@dataclass(frozen=True)
class FigureLine:
    label: str
    material: str
    value: Decimal | None
    unit: str
    source: str
    standing: str
    conditions: str


@dataclass(frozen=True)
class WayCard:
    """One way of use with all its figures."""

    label: str
    dilution: str
    drawn: str
    replenisher: Recipe | None
    figures: tuple[FigureLine, ...]

    @property
    def is_missing(self) -> bool:
        return any(line.value is None for line in self.figures)


def way_card(way: WayOfUse) -> WayCard:
    order = FigureName.values
    rows = sorted(way.figures.all(), key=lambda row: (order.index(row.name), row.material))
    return WayCard(
        label=way.get_way_display(),
        dilution=dilution_text(way.mix_n),
        drawn=dilution_text(way.draw_n),
        replenisher=way.replenisher,
        figures=tuple(figure_line(row) for row in rows),
    )


def figure_line(row: Figure) -> FigureLine:
    return FigureLine(
        label=row.get_name_display(),
        material=row.get_material_display() if row.material else "",
        value=row.value,
        unit=row.unit,
        source=row.source,
        standing=row.get_standing_display(),
        conditions=row.conditions,
    )
