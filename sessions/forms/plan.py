"""What a member says they bring, when they would come, and from which bottles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import date_format

from chemistry.models import Film, Role
from darkroom.models import Agitation, Format, HouseRules, Member
from darkroom.models import Role as MemberRole
from sessions.asking import Ask, AskLine, Priority
from sessions.forms.fields import DegreesField, MinutesField
from sessions.forms.start import StartForm
from sessions.hours import last_day
from sessions.means import Developer, developer_key, developer_name, latest_ways
from sessions.option import Option

MOST_SHEETS = 200
MOST_LINES = 6
MOST_INDEX = 100_000
MOST_KEY = 2**31 - 1
MOST_KEY_LETTERS = 120
BEST = "The best to begin with"
PRIORITIES = [
    ("", "The soonest start"),
    (Priority.SOLUTION.value, "The least solution"),
    (Priority.TIME.value, "The least time"),
    (Priority.STEADY.value, "The steadiest temperature"),
]
DATE = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


@dataclass(frozen=True)
class LineFields:
    """The bound fields of one further line that the member brings."""

    sheets: forms.BoundField
    format: forms.BoundField
    film: forms.BoundField
    index: forms.BoundField
    own_minutes: forms.BoundField


LINE_PARTS = tuple(part.name for part in fields(LineFields))


class AskForm(forms.Form):
    """What, how and from which day on; a question, so that it lives in the address.

    The first line's fields carry plain names, those of the further ones a number. A further line
    without a film is none.
    """

    developer = forms.ChoiceField(
        label="Developer", required=False, help_text="Those with a bottle that serves stand first."
    )
    priority = forms.ChoiceField(label="What matters most", required=False, choices=PRIORITIES)
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

    field_order = ("sheets", "format", "film", "index")

    def __init__(self, data: Any, *, member: Member, rules: HouseRules, at: datetime) -> None:
        super().__init__(data)
        self.numbers = _numbers(data or {})
        self.member, self.rules = member, rules
        self.today = at.astimezone(rules.tz).date()
        self.last = last_day(rules, at=at)
        self.formats = {str(size.pk): size for size in Format.objects.all()}
        films = Film.objects.select_related("process").order_by("process__name", "name")
        self.films = {str(film.pk): film for film in films}
        self.ways = {developer_key(way): way for way in latest_ways([Role.DEVELOPER])}
        named = ((key, developer_name(way)) for key, way in self.ways.items())
        self._offer("developer", [("", BEST), *named])
        self._add_line("", is_more=False)
        for number in self.numbers:
            self._add_line(f"_{number}", is_more=True)
        self.order_fields(self.field_order)

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

    def clean(self) -> dict[str, Any]:
        """One process a session; a further line that is begun is complete."""
        got = super().clean() or {}
        first = self.films.get(got.get("film", ""))
        for number in self.numbers:
            film = self.films.get(got.get(f"film_{number}", ""))
            if film is not None:
                self._clean_further(number, film, first)
            elif not self.has_error(f"film_{number}"):
                for name in LINE_PARTS:
                    self.errors.pop(f"{name}_{number}", None)
        return got

    def ask(self) -> Ask:
        got = self.cleaned_data
        first = self._line("")
        more = (self._line(f"_{number}") for number in self.numbers if got[f"film_{number}"])
        return Ask(
            member=self.member,
            film=first.film,
            index=first.index,
            format=first.format,
            sheets=first.sheets,
            developer=self.ways.get(got["developer"]),
            agitation=got["agitation"],
            temp_c=got["temp_c"],
            own_minutes=first.own_minutes,
            more=tuple(more),
            priority=got["priority"],
        )

    @property
    def further_lines(self) -> list[LineFields]:
        return [
            LineFields(*(self[f"{name}_{number}"] for name in LINE_PARTS))
            for number in self.numbers
        ]

    @property
    def may_add(self) -> bool:
        return len(self.numbers) + 1 < MOST_LINES

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

    def _clean_further(self, number: int, film: Film, first: Film | None) -> None:
        if first is not None and film.process != first.process:
            self.add_error(
                f"film_{number}",
                f"{film} goes through {film.process}, the first line through {first.process}. "
                "A session runs one process: plan another one for it.",
            )
        sheets = f"sheets_{number}"
        if self.cleaned_data.get(sheets) is None and not self.has_error(sheets):
            self.add_error(sheets, "Say how many.")

    def _line(self, suffix: str) -> AskLine:
        got = self.cleaned_data
        film = self.films[got[f"film{suffix}"]]
        return AskLine(
            film=film,
            index=got[f"index{suffix}"] or film.speed,
            format=self.formats[got[f"format{suffix}"]],
            sheets=got[f"sheets{suffix}"],
            own_minutes=got[f"own_minutes{suffix}"],
        )

    def _add_line(self, suffix: str, *, is_more: bool) -> None:
        for name, made in _line_fields(is_more=is_more).items():
            self.fields[f"{name}{suffix}"] = made
        sizes = [(key, str(size)) for key, size in self.formats.items()]
        self._offer(f"format{suffix}", sizes)
        none = "None: leave this line out" if is_more else "Choose"
        self._offer(f"film{suffix}", [("", none), *self._films_by_process()])

    def _films_by_process(self) -> list[tuple[str, list[tuple[str, str]]]]:
        pairs = groupby(self.films.items(), key=lambda pair: pair[1].process.name)
        return [(name, [(key, str(film)) for key, film in group]) for name, group in pairs]


def _line_fields(*, is_more: bool) -> dict[str, forms.Field]:
    number = forms.NumberInput(attrs={"inputmode": "numeric"})
    own = MinutesField(label="My own time for it", required=False)
    found: dict[str, forms.Field] = {
        "sheets": forms.IntegerField(
            label="How many",
            min_value=1,
            max_value=MOST_SHEETS,
            initial=None if is_more else 4,
            required=not is_more,
            widget=number,
        ),
        "format": forms.ChoiceField(label="Format"),
        "film": forms.ChoiceField(label="Film", required=not is_more),
        "index": forms.IntegerField(
            label="Exposed at",
            min_value=1,
            max_value=MOST_INDEX,
            required=False,
            help_text="The exposure index; empty: the speed on the box.",
            widget=number,
        ),
    }
    return found | ({"own_minutes": own} if is_more else {})


def _numbers(data: Mapping[str, Any]) -> range:
    """The numbers of the further lines: those sent, and one more when it is asked for."""
    sent = [number for number in range(2, MOST_LINES + 1) if f"film_{number}" in data]
    last = max(sent, default=1) + bool(data.get("add"))
    return range(2, min(last, MOST_LINES) + 1)


class BookForm(StartForm):
    """The start, the bottles and whether one may still be missing."""

    option = forms.CharField(max_length=MOST_KEY_LETTERS, widget=forms.HiddenInput)
    accepts_mixing = forms.BooleanField(
        required=False, label="Book it although a bottle is still to be mixed"
    )

    def __init__(self, *args: Any, option: Option, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["option"].initial = option.key
        if option.crowding:
            self.fields["accepts_crowding"] = forms.BooleanField(
                required=False, label="Crowd them all the same, at my own risk"
            )
        if option.needs_company:
            self._ask_for_company(option.ask.member)
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

    @property
    def crowding_field(self) -> forms.BoundField | None:
        return self["accepts_crowding"] if "accepts_crowding" in self.fields else None

    @property
    def company_field(self) -> forms.BoundField | None:
        return self["companion"] if "companion" in self.fields else None

    def wishes(self) -> Mapping[int, int]:
        """The bottles wished for, by step."""
        chosen = ((step, self.cleaned_data.get(name)) for name, step in self.steps.items())
        return {step: pk for step, pk in chosen if pk is not None}

    def _ask_for_company(self, member: Member) -> None:
        people = Member.objects.filter(is_active=True).exclude(role=MemberRole.AUDITOR)
        self.fields["companion"] = forms.ModelChoiceField(
            people.exclude(pk=member.pk),
            label="Who comes along",
            required=False,
            empty_label="Nobody: others are booked then",
            help_text="They are told that you count on them.",
        )


def _developer_label(developer: Developer) -> str:
    lacks = [] if developer.has_bottle else ["no bottle"]
    lacks += [] if developer.has_time else ["no printed time"]
    return f"{developer.name} ({', '.join(lacks)})" if lacks else developer.name
