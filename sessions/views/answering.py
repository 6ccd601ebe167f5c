"""What the page for planning shows in answer, however it was asked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse

from darkroom.http import MemberRequest
from sessions import company, offers
from sessions.choosing import INDUCTION, Manner, Refused
from sessions.forms.plan import AskForm, BookForm
from sessions.offers import Offer
from sessions.option import Option
from sessions.strips import Strip, strip_of_plan

FIELD_OF_CODE = {"format": "format", "loads": "sheets", "agitation": "agitation"}
"""Where a reason that every vessel shares belongs."""


MOST_OTHERS = 20
"""Pairs told in a line each; of more nobody would read."""


@dataclass(frozen=True)
class Day:
    """A day with its free starts, and the address that shows them."""

    day: date
    starts: tuple[datetime, ...]
    url: str
    is_shown: bool


@dataclass(frozen=True)
class Card:
    option: Option
    url: str
    is_chosen: bool


@dataclass
class Answer:
    """The offer as one page shows it: one option chosen, one day of its starts open."""

    ask_form: AskForm
    offer: Offer
    option: Option | None
    day: date | None
    zone: ZoneInfo
    next_start: datetime | None = None

    @property
    def has_nothing(self) -> bool:
        return not self.offer.options

    @property
    def for_an_induction(self) -> list[Refused]:
        """Vessels that would do, had the member been shown them."""
        return [one for one in self.offer.refused if one.code == INDUCTION]

    @property
    def refused(self) -> list[Refused]:
        return [one for one in self.offer.refused if one.code != INDUCTION]

    @property
    def refused_title(self) -> str:
        count = len(self.refused)
        return "One vessel cannot take this" if count == 1 else f"{count} cannot take this"

    @property
    def cards(self) -> list[Card]:
        return [
            Card(option, self._url(option=option.key), option == self.option)
            for option in self.offer.options
        ]

    @property
    def other_pairs(self) -> list[tuple[Manner, str]]:
        """The next best pairs, each with the address that works it out."""
        nearest = self.offer.other_pairs[:MOST_OTHERS]
        return [(manner, self._url(option=manner.key)) for manner in nearest]

    @property
    def days(self) -> list[Day]:
        if self.option is None:
            return []
        return [
            Day(day, starts, self._url(option=self.option.key, day=f"{day}"), day == self.day)
            for day, starts in by_day(self.option.starts, self.zone)
        ]

    @property
    def strip(self) -> Strip | None:
        """The chosen option at its first shown start, drawn; None where nothing is free."""
        if self.option is None or not self.shown_starts:
            return None
        names = {vessel.pk: str(vessel) for vessel, _ in self.option.manner.places}
        starts_at = self.shown_starts[0].astimezone(self.zone)
        return strip_of_plan(self.option.plan.timeline, names, starts_at)

    @property
    def others_there(self) -> str:
        """When others are in the house on the day that is shown."""
        if self.option is None or self.day is None:
            return ""
        return company.others_sentence(self.option.ask.member, self.day, self.zone)

    @property
    def shown_starts(self) -> Sequence[datetime]:
        return next((day.starts for day in self.days if day.is_shown), ())

    def _url(self, **more: str) -> str:
        return f"{reverse('sessions:plan')}?{self.ask_form.query(**more)}"


def answer(request: MemberRequest, form: AskForm, data: Any, *, at: datetime) -> Answer | None:
    """What the house can offer; None for a question that is not understood."""
    if not form.is_valid():
        return None
    wanted = data.get("option", "")
    offer = offers.offer(form.ask(), at=at, first=form.cleaned_data["from_day"], wanted=wanted)
    form.offer_developers(offer.developers)
    _show_shared_reason(form, offer.refused, has_options=bool(offer.options))
    option = None if offer.blocker else offer.option(wanted)
    zone = request.house.tz
    return Answer(form, offer, option, _day(option, data, zone), zone)


def book_form(found: Answer, data: Any = None) -> BookForm | None:
    if found.option is None:
        return None
    return BookForm(data, option=found.option, starts=found.shown_starts, zone=found.zone)


def next_after(found: Answer, lost: datetime) -> datetime | None:
    """The first free start at or after one that was lost, or else the first there is."""
    starts = found.option.starts if found.option else ()
    return next((start for start in starts if start >= lost), next(iter(starts), None))


def by_day(starts: Iterable[datetime], zone: ZoneInfo) -> list[tuple[date, tuple[datetime, ...]]]:
    """Starts by the day on which they are in the house."""
    days = groupby(starts, key=lambda start: start.astimezone(zone).date())
    return [(day, tuple(group)) for day, group in days]


def refusal_of(found: Answer, key: str) -> Refused | None:
    """Why the option that was asked for is not among those offered."""
    code, _, agitation = key.partition(":")
    for refused in found.offer.refused:
        ways = {"", agitation} if refused.agitation is None else {refused.agitation.agitation}
        if refused.vessel.code == code and agitation in ways:
            return refused
    return None


def _day(option: Option | None, data: Any, zone: ZoneInfo) -> date | None:
    """The day asked for if it has starts, or that of the start chosen, or the first."""
    if option is None or not option.starts:
        return None
    days = {f"{day}": day for day, _ in by_day(option.starts, zone)}
    asked = data.get("day", "") or data.get("start", "")[:10]
    return days.get(asked, next(iter(days.values())))


def _show_shared_reason(form: AskForm, refused: Sequence[Refused], *, has_options: bool) -> None:
    codes = {one.code for one in refused}
    if has_options or len(codes) != 1:
        return
    field = FIELD_OF_CODE.get(codes.pop())
    if field:
        form.add_error(field, f"No vessel here can take that. {refused[0].sentence}")
