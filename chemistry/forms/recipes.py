"""What a steward enters for the house: its own figures, its own developing times."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField

from chemistry.catalogue.schema import UNITS
from chemistry.forms.fields import NUMBER_ATTRS, KeyedForm, VolumeField, words_field
from chemistry.models import (
    Figure,
    FigureName,
    Film,
    Ingredient,
    RecipeVersion,
    Standing,
    WayOfUse,
)
from darkroom.models import Agitation

FigureKey = tuple[str, str, str]
AmountKey = tuple[str, str]
Entry = tuple[BoundField, str]

PAIR = re.compile(
    r"(\d{1,2}(?:[.,]\d{1,2})?)\s*(?:°?\s*C)?\s*[ =:]\s*(\d{1,3})(?:([.,:])(\d{1,2}))?"
)


@dataclass(frozen=True)
class WayFields:
    """The fields of one way of use: figures that stand there, and those that do not yet."""

    label: str
    known: list[Entry]
    others: list[Entry]


class VolumeForm(forms.Form):
    """For how much the formula is wanted."""

    volume_ml = VolumeField(label="For how much")


class FiguresForm(KeyedForm):
    """A field for every figure of a version; only what is written becomes the house's own."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, version: RecipeVersion, ways: Iterable[WayOfUse], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["version"].initial = version.number
        self.amount_keys: dict[str, AmountKey] = {}
        self.ingredients = sorted(version.ingredients.all(), key=lambda row: row.order)
        for row in self.ingredients:
            self._add_amount(row)
        self.keys: dict[str, FigureKey] = {}
        self.ways = list(ways)
        for way in self.ways:
            rows = {(row.name, row.material): row for row in way.figures.all()}
            for name, material in self._wanted(rows):
                self._add(way, name, material, rows.get((name, material)))

    @staticmethod
    def _wanted(rows: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
        standing = list(rows)
        named = {name for name, _ in standing}
        return standing + [(name, "") for name in FigureName.values if name not in named]

    def _add(self, way: WayOfUse, name: str, material: str, row: Figure | None) -> None:
        field_name = "-".join(part for part in (way.way, name, material) if part)
        self.keys[field_name] = (way.way, name, material)
        value = None if row is None else row.value
        self.fields[field_name] = _number(_label(name, row), _help(row, value))

    def _add_amount(self, row: Ingredient) -> None:
        field_name = f"amount-{row.order}"
        self.amount_keys[field_name] = (row.part, row.name)
        label = f"{row.part}: {row.name}" if row.part else row.name
        self.fields[field_name] = _number(label, _help(row, row.amount))

    @property
    def by_ingredient(self) -> list[Entry]:
        return [(self[f"amount-{row.order}"], row.unit) for row in self.ingredients]

    @property
    def lacks_amounts(self) -> bool:
        return any(row.amount is None for row in self.ingredients)

    @property
    def by_way(self) -> list[WayFields]:
        return [self._fields_of(way) for way in self.ways]

    def _fields_of(self, way: WayOfUse) -> WayFields:
        standing = {(row.name, row.material) for row in way.figures.all()}
        known: list[Entry] = []
        others: list[Entry] = []
        for field_name, (owner, name, material) in self.keys.items():
            if owner == way.way:
                listed = known if (name, material) in standing else others
                listed.append((self[field_name], UNITS[name]))
        return WayFields(way.get_way_display(), known, others)

    def figures(self) -> dict[FigureKey, Decimal]:
        values = {key: self.cleaned_data[name] for name, key in self.keys.items()}
        return {key: value for key, value in values.items() if value is not None}

    def amounts(self) -> dict[AmountKey, Decimal]:
        values = {key: self.cleaned_data[name] for name, key in self.amount_keys.items()}
        return {key: value for key, value in values.items() if value is not None}


def _number(label: str, help_text: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        required=False,
        max_digits=12,
        decimal_places=4,
        help_text=help_text,
        widget=forms.TextInput(attrs=NUMBER_ATTRS),
        error_messages={"invalid": "Write a number, for example 20 or 13.5."},
    )


def _label(name: str, row: Figure | None) -> str:
    label = FigureName(name).label
    return f"{label}, {row.get_material_display().lower()}" if row and row.material else label


def _help(row: Figure | Ingredient | None, value: Decimal | None) -> str:
    if row is None:
        return ""
    if value is None and row.standing == Standing.HOUSE:
        return f"Missing. {row.source}."
    if value is None:
        return f"Missing. {row.source}, {row.get_standing_display()}."
    return f"Now {value.normalize():f}: {row.source}, {row.get_standing_display()}."


class PointsField(forms.CharField):
    """Temperatures with their minutes, as written; what they say as a mapping."""

    def clean(self, value: Any) -> dict[Decimal, Decimal]:
        lines = re.split(r"[;\n]", super().clean(value))
        points = [self._point(line.strip()) for line in lines if line.strip()]
        if len({temp_c for temp_c, _ in points}) < len(points):
            raise ValidationError("One temperature stands there twice.")
        return dict(points)

    @staticmethod
    def _point(line: str) -> tuple[Decimal, Decimal]:
        found = PAIR.fullmatch(line)
        if found is None:
            raise ValidationError("Write degrees and minutes, like 20 = 9:30, a line each.")
        temp, whole, mark, part = found.groups()
        if mark == ":" and int(part) > 59:
            raise ValidationError("A minute has 60 seconds.")
        rest = Decimal(part) / 60 if mark == ":" else Decimal(f"0.{part or 0}")
        return Decimal(temp.replace(",", ".")), round(Decimal(whole) + rest, 2)


class TimesForm(KeyedForm):
    film = forms.ModelChoiceField(
        label="Film", queryset=Film.objects.none(), empty_label="Choose a film"
    )
    index = forms.IntegerField(label="Exposure index", min_value=1, max_value=100_000)
    dilution_n = forms.TypedChoiceField(label="Dilution", coerce=Decimal)
    agitation = forms.ChoiceField(
        label="Agitation", choices=Agitation.choices, widget=forms.RadioSelect
    )
    points = PointsField(
        label="Degrees and minutes",
        max_length=200,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="A line each, in °C and minutes: 20 = 9:30.",
    )
    note = words_field("How it was found", 200)

    def __init__(self, *args: Any, dilutions: Iterable[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        film: Any = self.fields["film"]
        film.queryset = Film.objects.all()
        dilution: Any = self.fields["dilution_n"]
        dilution.choices = list(dilutions)
