"""Forms of the place itself, and how a refusal gets back beside its field."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, QueryDict

from darkroom.errors import DomainError
from darkroom.models import HouseRules, Role
from darkroom.models.house import validate_zone


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
    zone = forms.CharField(
        label="Time zone", max_length=40, validators=[validate_zone], help_text="As Europe/Lisbon."
    )
    opens_at = forms.TimeField(widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}))
    closes_at = forms.TimeField(widget=forms.TimeInput(format="%H:%M", attrs={"type": "time"}))
    booking_days_ahead = forms.IntegerField(min_value=1, max_value=365)
    loading_min = forms.IntegerField(label="Loading a vessel", min_value=0, max_value=240)
    cleaning_min = forms.IntegerField(label="Clearing away", min_value=0, max_value=240)
    drying_min = forms.IntegerField(label="Drying", min_value=0, max_value=1440)
    room_c = forms.DecimalField(
        label="The room", min_value=5, max_value=40, max_digits=4, decimal_places=1
    )
    low_share = forms.DecimalField(
        label="Low from", min_value=Decimal("0.1"), max_value=1, max_digits=3, decimal_places=2
    )
    expiry_warning_days = forms.IntegerField(label="Warn before", min_value=0, max_value=365)
    carry_out_ml_per_au = forms.DecimalField(
        label="Carry-out", min_value=0, max_value=200, max_digits=5, decimal_places=1
    )
    fill_limit_pct = forms.IntegerField(label="Full at", min_value=50, max_value=100)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        help_texts = {field.name: field.help_text for field in HouseRules._meta.fields}
        for name, field in self.fields.items():
            field.help_text = field.help_text or help_texts[name]

    def clean(self) -> dict[str, Any]:
        rules = super().clean() or {}
        opens_at, closes_at = rules.get("opens_at"), rules.get("closes_at")
        if opens_at and closes_at and opens_at >= closes_at:
            self.add_error("closes_at", "The house must close after it opens, on the same day.")
        return rules
