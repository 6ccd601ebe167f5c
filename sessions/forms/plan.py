"""What a member says they bring, when they would come, and from which bottles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import date_format

from chemistry.forms.fields import KeyedForm, instant_from_iso, instants, local_time
from chemistry.models import Film, Role
from darkroom.models import Agitation, Format, HouseRules, Member
from sessions.asking import Ask
from sessions.forms.fields import DegreesField, MinutesField
from sessions.hours import last_day
from sessions.means import Developer, developer_key, latest_ways
from sessions.offers import Option

MOST_SHEETS = 200
MOST_INDEX = 100_000
MOST_KEY = 2**31 - 1
BEST = "The best to begin with"
DATE = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class AskForm(forms.Form):
    """What, how and from which day on; a question, so that it lives in the address."""

    sheets = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=MOST_SHEETS,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    format = forms.ChoiceField(label="Format")
    film = forms.ChoiceField(label="Film")
    index = forms.IntegerField(
        label="Exposed at",
        min_value=1,
        max_value=MOST_INDEX,
        required=False,
        help_text="The exposure index; empty: the speed on the box.",
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    developer = forms.ChoiceField(
        label="Developer", required=False, help_text="Those with a bottle that serves stand first."
    )
    agitation = forms.ChoiceField(
        label="Agitation", required=False, choices=[("", "Any"), *Agitation.choices]
    )
    temp_c = DegreesField(
        label="Temperature",
        required=False,
        low=10,
        high=45,
        help_text="Empty: as the process asks.",
    )
    own_minutes = MinutesField(
        label="My own time",
        required=False,
        help_text="In place of the printed one; it will be marked as yours.",
    )
    from_day = forms.DateField(
        label="From",
        required=False,
        input_formats=["%Y-%m-%d"],
        widget=DATE,
        error_messages={"invalid": "Write a day like 2026-03-14."},
    )

    def __init__(self, data: Any, *, member: Member, rules: HouseRules, at: datetime) -> None:
        super().__init__(data)
        self.member, self.rules = member, rules
        self.today = at.astimezone(rules.tz).date()
        self.last = last_day(rules, at=at)
        self.formats = {str(size.pk): size for size in Format.objects.all()}
        films = Film.objects.select_related("process").order_by("process__name", "name")
        self.films = {str(film.pk): film for film in films}
        self.ways = {developer_key(way): way for way in latest_ways([Role.DEVELOPER])}
        self._offer("developer", [("", BEST), *((key, key) for key in self.ways)])
        self._offer("format", [(key, str(size)) for key, size in self.formats.items()])
        self._offer("film", [("", "Choose"), *self._films_by_process()])
        self.fields["from_day"].initial = self.today
        self.fields["sheets"].initial = 4

    def offer_developers(self, found: Iterable[Developer]) -> None:
        """Say of each developer how it stands, the best first; known only once the film is."""
        self._offer("developer", [("", BEST), *((d.key, _developer_label(d)) for d in found)])

    def clean_from_day(self) -> date:
        day: date = self.cleaned_data["from_day"] or self.today
        if day < self.today:
            raise ValidationError("That day has passed.")
        if day > self.last:
            raise ValidationError(
                f"Sessions can be booked until {date_format(self.last, 'j F Y')} so far."
            )
        return day

    def ask(self) -> Ask:
        got = self.cleaned_data
        film = self.films[got["film"]]
        return Ask(
            member=self.member,
            film=film,
            index=got["index"] or film.speed,
            format=self.formats[got["format"]],
            sheets=got["sheets"],
            developer=self.ways.get(got["developer"]),
            agitation=got["agitation"],
            temp_c=got["temp_c"],
            own_minutes=got["own_minutes"],
        )

    def said(self) -> list[tuple[str, str]]:
        """What was typed, as it goes on in links and hidden fields."""
        return [(f.html_name, str(f.data)) for f in self if f.data not in (None, "")]

    @property
    def has_wishes(self) -> bool:
        """Whether anything is said in the folded part."""
        return any(self[n].data or self[n].errors for n in ("agitation", "temp_c", "own_minutes"))

    def query(self, **more: str) -> str:
        return urlencode([*self.said(), *more.items()])

    def _offer(self, name: str, choices: list[Any]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def _films_by_process(self) -> list[tuple[str, list[tuple[str, str]]]]:
        pairs = groupby(self.films.items(), key=lambda pair: pair[1].process.name)
        return [(name, [(key, str(film)) for key, film in group]) for name, group in pairs]


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
        if found is None or not 2000 <= found.year <= 2200:
            raise ValidationError("Choose one of the starts, or write another time below.")
        return found

    def _local(self, text: str) -> datetime:
        early, late = instants(local_time(text), self.zone)
        if early != late:
            self.asks_which = True
            if not self.cleaned_data.get("which"):
                raise ValidationError("The clocks go back then, so this time comes twice.")
        return late if self.cleaned_data.get("which") == "second" else early


class BookForm(StartForm):
    """The start, the bottles and whether one may still be missing."""

    option = forms.CharField(max_length=40, widget=forms.HiddenInput)
    accepts_mixing = forms.BooleanField(
        required=False, label="Book it although a bottle is still to be mixed"
    )

    def __init__(self, *args: Any, option: Option, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["option"].initial = option.key
        self.steps = {choice.bath.field: choice.bath.step_id for choice in option.baths}
        for choice in option.baths:
            offered = [(str(one.supply.batch.pk), one.words) for one in choice.serving]
            # Not one of these choices is for the operation to refuse: it knows why.
            self.fields[choice.bath.field] = forms.IntegerField(
                label=choice.bath.name,
                required=False,
                min_value=1,
                max_value=MOST_KEY,
                widget=forms.Select(choices=[("", "The best when it is booked"), *offered]),
            )

    def bottle_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.steps]

    @property
    def is_bottle_open(self) -> bool:
        return any(field.data or field.errors for field in self.bottle_fields())

    def wishes(self) -> Mapping[int, int]:
        """The bottles wished for, by step."""
        chosen = ((step, self.cleaned_data.get(name)) for name, step in self.steps.items())
        return {step: pk for step, pk in chosen if pk is not None}


def labelled(starts: Iterable[datetime], zone: ZoneInfo) -> list[tuple[datetime, str]]:
    """Starts with the time on the clock; a time that comes twice says which it is."""
    local = [(start, start.astimezone(zone)) for start in starts]
    return [
        (start, f"{at:%H:%M} {at:%Z}" if at.utcoffset() != _other_offset(at) else f"{at:%H:%M}")
        for start, at in local
    ]


def _other_offset(at: datetime) -> timedelta | None:
    return at.replace(fold=1 - at.fold).utcoffset()


def _developer_label(developer: Developer) -> str:
    lacks = [] if developer.has_bottle else ["no bottle"]
    lacks += [] if developer.has_time else ["no printed time"]
    return f"{developer.name} ({', '.join(lacks)})" if lacks else developer.name
