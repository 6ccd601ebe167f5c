"""Form fields that are not of one page alone."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator


class ShareField(forms.DecimalField):
    """A share of one, asked for and shown in percent."""

    def __init__(self, *, low_pct: int, high_pct: int, **kwargs: Any) -> None:
        said = f"Between {low_pct} and {high_pct} %%."
        super().__init__(
            validators=[
                MinValueValidator(Decimal(low_pct) / 100, said),
                MaxValueValidator(Decimal(high_pct) / 100, said),
            ],
            **kwargs,
        )

    def to_python(self, value: Any) -> Any:
        found = super().to_python(value)
        return None if found is None else found.scaleb(-2)

    def prepare_value(self, value: Any) -> Any:
        """What was typed stays as it is; what is stored becomes percent."""
        return f"{(value * 100).normalize():f}" if isinstance(value, Decimal) else value


@cache
def zones() -> list[tuple[str, str]]:
    """Every zone that is named by a place, and UTC."""
    places = {zone for zone in available_timezones() if "/" in zone}
    named = sorted(zone for zone in places if not zone.startswith(("Etc/", "SystemV/", "posix/")))
    return [("UTC", "UTC"), *((zone, zone.replace("_", " ")) for zone in named)]
