"""What the house decides for itself."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time
from typing import Any

from darkroom.models import HouseRules, Member, OpeningHours
from darkroom.operations import operation

Week = Mapping[int, tuple[time, time]]
"""From when to when by weekday; one that is left out is closed."""


@operation
def change_house_rules(
    changes: dict[str, Any], *, week: Week | None = None, by: Member, at: datetime
) -> HouseRules:
    """The house's rules with ``changes``, a value for each field that the form shows."""
    rules = lock_house()
    for name, value in changes.items():
        setattr(rules, name, value)
    rules.full_clean()
    rules.save(update_fields=list(changes))
    if week is not None:
        open_in(week)
    return rules


def lock_house() -> HouseRules:
    HouseRules.current()
    return HouseRules.objects.select_for_update(no_key=True).get(pk=1)


def open_in(week: Week) -> None:
    """Replace the opening hours of all weekdays."""
    OpeningHours.objects.exclude(weekday__in=week).delete()
    OpeningHours.objects.bulk_create(
        [OpeningHours(weekday=day, opens_at=a, closes_at=b) for day, (a, b) in week.items()],
        update_conflicts=True,
        unique_fields=["weekday"],
        update_fields=["opens_at", "closes_at"],
    )
