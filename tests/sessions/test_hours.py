"""Weekdays with their own hours and closed dates, as starts, strips and refusals follow them."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.urls import reverse

from darkroom.models import ClosedDate, HouseRules, OpeningHours
from sessions.day import day_of
from sessions.hours import StartRefused, openings
from sessions.models import Session
from tests.factories.darkroom import NOW
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = pytest.mark.django_db
# The factory's now is a Monday evening, so tomorrow is a Tuesday.
TUESDAY = TOMORROW_NOON.date()


@pytest.fixture
def tuesdays_closed():
    rules = HouseRules.current()
    OpeningHours.objects.filter(weekday=1).delete()
    OpeningHours.objects.filter(weekday=2).update(opens_at=time(18))
    return rules


@pytest.fixture
def tuesday_closed():
    ClosedDate.objects.create(date=TUESDAY, reason="Stocktaking.")
    return HouseRules.current()


def refusal(house, ada, starts_at=TOMORROW_NOON):
    with pytest.raises(StartRefused) as refused:
        house.book(ada, starts_at=starts_at)
    assert refused.value.code == "closed"
    return refused.value.message


def test_a_new_house_is_open_every_day():
    rules = HouseRules.current()

    assert len(openings(rules, TUESDAY, 7)) == 7


def test_no_start_is_offered_on_a_closed_weekday_or_before_the_day_opens(ada, tuesdays_closed):
    house = bench()

    starts = house.starts(house.plan(ada))

    assert {at.weekday() for at in starts} == {0, 2, 3, 4, 5, 6}
    assert min(at.hour for at in starts if at.weekday() == 2) == 18


def test_no_start_is_offered_on_a_closed_date(ada, tuesday_closed):
    house = bench()

    days = {at.date() for at in house.starts(house.plan(ada))}

    assert TUESDAY not in days
    assert {TUESDAY + timedelta(days=1), TUESDAY + timedelta(days=7)} < days


def test_a_closed_weekday_is_refused_with_the_next_opening(ada, tuesdays_closed):
    assert refusal(bench(), ada) == (
        "The house is closed on Tuesdays. It opens next on Wednesday 4 March at 18:00."
    )


def test_a_closed_date_is_refused_with_its_reason(ada, tuesday_closed):
    assert refusal(bench(), ada) == (
        "The house is closed on Tuesday 3 March: Stocktaking. "
        "It opens next on Wednesday 4 March at 09:00."
    )
    assert not Session.objects.exists()


def test_a_start_before_that_days_opening_is_refused_with_its_hours(ada, tuesdays_closed):
    assert "open from 18:00 to 22:00" in refusal(bench(), ada, TOMORROW_NOON + timedelta(days=1))


def test_a_house_that_stays_closed_says_so(ada):
    HouseRules.current()
    house = bench()
    plan = house.plan(ada)
    OpeningHours.objects.all().delete()

    with pytest.raises(StartRefused, match="Nor is it open in the 14 days after"):
        house.book(ada, plan=plan)
    assert house.starts(plan) == []


def test_a_closed_day_has_no_strip(ada, tuesday_closed):
    assert day_of(ada, TUESDAY, rules=tuesday_closed) is None
    assert day_of(ada, TUESDAY + timedelta(days=1), rules=tuesday_closed).opens_at == datetime(
        2026, 3, 4, 9, tzinfo=UTC
    )


@pytest.mark.usefixtures("at_now")
def test_pages_say_why_a_day_has_no_hours(ada_client):
    house = bench()
    HouseRules.current()
    ClosedDate.objects.create(date=NOW.date(), reason="Painting the walls")
    OpeningHours.objects.filter(weekday=date(2026, 3, 4).weekday()).delete()
    item = reverse("sessions:equipment-item", args=[house.tank.code])

    front = ada_client.get(reverse("sessions:today")).content.decode()
    other = ada_client.get(item, {"day": "2026-03-04"}).content.decode()

    assert "The house is closed on Monday 2 March: Painting the walls." in front
    assert "The house is closed on Wednesdays." in other
