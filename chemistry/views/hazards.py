"""What is to be minded with a recipe, and what it is kept apart from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from chemistry.catalogue.mixtures import Meaning, chemicals, meet, mixtures
from chemistry.catalogue.statements import STATEMENTS
from chemistry.models import Form, Hazard, Protection, RecipeVersion, Signal, Standing
from chemistry.science.mixtures import Chemical, Level, Verdict


@dataclass(frozen=True)
class HazardLine:
    """One form of a recipe: signal word, statements, what to wear."""

    hazard: Hazard

    @property
    def form(self) -> str:
        return self.hazard.get_form_display()

    @property
    def signal(self) -> str:
        return self.hazard.get_signal_display()

    @property
    def is_severe(self) -> bool:
        return self.hazard.signal in {Signal.DANGER, Signal.WARNING}

    @property
    def is_unknown(self) -> bool:
        return self.hazard.signal == Signal.UNKNOWN

    @property
    def statements(self) -> list[tuple[str, str]]:
        return [(code, STATEMENTS.get(code, "")) for code in self.hazard.statements]

    @property
    def protection(self) -> str:
        worn = [Protection(one).label for one in self.hazard.protection]
        words = ", ".join(worn)
        return words[:1].upper() + words[1:]


def hazard_lines(version: RecipeVersion) -> list[HazardLine]:
    """In the order in which a solution is made: powder, concentrate, stock, working."""
    order = Form.values
    rows = sorted(version.hazards.all(), key=lambda row: order.index(row.form))
    return [HazardLine(row) for row in rows]


@dataclass(frozen=True)
class Neighbour:
    """What a recipe is kept apart from, with everything that would come of it."""

    meaning: Meaning
    verdicts: tuple[Verdict, ...]
    recipes: tuple[str, ...]

    @property
    def is_blocked(self) -> bool:
        return self.verdicts[0].level == Level.BLOCK

    @property
    def products(self) -> str:
        return products_of(self.verdicts)

    @property
    def whys(self) -> list[str]:
        return list(dict.fromkeys(verdict.why for verdict in self.verdicts))

    @property
    def sources(self) -> list[str]:
        said = (f"{v.source} ({Standing(v.standing).label})" for v in self.verdicts)
        return list(dict.fromkeys(said))


def products_of(verdicts: Iterable[Verdict]) -> str:
    """Everything they would give, each once."""
    named = (product for verdict in verdicts for product in verdict.product.split(", "))
    return ", ".join(dict.fromkeys(named))


def neighbours(version: RecipeVersion) -> list[Neighbour]:
    """What may never stand with it first; with each the recipes of the house that it means."""
    own = chemicals(version.classes)
    others = _classes_by_recipe(version)
    found = [
        Neighbour(mixtures().meanings[one], verdicts, tuple(_of_class(one, own, others)))
        for one in Chemical
        if (verdicts := meet(own, frozenset({one})))
    ]
    return sorted(found, key=lambda neighbour: not neighbour.is_blocked)


def _of_class(
    one: Chemical, own: frozenset[Chemical], others: Iterable[tuple[str, frozenset[Chemical]]]
) -> list[str]:
    """Those in which the class would meet something new: two acid fixers may stand together."""
    return [
        name
        for name, classes in others
        if one in classes and any(verdict.b == one for verdict in meet(own, classes))
    ]


def _classes_by_recipe(version: RecipeVersion) -> list[tuple[str, frozenset[Chemical]]]:
    newest = RecipeVersion.objects.order_by("recipe", "-number").distinct("recipe")
    rows = newest.values_list("recipe", "recipe__name", "classes")
    found = [(name, chemicals(classes)) for pk, name, classes in rows if pk != version.recipe_id]
    return sorted(found, key=lambda pair: pair[0])
