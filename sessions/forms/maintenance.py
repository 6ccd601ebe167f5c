"""Taking equipment out of service: for how long, why, and with what it hits in view."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from chemistry.forms.fields import KeyedForm, instants, local_time, words_field
from sessions.displacing import Time
from sessions.maintaining import MOST_WORDS
from sessions.models import Session

OPEN, PERIOD = "open", "period"


class OutForm(KeyedForm):
    """A period in the house's time, or until further notice; sent again once its hits are seen."""

    lasts = forms.ChoiceField(
        label="How long",
        choices=((PERIOD, "From one time to another"), (OPEN, "Until further notice, from now on")),
        initial=PERIOD,
        widget=forms.RadioSelect,
    )
    starts = forms.CharField(
        label="From",
        required=False,
        max_length=32,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
        help_text="In the house's time; empty: from now on.",
    )
    ends = forms.CharField(
        label="To",
        required=False,
        max_length=32,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    reason = words_field("Why", MOST_WORDS, help_text="Members read it.")
    seen = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(self, *args: Any, zone: ZoneInfo, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone
        self.at = at

    def clean(self) -> dict[str, Any]:
        got = super().clean()
        if got.get("lasts") == OPEN:
            got["out"] = (self.at, None)
        elif not self.errors.keys() & {"lasts", "starts", "ends"}:
            self._read_period()
        return got

    @property
    def out(self) -> Time:
        found: Time = self.cleaned_data["out"]
        return found

    def has_seen(self, hits: Sequence[Session]) -> bool:
        """Whether these sessions were on the page that was sent."""
        return not hits or self.cleaned_data["seen"] == _digest(hits)

    def show(self, hits: Sequence[Session]) -> None:
        """Let the next press mean that these were seen."""
        sent: Any = self.data
        data = sent.copy()
        data[self.add_prefix("seen")] = _digest(hits)
        self.data = data

    def _read_period(self) -> None:
        """Of a time that comes twice the start is the earlier and the end the later."""
        starts = self._instant("starts", 0) if self.cleaned_data.get("starts") else self.at
        if not self.cleaned_data.get("ends"):
            self.add_error("ends", "Write until when, or choose until further notice.")
            return
        ends = self._instant("ends", 1)
        if starts is None or ends is None:
            return
        self.cleaned_data["out"] = (max(starts, self.at), ends)
        if ends <= max(starts, self.at):
            self.add_error("ends", "It must end after it starts, and not have ended already.")

    def _instant(self, name: str, which: int) -> datetime | None:
        try:
            return instants(local_time(self.cleaned_data[name]), self.zone)[which]
        except ValidationError as error:
            self.add_error(name, error)
            return None


def _digest(hits: Sequence[Session]) -> str:
    codes = ",".join(sorted(f"{visit.code} {visit.starts_at.isoformat()}" for visit in hits))
    return hashlib.sha256(codes.encode()).hexdigest()
