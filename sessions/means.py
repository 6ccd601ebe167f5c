"""What the house has for a process: solutions, bottles, printed times, equipment.

Everything is read once, in a number of queries that does not grow with what there is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import cached_property

from chemistry.figures import bath_figures, missing_figures, value
from chemistry.models import FigureName, Recipe, Role, TimeRow, Way, WayOfUse
from chemistry.science.area import AU_MM2
from chemistry.science.wear import BathFigures
from darkroom.inducted import Inducted
from darkroom.models import Equipment, HouseRules
from darkroom.templatetags.look import number
from sessions.asking import Ask, AskLine
from sessions.models import HeatConstant
from sessions.planning.options import BathRule
from sessions.planning.plan import hardest
from sessions.planning.promises import Promise
from sessions.supplies import NEW, Supply, best, on_shelf

ESSENTIAL = {
    Way.TO_DRAW: FigureName.MIN_STOCK,
    Way.REUSED: FigureName.CAPACITY,
    Way.REPLENISHED: FigureName.ARREARS_LIMIT,
}
"""Without this figure nothing can be said about what a bath will bear."""

TRIAL_UL = 1


@dataclass(frozen=True)
class Developer:
    """A way to develop that a member may choose."""

    way: WayOfUse
    has_bottle: bool
    has_time: bool

    @property
    def key(self) -> str:
        return developer_key(self.way)

    @property
    def name(self) -> str:
        return developer_name(self.way)


def developer_name(way: WayOfUse) -> str:
    recipe, n = way.version.recipe, way.draw_n
    if way.way == Way.TO_DRAW:
        return f"{recipe} 1+{number(n)}, used once" if n else f"{recipe} undiluted, used once"
    return f"{recipe}, {way.get_way_display().lower()}"


def developer_key(way: WayOfUse) -> str:
    """Names a way to develop in an address: it outlives a new version of the recipe."""
    return f"{way.version.recipe.code}:{way.way}"


def dilution_n(way: WayOfUse) -> Decimal:
    """The n of the solution that film meets; 0 is undiluted."""
    n = way.draw_n if way.way == Way.TO_DRAW else way.mix_n
    return n or Decimal(0)


class Means:
    """What there is for this ask, as of ``at``."""

    def __init__(self, ask: Ask, *, at: datetime) -> None:
        self.ask, self.at = ask, at
        self.rules = HouseRules.current()
        self.steps = list(ask.process.steps.all())
        self.roles = {step.role for step in self.steps} - {Role.WATER}
        self.ways = latest_ways(self.roles)
        self.supplies = on_shelf(self.roles, ask.member)

    @cached_property
    def inducted(self) -> Inducted:
        """What the member has been shown; asks the database nothing where no topic is asked for."""
        return Inducted(self.ask.member, zone=self.rules.tz, at=self.at)

    @cached_property
    def pieces(self) -> dict[int, Equipment]:
        return {piece.pk: piece for piece in self.equipment}

    @cached_property
    def equipment(self) -> list[Equipment]:
        return list(Equipment.objects.prefetch_related("agitations", "fits__format"))

    @cached_property
    def heat_constants(self) -> dict[int, list[HeatConstant]]:
        """What was logged of each piece, the newest first."""
        found: dict[int, list[HeatConstant]] = {}
        for logged in HeatConstant.objects.all():
            found.setdefault(logged.equipment_id, []).append(logged)
        return found

    @cached_property
    def time_rows(self) -> list[TimeRow]:
        """Printed times of any of the films at any of the indices."""
        lines = self.ask.lines
        rows = TimeRow.objects.filter(
            film__in={line.film.pk for line in lines}, index__in={line.index for line in lines}
        )
        return list(rows.select_related("developer").prefetch_related("points").order_by("pk"))

    @cached_property
    def developers(self) -> list[Developer]:
        """The best to begin with first: with a bottle and a printed time, then the others."""
        found = [
            Developer(way, self._has_bottle(way), self._has_times(way))
            for way in self.ways
            if way.version.recipe.role == Role.DEVELOPER
        ]
        return sorted(
            found, key=lambda d: (not (d.has_bottle and d.has_time), not d.has_bottle, d.key)
        )

    @cached_property
    def developer(self) -> WayOfUse | None:
        """What the member chose, or else the best; None where the house has no developer."""
        if self.ask.developer is not None:
            key = developer_key(self.ask.developer)
            return next((d.way for d in self.developers if d.key == key), self.ask.developer)
        return self.developers[0].way if self.developers else None

    def way_for(self, role: str) -> WayOfUse | None:
        """How a step of this role is served: by what stands on the shelf, if anything does."""
        if role == Role.DEVELOPER:
            return self.developer
        found = [way for way in self.ways if self._takes(role, way.version.recipe)]
        return min(found, key=self._rank, default=None)

    def _takes(self, role: str, recipe: Recipe) -> bool:
        """An alkaline fixer shares its role with an acid one, but not the steps around it."""
        return all(step.takes(recipe) for step in self.steps if step.role == role)

    def fitting(self, way: WayOfUse) -> list[Supply]:
        """The bottles of this recipe, way of use and dilution."""
        key = (way.version.recipe_id, way.way, way.draw_n)
        return [s for s in self.supplies if _key_of(s.batch.way) == key]

    def rows_for(self, way: WayOfUse, line: AskLine) -> list[TimeRow]:
        n = dilution_n(way)
        wanted = (way.version.recipe_id, n, line.film.pk, line.index)
        return [
            row
            for row in self.time_rows
            if (row.developer_id, row.dilution_n, row.film_id, row.index) == wanted
        ]

    def bath_rule(self, name: str, way: WayOfUse, material: str) -> BathRule:
        """What the recipe asks of a load of this material."""
        per_pass = value(way, FigureName.PER_PASS, material)
        return BathRule(
            name=name,
            stock_ml_per_au=value(way, FigureName.MIN_STOCK, material),
            dilution_n=way.draw_n,
            per_pass_mm2_per_l=None if per_pass is None else per_pass * AU_MM2,
        )

    def best_for(self, way: WayOfUse) -> Supply | None:
        """The bottle that would be taken for all of it, if one serves."""
        found = self.fitting(way)
        if not found:
            return None
        return best(found, self.trial(bath_figures(found[0].batch.way)))

    def trial(self, figures: BathFigures) -> Promise:
        """All the area asked for, at once and with hardly any volume."""
        return Promise(
            key=NEW,
            session=None,
            member=self.ask.member.pk,
            starts_at=self.at,
            ends_at=self.at,
            material=hardest(sorted(self.ask.materials), figures),
            area_mm2=self.ask.area_mm2,
            borrowed_ul=TRIAL_UL,
        )

    def _has_bottle(self, way: WayOfUse) -> bool:
        return any(supply.serves(self.trial(supply.bottle.figures)) for supply in self.fitting(way))

    def _has_times(self, way: WayOfUse) -> bool:
        return all(self.rows_for(way, line) for line in self.ask.lines)

    def _rank(self, way: WayOfUse) -> tuple[bool, bool, bool, str]:
        serves, fitting = self._has_bottle(way), self.fitting(way)
        return not serves, not fitting, lacks_essential(way), developer_key(way)


def lacks_essential(way: WayOfUse) -> bool:
    """Whether the figure that limits this way of use is for the house to enter, and is not."""
    essential = ESSENTIAL[Way(way.way)]
    if way.way == Way.REUSED:
        return not any(f.name == essential and f.value is not None for f in way.figures.all())
    return essential in missing_figures(way)


def latest_ways(roles: Iterable[str]) -> list[WayOfUse]:
    """The ways of use of the newest version of each recipe of these roles."""
    rows = WayOfUse.objects.filter(version__recipe__role__in=set(roles))
    ways = list(
        rows.select_related("version__recipe")
        .prefetch_related("figures")
        .order_by("version__recipe__code", "pk")
    )
    newest: dict[int, int] = {}
    for way in ways:
        recipe = way.version.recipe_id
        newest[recipe] = max(newest.get(recipe, 0), way.version.number)
    return [way for way in ways if way.version.number == newest[way.version.recipe_id]]


def _key_of(way: WayOfUse) -> tuple[int, str, Decimal | None]:
    return way.version.recipe_id, way.way, way.draw_n
