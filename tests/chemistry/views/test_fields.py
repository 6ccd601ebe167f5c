from __future__ import annotations

from datetime import UTC, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django import forms

from chemistry.forms.audit import Period
from chemistry.forms.fields import HappenedForm, VolumeField, plain_ml
from chemistry.forms.recipes import PointsField

LISBON = ZoneInfo("Europe/Lisbon")
NOW = datetime(2026, 11, 24, 18, 30, 42, 5, tzinfo=UTC)


@pytest.mark.parametrize(
    ("written", "ul"),
    [("240", 240_000), ("62.5", 62_500), ("62,5", 62_500), ("1 200", 1_200_000), ("0.001", 1)],
)
def test_volume_is_read_as_people_write_it(written: str, ul: int) -> None:
    assert VolumeField().clean(written) == ul


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("1,200", "either"),
        ("0", "more than 0"),
        ("-5", "as a number"),
        ("1e9", "as a number"),
        ("2 litres", "as a number"),
        ("2000000", "At most"),
        ("", "required"),
        ("9" * 21, "at most 20"),
    ],
)
def test_volume_refuses_what_it_cannot_be_sure_of(written: str, says: str) -> None:
    with pytest.raises(forms.ValidationError, match=says):
        VolumeField().clean(written)


@pytest.mark.parametrize("ul", [1, 62_500, 1_200_000, 100_000])
def test_plain_ml_is_read_back_as_the_same_volume(ul: int) -> None:
    assert VolumeField().clean(plain_ml(ul)) == ul


def happened(
    text: str, *, at: datetime = NOW, zone: ZoneInfo = LISBON, **more: str
) -> HappenedForm:
    return HappenedForm({"key": str(uuid4()), "happened_at": text, **more}, zone=zone, at=at)


def test_happened_is_told_in_the_house_s_zone() -> None:
    form = happened("2026-07-01 18:30")

    assert form.is_valid()
    assert form.cleaned_data["happened_at"] == datetime(2026, 7, 1, 17, 30, tzinfo=UTC)


def test_happened_left_as_it_came_is_the_moment_the_form_was_opened() -> None:
    opened = NOW - timedelta(seconds=10)
    form = happened("2026-11-24T18:30", opened_at=opened.isoformat())

    assert form.is_valid()
    assert form.cleaned_data["happened_at"] == opened


@pytest.mark.parametrize(
    "opened",
    [
        "2099-01-01T00:00:00+00:00",
        "0001-01-01T00:00:00+14:00",
        "2026-11-24T18:30:00",
        "x",
        "",
    ],
)
def test_happened_does_not_trust_a_moment_that_cannot_be(opened: str) -> None:
    form = happened("2026-11-24T18:30", opened_at=opened)

    assert form.is_valid()
    assert form.cleaned_data["happened_at"] == NOW.replace(second=0, microsecond=0)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2026-11-24 18:31", "future"),
        ("24.11.2026 18:30", "like 2025-03-14 18:30"),
        ("2026-11-24", "like 2025-03-14 18:30"),
        ("2026-11-31 10:00", "like 2025-03-14 18:30"),
        ("0202-11-24 18:30", "year"),
        ("2026-03-29 01:30", "never was"),
        ("2026-10-25 01:30", "twice"),
    ],
)
def test_happened_refuses_beside_its_field(text: str, says: str) -> None:
    form = happened(text)

    assert not form.is_valid()
    assert says in form.errors["happened_at"][0]


@pytest.mark.parametrize(("which", "hour"), [("first", 0), ("second", 1)])
def test_happened_offers_both_of_a_double_hour(which: str, hour: int) -> None:
    asking = happened("2026-10-25 01:30")
    asking.is_valid()
    form = happened("2026-10-25 01:30", which=which)

    assert asking.asks_which
    assert form.is_valid()
    assert form.cleaned_data["happened_at"] == datetime(2026, 10, 25, hour, 30, tzinfo=UTC)


@pytest.mark.parametrize("key", ["", "not a key"])
def test_a_form_without_its_key_gets_a_new_one_and_says_so(key: str) -> None:
    form = HappenedForm({"key": key, "happened_at": "2026-11-24 18:30"}, zone=LISBON, at=NOW)

    assert not form.is_valid()
    assert set(form.errors) == {"__all__"}
    assert form["key"].value() != key


@pytest.mark.parametrize(
    ("day", "first", "last"),
    [
        ("2026-11-24", "2026-10-01", "2026-12-31"),
        ("2026-01-01", "2026-01-01", "2026-03-31"),
        ("2026-06-30", "2026-04-01", "2026-06-30"),
    ],
)
def test_quarter_holds_its_day(day: str, first: str, last: str) -> None:
    period = Period.quarter(datetime.fromisoformat(f"{day}T12:00Z"), LISBON)

    assert (period.first.isoformat(), period.last.isoformat()) == (first, last)


def test_quarters_follow_each_other_without_a_gap() -> None:
    period = Period.quarter(NOW, LISBON)

    assert period.before().until == period.since


def test_points_are_read_line_by_line() -> None:
    read = PointsField().clean("20 = 9:30\n22,5 °C 8\n\n24: 7.25")

    assert {f"{c}": f"{m}" for c, m in read.items()} == {"20": "9.50", "22.5": "8.00", "24": "7.25"}


@pytest.mark.parametrize("text", ["20", "warm = 5", "20 = 9:75", "20 = 9\n20 = 8"])
def test_points_refuse_what_is_no_pair(text: str) -> None:
    with pytest.raises(forms.ValidationError):
        PointsField().clean(text)
