"""Developing times that the house found for itself, with its own vessels."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from uuid import UUID

from chemistry.catalogue.recipes import dilutions, latest_version
from chemistry.checks import checked_words, require_steward
from chemistry.models import Film, Recipe, Role, Standing, TimePoint, TimeRow
from darkroom.errors import DomainError
from darkroom.models import Agitation, Member
from darkroom.operations import claim_receipt, operation

COLDEST_C, WARMEST_C = Decimal(10), Decimal(45)
LONGEST_MIN = Decimal(120)


class RowRefused(DomainError):
    """Times that cannot be, or for a use that the developer does not have."""

    code = "row_refused"


@operation
def add_time_row(
    *,
    film: Film,
    developer: Recipe,
    dilution_n: Decimal,
    index: int,
    agitation: Agitation,
    points: Mapping[Decimal, Decimal],
    note: str,
    key: UUID,
    by: Member,
    at: datetime,
) -> TimeRow:
    """A row of the house's own: minutes by °C, and how they were found.

    Raises: NotAllowed, RowRefused, WordsWanted.
    """
    require_steward(by)
    values = (film.pk, developer.pk, str(dilution_n), index, agitation, note)
    sent = [*values, sorted((str(c), str(m)) for c, m in points.items())]
    receipt = claim_receipt(by, key, "add_time_row", sent)
    if receipt.result:
        return TimeRow.objects.get(pk=receipt.result)
    _check_use(developer, dilution_n, index)
    _check_points(points)
    found = checked_words(note, most=200, field="note", missing="Say how these times were found.")
    row, is_new = TimeRow.objects.get_or_create(
        film=film,
        developer=developer,
        dilution_n=dilution_n,
        index=index,
        agitation=agitation,
        source=f"{found} ({by.name}, {at:%Y-%m-%d})"[:300],
        defaults={"standing": Standing.HOUSE},
    )
    if not is_new:
        raise RowRefused("This row already stands there.", field="note")
    TimePoint.objects.bulk_create(
        TimePoint(row=row, temp_c=temp_c, minutes=minutes) for temp_c, minutes in points.items()
    )
    receipt.settle(row.pk)
    return row


def _check_use(developer: Recipe, dilution_n: Decimal, index: int) -> None:
    if developer.role != Role.DEVELOPER:
        raise RowRefused(f"{developer} is no developer.", field="developer")
    latest = latest_version(developer)
    if latest is None or dilution_n not in dilutions(latest):
        raise RowRefused(f"{developer} is not used at this dilution.", field="dilution_n")
    if index <= 0:
        raise RowRefused("The index must be more than 0.", field="index")


def _check_points(points: Mapping[Decimal, Decimal]) -> None:
    if not points:
        raise RowRefused("Enter at least one temperature with its minutes.", field="points")
    for temp_c, minutes in points.items():
        if any(value != round(value, 2) for value in (temp_c, minutes)):
            raise RowRefused("Use at most two decimals.", field="points")
        if not COLDEST_C <= temp_c <= WARMEST_C:
            raise RowRefused(f"{temp_c} °C lies outside 10–45 °C.", field="points")
        if not 0 < minutes <= LONGEST_MIN:
            raise RowRefused(f"{minutes} minutes lie outside 0–120.", field="points")
    for (_, longer), (warmer, shorter) in pairwise(sorted(points.items())):
        if shorter > longer:
            raise RowRefused(f"At {warmer} °C the time is longer than cooler.", field="points")
