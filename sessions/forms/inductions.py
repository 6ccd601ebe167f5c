"""Giving an induction, withdrawing it, and saying how something of the house is."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from chemistry.forms.fields import KeyedForm, words_field
from darkroom.inducting import MOST_WORDS
from darkroom.models import InductionTopic, Member, Role

DATE = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class GiveForm(KeyedForm):
    """To whom, and on which day it was shown."""

    member = forms.ChoiceField(label="To whom")
    given_on = forms.DateField(
        label="Shown on",
        input_formats=["%Y-%m-%d"],
        widget=DATE,
        error_messages={"invalid": "Write a day like 2026-03-14."},
    )

    def __init__(
        self, *args: Any, topic: InductionTopic, zone: ZoneInfo, at: datetime, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.zone, self.at = zone, at
        self.today = at.astimezone(zone).date()
        self.fields["given_on"].initial = self.today
        people = Member.objects.filter(is_active=True).exclude(role=Role.AUDITOR)
        self.people = {str(one.pk): one for one in people if not topic.is_given_by(one)}
        field = self.fields["member"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "Choose"), *((key, one.name) for key, one in self.people.items())]

    def clean_member(self) -> Member:
        return self.people[self.cleaned_data["member"]]

    def clean_given_on(self) -> date:
        day: date = self.cleaned_data["given_on"]
        if day > self.today:
            raise ValidationError("That lies in the future; enter it when it was given.")
        if day.year < 2000:
            raise ValidationError("Check the year.")
        return day

    @property
    def given_at(self) -> datetime:
        """Now if it was today, or else noon of that day."""
        day: date = self.cleaned_data["given_on"]
        return self.at if day == self.today else datetime.combine(day, time(12), self.zone)


class WithdrawForm(KeyedForm):
    reason = words_field("Why", MOST_WORDS, help_text="The member reads it.")


class MarkForm(KeyedForm):
    """As it should be with one tap; else what is wrong."""

    is_good = forms.BooleanField(required=False)
    note = words_field("What is wrong", MOST_WORDS, required=False)
