"""Fields of the bench: numbers as people write them, with the unit that stands beside them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from chemistry.forms.fields import NUMBER_ATTRS, SPACES, VolumeField
from chemistry.science.errors import OutOfRange
from chemistry.science.mixing import AmbiguousRatio, Dilution
from darkroom.templatetags.look import SPACE, number

PLAIN = re.compile(r"\d{1,9}([.,]\d{1,6})?")
THINNEST = 10_000


class NumberField(forms.CharField):
    """A number with its unit, exactly as written; from ``low`` to ``high``, both allowed."""

    def __init__(
        self,
        label: str,
        *,
        unit: str = "",
        low: Decimal | int | None = 0,
        high: Decimal | int | None = None,
        **options: Any,
    ) -> None:
        widget = forms.TextInput(attrs=NUMBER_ATTRS)
        super().__init__(label=label, max_length=20, widget=widget, **options)
        self.unit, self.low, self.high = unit, low, high

    def clean(self, value: Any) -> Decimal | None:
        text: str = super().clean(value)
        return None if text in self.empty_values else self._number(text.translate(SPACES))

    def prepare_value(self, value: Any) -> Any:
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value

    def _number(self, text: str) -> Decimal:
        if not PLAIN.fullmatch(text):
            raise ValidationError("Write a number, for example 20 or 13.5.")
        if re.search(r",\d{3}$", text):
            raise ValidationError("Write 1200 or 1.2 without a comma; this could mean either.")
        found = Decimal(text.replace(",", "."))
        if self.low is not None and found < self.low:
            raise ValidationError(f"At least {number(self.low)}{SPACE}{self.unit}.")
        if self.high is not None and found > self.high:
            raise ValidationError(f"At most {number(self.high)}{SPACE}{self.unit}.")
        return found


class MlField(VolumeField):
    """Millilitres as written, whole microlitres as cleaned."""

    unit = "mL"


class DilutionField(forms.CharField):
    """``1+n`` and nothing that could be read in two ways."""

    def __init__(self, label: str = "Dilution", **options: Any) -> None:
        super().__init__(
            label=label,
            max_length=20,
            help_text="As 1+9: one part of stock and nine parts of water.",
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
            **options,
        )

    def clean(self, value: Any) -> Dilution:
        text = super().clean(value)
        try:
            found = Dilution.parse(text)
        except AmbiguousRatio as error:
            raise ValidationError(
                f"{text} is read in two ways. Write 1+n: photographic makers mean one part of "
                "stock plus n of water."
            ) from error
        except (OutOfRange, ValueError) as error:
            raise ValidationError("Write it as 1+9 or 1+50.") from error
        if found.parts > THINNEST:
            raise ValidationError(f"At most 1+{THINNEST}.")
        return found


def degrees(label: str, **options: Any) -> NumberField:
    return NumberField(label, unit="°C", high=100, **options)


def percent(label: str, **options: Any) -> NumberField:
    return NumberField(label, unit="%", high=100, **options)


@dataclass(frozen=True, slots=True)
class Offer:
    """Something to choose, under the head of its group."""

    group: str
    label: str
    thing: Any


class OfferField(forms.ChoiceField):
    """One of what the house has, or none of it; fetched only when it is looked at."""

    def __init__(self, label: str, *, nothing: str, **options: Any) -> None:
        super().__init__(label=label, required=False, **options)
        self.nothing = nothing
        self.offers: Callable[[], Mapping[str, Offer]] = dict

    def offer(self, offers: Callable[[], Mapping[str, Offer]]) -> None:
        self.offers = offers
        self.choices = self._grouped

    def clean(self, value: Any) -> Any:
        key = super().clean(value)
        return self.offers()[key].thing if key else None

    def _grouped(self) -> list[tuple[str, Any]]:
        groups: dict[str, list[tuple[str, str]]] = {}
        for key, offer in self.offers().items():
            groups.setdefault(offer.group, []).append((key, offer.label))
        return [("", self.nothing), *groups.items()]
