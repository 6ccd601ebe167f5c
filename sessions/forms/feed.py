"""Which calendar somebody wants the address of."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from darkroom.models import Equipment
from sessions.models import CalendarFeed

Kind = CalendarFeed.Kind


class FeedForm(forms.Form):
    kind = forms.ChoiceField(choices=Kind.choices)
    equipment = forms.ModelChoiceField(Equipment.objects.all(), required=False)

    def clean(self) -> dict[str, Any]:
        got = super().clean() or {}
        if (got.get("kind") == Kind.EQUIPMENT) != (got.get("equipment") is not None):
            raise ValidationError("There is no such calendar.")
        return got
