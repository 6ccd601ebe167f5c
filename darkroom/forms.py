"""Forms of the place itself, and how a refusal gets back beside its field."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import time
from typing import Any

from django import forms
from django.http import HttpRequest, QueryDict

from darkroom.errors import DomainError
from darkroom.fields import ShareField, zones
from darkroom.models import HouseRules, OpeningHours, Role, Weekday


def posted(request: HttpRequest) -> QueryDict | None:
    """What a form is bound to: what was sent, be it nothing at all; None while it is only shown."""
    return request.POST if request.method == "POST" else None


def show_refusal(form: forms.Form, refusal: DomainError) -> None:
    """Put the refusal beside the field it names, or above the form if it names none of its own."""
    form.add_error(refusal.field if refusal.field in form.fields else None, refusal.message)


class SignInForm(forms.Form):
    email = forms.EmailField(
        label="E-mail", max_length=254, widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )
    password = forms.CharField(
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PasswordForm(forms.Form):
    password = forms.CharField(
        max_length=200,
        strip=False,
        help_text="At least eight characters; a few words that you remember are best.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label="The same again",
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean(self) -> dict[str, Any]:
        figures = super().clean() or {}
        both = figures.get("password"), figures.get("again")
        if None not in both and both[0] != both[1]:
            self.add_error("again", "The two are not the same.")
        return figures


class FirstAdministratorForm(PasswordForm):
    name = forms.CharField(label="Your name", max_length=120)
    email = forms.EmailField(
        label="Your e-mail",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )
    field_order = ("name", "email", "password", "again")


class NewPersonForm(forms.Form):
    name = forms.CharField(max_length=120)
    email = forms.EmailField(label="E-mail", max_length=254)
    role = forms.ChoiceField(choices=Role.choices, initial=Role.MEMBER)


class PersonForm(forms.Form):
    name = forms.CharField(max_length=120)
    role = forms.ChoiceField(choices=Role.choices)
    is_active = forms.BooleanField(label="May sign in", required=False)


class HouseRulesForm(forms.Form):
    """What a house may decide for itself; the limits only keep out slips of the finger."""

    name = forms.CharField(label="Name of the house", max_length=80)
    zone = forms.ChoiceField(label="Time zone", choices=zones)
    booking_days_ahead = forms.IntegerField(min_value=1, max_value=365)
    loading_min = forms.IntegerField(label="Loading a vessel", min_value=0, max_value=240)
    cleaning_min = forms.IntegerField(label="Clearing away", min_value=0, max_value=240)
    drying_min = forms.IntegerField(label="Drying", min_value=0, max_value=1440)
    room_c = forms.DecimalField(
        label="The room", min_value=5, max_value=40, max_digits=4, decimal_places=1
    )
    low_share = ShareField(
        label="Low from", low_pct=10, high_pct=100, max_digits=5, decimal_places=2
    )
    expiry_warning_days = forms.IntegerField(label="Warn before", min_value=0, max_value=365)
    carry_out_ml_per_au = forms.DecimalField(
        label="Carry-out", min_value=0, max_value=200, max_digits=5, decimal_places=1
    )
    fill_limit_pct = forms.IntegerField(label="Full at", min_value=50, max_value=100)
    no_colour_alone = forms.BooleanField(label="No colour or toner work alone", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        help_texts = {field.name: field.help_text for field in HouseRules._meta.fields}
        for name, field in self.fields.items():
            field.help_text = field.help_text or help_texts[name]


class WeekForm(forms.Form):
    """Two times for each weekday, or none where the house is closed."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for day in Weekday:
            self.fields[f"opens_{day.value}"] = _clock_field(f"{day.label} from")
            self.fields[f"closes_{day.value}"] = _clock_field(f"{day.label} until")

    @staticmethod
    def initial_of(rows: Iterable[OpeningHours]) -> dict[str, time]:
        found: dict[str, time] = {}
        for row in rows:
            found[f"opens_{row.weekday}"] = row.opens_at
            found[f"closes_{row.weekday}"] = row.closes_at
        return found

    @property
    def days(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"opens_{day.value}"], self[f"closes_{day.value}"]) for day in Weekday]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        week: dict[int, tuple[time, time]] = {}
        for day in Weekday:
            opens, closes = given.get(f"opens_{day.value}"), given.get(f"closes_{day.value}")
            if opens and closes and opens < closes:
                week[day.value] = opens, closes
            else:
                self._refuse_day(day, opens, closes)
        return {"week": week}

    def _refuse_day(self, day: Weekday, opens: time | None, closes: time | None) -> None:
        names = f"opens_{day.value}", f"closes_{day.value}"
        if self.errors.keys() & set(names) or not (opens or closes):
            return
        if opens and closes:
            self.add_error(names[1], "The house must close after it opens, on the same day.")
        else:
            missing = names[1] if opens else names[0]
            self.add_error(missing, f"Give both times, or neither: then {day.label} is closed.")


def _clock_field(label: str) -> forms.TimeField:
    widget = forms.TimeInput(format="%H:%M", attrs={"type": "time"})
    return forms.TimeField(label=label, required=False, widget=widget)
