from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Self
from zoneinfo import ZoneInfo

from django import forms

from chemistry.models import Stream

DATE = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
DATE_FORMATS = ("%Y-%m-%d",)
WRONG_DATE = {"invalid": "Write a day like 2025-03-31."}
MOST_SEQ = 2**63 - 1


@dataclass(frozen=True)
class Period:
    """Whole days in the zone of the house, the last one included."""

    first: date
    last: date
    zone: ZoneInfo

    @property
    def since(self) -> datetime:
        return datetime.combine(self.first, time(), self.zone).astimezone(UTC)

    @property
    def until(self) -> datetime:
        """The instant at which the period has just ended."""
        return datetime.combine(self.last + timedelta(days=1), time(), self.zone).astimezone(UTC)

    @classmethod
    def quarter(cls, at: datetime, zone: ZoneInfo) -> Self:
        """The quarter of the year that ``at`` falls into."""
        today = at.astimezone(zone).date()
        first = today.replace(month=(today.month - 1) // 3 * 3 + 1, day=1)
        beyond = (first + timedelta(days=93)).replace(day=1)
        return cls(first, beyond - timedelta(days=1), zone)

    def before(self) -> Self:
        """The quarter before this one."""
        return self.quarter(self.since - timedelta(days=1), self.zone)


class PeriodForm(forms.Form):
    """A period and, to have an older report again, the entry it ended with."""

    since = forms.DateField(
        label="From", input_formats=DATE_FORMATS, widget=DATE, error_messages=WRONG_DATE
    )
    until = forms.DateField(
        label="To, included", input_formats=DATE_FORMATS, widget=DATE, error_messages=WRONG_DATE
    )
    up_to = forms.IntegerField(
        label="Up to entry number",
        required=False,
        min_value=0,
        max_value=MOST_SEQ,
        help_text="From a printed report, to have the same figures again.",
    )

    def __init__(self, data: Any, *, zone: ZoneInfo, at: datetime) -> None:
        self.zone = zone
        super().__init__(self._with_defaults(data, Period.quarter(at, zone)))

    def _with_defaults(self, data: Any, period: Period) -> Any:
        """A page asked for without a period shows the quarter."""
        filled = data.copy()
        filled.setdefault("since", period.first.isoformat())
        filled.setdefault("until", period.last.isoformat())
        return filled

    def clean(self) -> dict[str, Any]:
        super().clean()
        since, until = (self.cleaned_data.get(name) for name in ("since", "until"))
        for name, day in (("since", since), ("until", until)):
            if day is not None and not 2000 <= day.year <= 2200:
                self.add_error(name, "Check the year.")
        if since and until and until < since:
            self.add_error("until", "The period ends before it starts.")
        return self.cleaned_data

    @property
    def period(self) -> Period:
        return Period(self.cleaned_data["since"], self.cleaned_data["until"], self.zone)


class EntriesForm(PeriodForm):
    """Which figure of the report is asked about."""

    stream = forms.ChoiceField(label="Stream", choices=Stream.choices)
    part = forms.ChoiceField(
        label="Figure",
        choices=(
            ("opening", "Opening"),
            ("in", "In"),
            ("unexplained", "Unexplained"),
            ("out", "Out"),
            ("loss", "Loss"),
            ("closing", "Closing"),
        ),
    )
