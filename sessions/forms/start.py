"""When a session starts: one of the free starts, or a time on the clock of the house."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from chemistry.forms.fields import KeyedForm, instant_from_iso, instants, local_time


class StartForm(KeyedForm):
    """A start from those that are free, or any other time as the clock of the house shows it."""

    start = forms.Field(label="Start", required=False, widget=forms.RadioSelect)
    other = forms.CharField(
        label="Another time",
        required=False,
        max_length=32,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
        help_text="In the house's time; leave empty to take a start from above.",
    )
    which = forms.ChoiceField(
        label="Which of the two",
        required=False,
        choices=(("first", "The first time round"), ("second", "The second time round")),
        widget=forms.RadioSelect,
    )

    def __init__(
        self, *args: Any, starts: Iterable[datetime], zone: ZoneInfo, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone
        self.asks_which = False
        self.offer_starts(starts)

    def offer_starts(self, starts: Iterable[datetime]) -> None:
        widget = self.fields["start"].widget
        assert isinstance(widget, forms.RadioSelect)
        widget.choices = [
            (f"{start:%Y-%m-%dT%H:%MZ}", label) for start, label in labelled(starts, self.zone)
        ]

    def clean(self) -> dict[str, Any]:
        super().clean()
        name = "other" if self.cleaned_data.get("other") else "start"
        if not self.errors.keys() & {"start", "other"}:
            try:
                self.cleaned_data["starts_at"] = self._starts_at(name)
            except ValidationError as error:
                self.add_error(name, error)
        return self.cleaned_data

    @property
    def is_other_open(self) -> bool:
        return bool(self["other"].data or self["other"].errors)

    def place_of(self, field: str | None) -> str | None:
        """Where a refusal of this field is seen; None is above the form."""
        if field == "start":
            return "other" if self.cleaned_data.get("other") else "start"
        return field if field in self.fields and not self.fields[field].widget.is_hidden else None

    def _starts_at(self, name: str) -> datetime:
        text = self.cleaned_data[name]
        if name == "other":
            return self._local(text)
        if not text:
            raise ValidationError("Choose when to start.")
        found = instant_from_iso(text)
        if found is None:
            raise ValidationError("Choose one of the starts, or write another time below.")
        return found

    def _local(self, text: str) -> datetime:
        early, late = instants(local_time(text), self.zone)
        if early != late:
            self.asks_which = True
            if not self.cleaned_data.get("which"):
                raise ValidationError("The clocks go back then, so this time comes twice.")
        return late if self.cleaned_data.get("which") == "second" else early


def labelled(starts: Iterable[datetime], zone: ZoneInfo) -> list[tuple[datetime, str]]:
    """Starts with the time on the clock; a time that comes twice says which it is."""
    local = [(start, start.astimezone(zone)) for start in starts]
    return [
        (start, f"{at:%H:%M} {at:%Z}" if at.utcoffset() != _other_offset(at) else f"{at:%H:%M}")
        for start, at in local
    ]


def _other_offset(at: datetime) -> timedelta | None:
    return at.replace(fold=1 - at.fold).utcoffset()
