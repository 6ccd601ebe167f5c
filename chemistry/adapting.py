"""The house's own figures and times: a steward enters them, the catalogue's stay as they were."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from chemistry.catalogue.recipes import Content, content_of, latest_version, write_version
from chemistry.catalogue.schema import UNITS
from chemistry.checks import require_steward
from chemistry.models import FigureName, Recipe, RecipeVersion, Standing
from darkroom.errors import DomainError
from darkroom.models import Material, Member
from darkroom.operations import claim_receipt, operation

FigureKey = tuple[str, str, str]
"""Way of use, name of the figure, material (empty for every material)."""

AmountKey = tuple[str, str]
"""The solution of the formula that it is for (empty if there is but one), and the ingredient."""

MOST = Decimal("99999999")
MOST_IN = {"days": Decimal(36_500), "h": Decimal(8_760), "%": Decimal(1_000)}
"""A bottle's dates are reckoned with these: a hundred years, a year, and ten times over."""

MOST_AMOUNT = Decimal("2000")
STEP = Decimal("0.0001")


class VersionReplaced(DomainError):
    """Somebody wrote a newer version in the meantime."""

    code = "version_replaced"
    status = 409


class FigureRefused(DomainError):
    """A figure that the recipe has no place for, or with a value that cannot be."""

    code = "figure_refused"


@operation
def adapt_recipe(
    *,
    version: RecipeVersion,
    figures: Mapping[FigureKey, Decimal],
    amounts: Mapping[AmountKey, Decimal] | None = None,
    key: UUID,
    by: Member,
    at: datetime,
) -> RecipeVersion:
    """A new version in which these figures are the house's own; bottles keep the one they have.

    ``amounts`` is how much of an ingredient goes into a litre.

    Raises: NotAllowed, FigureRefused, VersionReplaced.
    """
    require_steward(by)
    amounts = amounts or {}
    sent = {
        "version": version.pk,
        "figures": sorted((*k, str(v)) for k, v in figures.items()),
        "amounts": sorted((*k, str(v)) for k, v in amounts.items()),
    }
    receipt = claim_receipt(by, key, "adapt_recipe", sent)
    if receipt.result:
        return RecipeVersion.objects.get(pk=receipt.result)
    recipe = Recipe.objects.select_for_update(no_key=True).get(pk=version.recipe_id)
    latest = latest_version(recipe)
    if latest is None or latest.pk != version.pk:
        raise VersionReplaced(
            "This recipe was changed a moment ago. Look at what stands there now, then enter "
            "your figures again."
        )
    if not figures and not amounts:
        raise FigureRefused("Enter at least one figure.")
    content = _with_own(content_of(latest), figures, by=by, at=at)
    content = _with_own_amounts(content, amounts, by=by, at=at)
    stored = {replenisher.code: replenisher for replenisher in Recipe.objects.all()}
    adapted = write_version(recipe, content, number=latest.number + 1, stored=stored, by=by)
    # The field stamps itself with the clock when it is inserted.
    RecipeVersion.objects.filter(pk=adapted.pk).update(created_at=at)
    receipt.settle(adapted.pk)
    return adapted


def _with_own(
    content: Content, figures: Mapping[FigureKey, Decimal], *, by: Member, at: datetime
) -> Content:
    for (way, name, material), value in figures.items():
        _check(content, (way, name, material), value)
        content["ways"][way]["figures"][name, material] = _own(name, material, value, by, at)
    return content


def _with_own_amounts(
    content: Content, amounts: Mapping[AmountKey, Decimal], *, by: Member, at: datetime
) -> Content:
    for key, amount in amounts.items():
        if key not in content["ingredients"]:
            raise FigureRefused("That is not in this recipe.")
        row = content["ingredients"][key]
        field = f"amount-{row['order']}"
        _check_value(amount, MOST_AMOUNT, f"At most {MOST_AMOUNT} can go into a litre.", field)
        own = {"source": _entered(by, at), "standing": Standing.HOUSE.value}
        content["ingredients"][key] = row | own | {"amount": amount}
    return content


def _check(content: Content, key: FigureKey, value: Decimal) -> None:
    way, name, material = key
    field = "-".join(part for part in key if part)
    if way not in content["ways"]:
        raise FigureRefused("This recipe is not used so.", field=field)
    if name not in FigureName.values:
        raise FigureRefused("There is no such figure.", field=field)
    if material and material not in Material.values:
        raise FigureRefused("There is no such class of material.", field=field)
    unit = UNITS[name]
    most = MOST_IN.get(unit, MOST)
    _check_value(value, most, f"At most {most} {unit} can be entered.", field)


def _check_value(value: Decimal, most: Decimal, too_much: str, field: str) -> None:
    if not value.is_finite() or value <= 0:
        raise FigureRefused("This must be more than 0.", field=field)
    if value > most:
        raise FigureRefused(too_much, field=field)
    if value != value.quantize(STEP):
        raise FigureRefused("Use at most four decimals.", field=field)


def _entered(by: Member, at: datetime) -> str:
    return f"Entered by {by.name}, {at:%Y-%m-%d}"


def _own(name: str, material: str, value: Decimal, by: Member, at: datetime) -> dict[str, Any]:
    return {
        "name": name,
        "material": material,
        "value": value,
        "unit": UNITS[name],
        "source": _entered(by, at),
        "standing": Standing.HOUSE.value,
        "conditions": "",
    }
