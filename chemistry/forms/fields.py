"""Fields that read what people write on the bench into what the operations take."""

from __future__ import annotations

import re
import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from chemistry.units import ml_from_ul, ul_from_ml

MOST_ML = 1_000_000
"""A thousand litres; a larger figure is a slip of the finger in a house of bottles."""

PLAIN_NUMBER = re.compile(r"\d{1,7}([.,]\d{1,3})?")
SPACES = str.maketrans("", "", " \u00a0\u2009\u202f")


class VolumeField(forms.CharField):
    """Millilitres as written, whole microlitres as cleaned.

    ``1,200`` is refused: it is 1200 mL to one reader and 1.2 mL to another.
    """

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=20, widget=forms.TextInput(attrs=NUMBER_ATTRS), **options)

    def clean(self, value: Any) -> int | None:
        text: str = super().clean(value)
        return None if text in self.empty_values else self._ul(text.translate(SPACES))

    def prepare_value(self, value: Any) -> Any:
        return plain_ml(value) if isinstance(value, int) else value

    def _ul(self, text: str) -> int:
        if not PLAIN_NUMBER.fullmatch(text):
            raise ValidationError("Write millilitres as a number, for example 240 or 62.5.")
        if re.search(r",\d{3}$", text):
            raise ValidationError("Write 1200 or 1.2 without a comma; this could mean either.")
        ml = Decimal(text.replace(",", "."))
        if ml > MOST_ML:
            raise ValidationError(f"At most {MOST_ML} mL can be entered at once.")
        if not ml:
            raise ValidationError("This must be more than 0 mL.")
        return ul_from_ml(ml)


NUMBER_ATTRS = {"inputmode": "decimal", "autocomplete": "off"}


def plain_ml(ul: int) -> str:
    """Microlitres as a number of millilitres that a field takes back."""
    text = f"{ml_from_ul(ul):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def words_field(label: str, most: int, **options: Any) -> forms.CharField:
    """A line of text of the reader's own."""
    return forms.CharField(label=label, max_length=most, **options)


class PickField(forms.TypedChoiceField):
    """One of the things at hand, by its code; empty is None, where that is offered."""

    def __init__(self, **options: Any) -> None:
        super().__init__(empty_value=None, widget=forms.RadioSelect, **options)

    def offer(self, things: Mapping[str, tuple[str, Any]], *, nothing: str = "") -> None:
        """Offer what ``things`` gives for each code: its label and itself."""
        empty = [("", nothing)] if nothing else []
        self.required = not nothing
        self.choices = [*((code, label) for code, (label, _) in things.items()), *empty]
        self.coerce = lambda code: things[code][1]


class KeyedForm(forms.Form):
    """A form that is done once however often it is sent: its key tells the copies apart."""

    key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["key"].initial = uuid.uuid4

    def clean(self) -> dict[str, Any]:
        if "key" in self.errors:
            del self.errors["key"]
            self.renew_key()
            self.add_error(None, "The form had lost its number. Please send it once more.")
        return self.cleaned_data

    def renew_key(self) -> None:
        """Let what was typed be sent again as something new."""
        data: Any = self.data
        renewed = data.copy()
        renewed[self.add_prefix("key")] = str(uuid.uuid4())
        self.data = renewed


class HappenedForm(KeyedForm):
    """A form about something that has happened, told in the clock time of the house.

    The clock field knows minutes only. Left as it came, it means the very moment at which the
    form was opened, which ``opened_at`` keeps, so that it comes after what was done before.
    """

    happened_at = forms.CharField(
        label="When",
        max_length=32,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
        help_text="In the house's time.",
    )
    which = forms.ChoiceField(
        label="Which of the two",
        required=False,
        choices=(("first", "The first time round"), ("second", "The second time round")),
        widget=forms.RadioSelect,
    )
    opened_at = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def __init__(self, *args: Any, zone: ZoneInfo, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone
        self.at = at
        self.asks_which = False
        self.fields["happened_at"].initial = f"{at.astimezone(zone):%Y-%m-%dT%H:%M}"
        self.fields["opened_at"].initial = at.isoformat()

    def clean(self) -> dict[str, Any]:
        super().clean()
        text = self.cleaned_data.get("happened_at")
        if text is not None:
            try:
                self.cleaned_data["happened_at"] = self._instant(local_time(text))
            except ValidationError as error:
                self.add_error("happened_at", error)
        return self.cleaned_data

    def _instant(self, local: datetime) -> datetime:
        opened = instant_from_iso(self.cleaned_data.get("opened_at", ""))
        if opened is not None and opened <= self.at and minute(opened, self.zone) == local:
            return opened
        early, late = instants(local, self.zone)
        if early != late:
            self.asks_which = True
            if not self.cleaned_data.get("which"):
                raise ValidationError("The clocks went back then, so this time came twice.")
        chosen = late if self.cleaned_data.get("which") == "second" else early
        if chosen > self.at:
            raise ValidationError("This lies in the future; write when it happened.")
        return chosen


def minute(at: datetime, zone: ZoneInfo) -> datetime:
    """What the clock of the house showed, to the minute and without its zone."""
    return at.astimezone(zone).replace(second=0, microsecond=0, tzinfo=None)


def instant_from_iso(text: str) -> datetime | None:
    """The instant; None without a zone, or so far off that another zone's calendar lacks it."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo is not None and 2000 <= found.year <= 2200 else None


def local_time(text: str) -> datetime:
    """The clock time that was written, without a zone.

    Raises: ValidationError.
    """
    plain = text.strip().replace(" ", "T")
    for pattern in ("%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"):
        try:
            found = datetime.strptime(plain, pattern)  # noqa: DTZ007 (the zone comes with the house)
        except ValueError:
            continue
        if not 2000 <= found.year <= 2200:
            raise ValidationError("Check the year.")
        return found
    raise ValidationError("Write a day and a time, like 2025-03-14 18:30.")


def instants(local: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """The earlier and the later instant that the clock showed ``local``; mostly the same.

    Raises: ValidationError for a time that the clock jumped over.
    """
    first, second = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first.astimezone(zone).replace(tzinfo=None) != local:
        raise ValidationError("The clocks went forward then; this time never was.")
    return first, second
