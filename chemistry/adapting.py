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

MOST = Decimal("99999999")
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
    key: UUID,
    by: Member,
    at: datetime,
) -> RecipeVersion:
    """A new version in which these figures are the house's own; bottles keep the one they have.

    Raises: NotAllowed, FigureRefused, VersionReplaced.
    """
    require_steward(by)
    sent = {"version": version.pk, "figures": sorted((*k, str(v)) for k, v in figures.items())}
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
    content = _with_own(content_of(latest), figures, by=by, at=at)
    stored = {replenisher.code: replenisher for replenisher in Recipe.objects.all()}
    adapted = write_version(recipe, content, number=latest.number + 1, stored=stored, by=by)
    # The field stamps itself with the clock when it is inserted.
    RecipeVersion.objects.filter(pk=adapted.pk).update(created_at=at)
    receipt.settle(adapted.pk)
    return adapted


def _with_own(
    content: Content, figures: Mapping[FigureKey, Decimal], *, by: Member, at: datetime
) -> Content:
    if not figures:
        raise FigureRefused("Enter at least one figure.")
    for (way, name, material), value in figures.items():
        _check(content, (way, name, material), value)
        content["ways"][way]["figures"][name, material] = _own(name, material, value, by, at)
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
    if not value.is_finite() or value <= 0:
        raise FigureRefused("This must be more than 0.", field=field)
    if value > MOST or value != value.quantize(STEP):
        raise FigureRefused("Use at most eight digits and four decimals.", field=field)


def _own(name: str, material: str, value: Decimal, by: Member, at: datetime) -> dict[str, Any]:
    return {
        "name": name,
        "material": material,
        "value": value,
        "unit": UNITS[name],
        "source": f"Entered by {by.name}, {at:%Y-%m-%d}",
        "standing": Standing.HOUSE.value,
        "conditions": "",
    }
