"""What a member says they bring, when they would come, and from which bottles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import date_format

from chemistry.models import Film, Role
from darkroom.models import Agitation, Format, HouseRules, Member
from sessions.asking import Ask
from sessions.forms.fields import DegreesField, MinutesField
from sessions.forms.start import StartForm
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
        help_text="Empty: from today on.",
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


def _developer_label(developer: Developer) -> str:
    lacks = [] if developer.has_bottle else ["no bottle"]
    lacks += [] if developer.has_time else ["no printed time"]
    return f"{developer.name} ({', '.join(lacks)})" if lacks else developer.name
