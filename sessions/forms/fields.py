"""Fields that read what stands on a timer and a thermometer."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from chemistry.forms.fields import NUMBER_ATTRS, VolumeField

CLOCK = re.compile(r"(\d{1,4}):([0-5]\d)")
PLAIN = re.compile(r"\d{1,4}([.,]\d{1,2})?")
DEGREES = re.compile(r"-?\d{1,3}([.,]\d)?")
NOTHING = re.compile(r"0+([.,]0*)?")
MOST_MIN = 16 * 60
"""The row of a session holds three digits of minutes."""


class MinutesField(forms.CharField):
    """``7:30`` and ``7.5`` are the same time; cleaned to minutes with two decimals."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.TextInput(attrs=NUMBER_ATTRS))
        super().__init__(max_length=12, **options)

    def clean(self, value: Any) -> Decimal | None:
        text: str = super().clean(value)
        if text in self.empty_values:
            return None
        minutes = _minutes(text.strip())
        if not 0 < minutes <= MOST_MIN:
            raise ValidationError("This must be more than nothing and at most sixteen hours.")
        return minutes

    def prepare_value(self, value: Any) -> Any:
        return clock_text(value) if isinstance(value, Decimal) else value


class DegreesField(forms.CharField):
    """Degrees Celsius to a tenth, as a thermometer reads."""

    def __init__(self, *, low: int = 0, high: int = 60, **options: Any) -> None:
        options.setdefault("widget", forms.TextInput(attrs=NUMBER_ATTRS))
        super().__init__(max_length=8, **options)
        self.low, self.high = low, high

    def clean(self, value: Any) -> Decimal | None:
        text: str = super().clean(value)
        if text in self.empty_values:
            return None
        if not DEGREES.fullmatch(text.strip()):
            raise ValidationError("Write degrees as a number, for example 20 or 20.5.")
        degrees = Decimal(text.strip().replace(",", "."))
        if not self.low <= degrees <= self.high:
            raise ValidationError(f"Between {self.low} and {self.high} °C.")
        return degrees


class MissingField(VolumeField):
    """What is missing: a volume of which nothing, written as 0 or not at all, is an answer."""

    def clean(self, value: Any) -> int | None:
        is_nothing = isinstance(value, str) and NOTHING.fullmatch(value.strip())
        return 0 if is_nothing else super().clean(value)


def clock_text(minutes: Decimal) -> str:
    """Minutes as a timer shows them."""
    seconds = round(minutes * 60)
    return f"{seconds // 60}:{seconds % 60:02d}"


def _minutes(text: str) -> Decimal:
    clock = CLOCK.fullmatch(text)
    if clock:
        exact = Decimal(clock[1]) + Decimal(clock[2]) / 60
        return exact.quantize(Decimal("0.01"))
    if not PLAIN.fullmatch(text):
        raise ValidationError("Write minutes like 7:30 or 7.5.")
    return Decimal(text.replace(",", "."))
