from __future__ import annotations

from datetime import time, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from darkroom.models import HouseRules, Member, OpeningHours, Role
from tests.factories.inductions import InductionFactory

PEOPLE = reverse("darkroom:people")
RULES = reverse("darkroom:rules")
NEW = {"name": "Dot", "email": "dot@house.example", "role": "steward"}


def test_administrator_adds_a_person_and_gets_a_link_to_hand_over(adm_client: Client) -> None:
    answer = adm_client.post(PEOPLE, NEW)

    link = answer.context["link"]
    assert link.startswith("http://testserver/welcome/")
    assert link in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]
    assert Member.objects.get(name="Dot").role == Role.STEWARD
    assert Client().get(link).status_code == 200


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"email": "ada@house.example"}, "email"),
        ({"email": "nonsense"}, "email"),
        ({"email": "x" * 300 + "@house.example"}, "email"),
        ({"name": ""}, "name"),
        ({"name": "x" * 10_000_000}, "name"),
        ({"role": "king"}, "role"),
    ],
)
def test_bad_person_is_refused_beside_the_field_and_kept(
    adm_client: Client, ada: Member, wrong: dict[str, str], field: str
) -> None:
    answer = adm_client.post(PEOPLE, NEW | wrong)

    form = answer.context["form"]
    assert answer.status_code == 422
    assert list(form.errors) == [field]
    assert {name: form[name].value() for name in NEW} == NEW | wrong
    assert not Member.objects.filter(name="Dot").exists()


def test_administrator_changes_a_role(adm_client: Client, ada: Member) -> None:
    url = reverse("darkroom:person", args=[ada.pk])
    assert adm_client.get(url).status_code == 200

    answer = adm_client.post(url, {"name": "Ada B", "role": "auditor", "is_active": "on"})

    ada.refresh_from_db()
    assert (answer.status_code, ada.name, ada.role) == (302, "Ada B", Role.AUDITOR)


def test_last_administrator_is_told_beside_the_role(adm_client: Client, adm: Member) -> None:
    url = reverse("darkroom:person", args=[adm.pk])

    answer = adm_client.post(url, {"name": "Adm", "role": "member", "is_active": "on"})

    assert (answer.status_code, list(answer.context["form"].errors)) == (422, ["role"])


def test_new_link_is_shown_once(adm_client: Client, ada: Member) -> None:
    url = reverse("darkroom:password-link", args=[ada.pk])
    assert adm_client.get(url).status_code == 405

    assert "/welcome/" in adm_client.post(url).context["link"]


@pytest.mark.parametrize("name", ["darkroom:person", "darkroom:password-link"])
def test_unknown_person_is_not_found(adm_client: Client, name: str) -> None:
    assert adm_client.post(reverse(name, args=[10**9])).status_code == 404


@pytest.mark.parametrize("count", [3, 30])
def test_list_takes_the_same_queries_for_any_number_of_people(
    adm_client: Client, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(count):
        Member.objects.create_member(email=f"m{number}@house.example", name=f"M{number}")
    adm_client.get(PEOPLE)

    with django_assert_num_queries(4):  # house, browser session, reader, people
        adm_client.get(PEOPLE)


def rules(**changes: str) -> dict[str, str]:
    return {
        "name": "Lower Mill",
        "zone": "Europe/Lisbon",
        "booking_days_ahead": "21",
        "loading_min": "12",
        "cleaning_min": "8",
        "drying_min": "90",
        "room_c": "19.5",
        "low_share": "75",
        "expiry_warning_days": "5",
        "carry_out_ml_per_au": "15",
        "fill_limit_pct": "85",
        "no_colour_alone": "on",
        "opens_0": "18:00",
        "closes_0": "22:00",
        "opens_5": "10:00",
        "closes_5": "16:30",
    } | changes


def test_administrator_changes_the_house_rules(adm_client: Client) -> None:
    assert adm_client.get(RULES).status_code == 200

    answer = adm_client.post(RULES, rules())

    house = HouseRules.current()
    assert answer.status_code == 302
    assert (house.name, house.zone, house.drying_min) == ("Lower Mill", "Europe/Lisbon", 90)
    assert house.no_colour_alone


def test_weekday_without_times_is_closed_and_the_others_have_their_own(
    adm_client: Client,
) -> None:
    HouseRules.current()

    adm_client.post(RULES, rules())

    assert [str(hours) for hours in OpeningHours.objects.all()] == [
        "Monday 18:00–22:00",
        "Saturday 10:00–16:30",
    ]
    times = [bound.value() for pair in adm_client.get(RULES).context["week"].days for bound in pair]
    assert [str(clock)[:5] for clock in times if clock] == ["18:00", "22:00", "10:00", "16:30"]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"closes_0": "17:00"}, "closes_0"),
        ({"closes_0": "18:00"}, "closes_0"),
        ({"closes_0": "25:00"}, "closes_0"),
        ({"opens_0": "soon"}, "opens_0"),
        ({"opens_0": ""}, "opens_0"),
        ({"closes_5": ""}, "closes_5"),
        ({"opens_6": "09:00"}, "closes_6"),
    ],
    ids=str,
)
def test_bad_hours_are_refused_beside_their_field_and_the_week_stands(
    adm_client: Client, wrong: dict[str, str], field: str
) -> None:
    HouseRules.current()

    answer = adm_client.post(RULES, rules(**wrong))

    week = answer.context["week"]
    assert (answer.status_code, list(week.errors)) == (422, [field])
    assert (week[field].value() or "") == wrong.get(field, "")
    assert answer.context["form"]["drying_min"].value() == "90"
    assert OpeningHours.objects.filter(opens_at=time(9), closes_at=time(22)).count() == 7


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"zone": "Atlantis/Deep"}, "zone"),
        ({"booking_days_ahead": "0"}, "booking_days_ahead"),
        ({"booking_days_ahead": "99999999999"}, "booking_days_ahead"),
        ({"loading_min": "-1"}, "loading_min"),
        ({"room_c": "NaN"}, "room_c"),
        ({"room_c": "1e9"}, "room_c"),
        ({"low_share": "120"}, "low_share"),
        ({"low_share": "0.75"}, "low_share"),
        ({"fill_limit_pct": "101"}, "fill_limit_pct"),
        ({"carry_out_ml_per_au": "-0.1"}, "carry_out_ml_per_au"),
        ({"name": " "}, "name"),
    ],
    ids=str,
)
def test_bad_rule_is_refused_beside_its_field_and_all_is_kept(
    adm_client: Client, wrong: dict[str, str], field: str
) -> None:
    before = HouseRules.current()

    answer = adm_client.post(RULES, rules(**wrong))

    form = answer.context["form"]
    assert (answer.status_code, list(form.errors)) == (422, [field])
    assert form["drying_min"].value() == "90"
    assert HouseRules.current().name == before.name


@pytest.mark.parametrize("who", ["ada_client", "ben_client", "aud_client"])
@pytest.mark.parametrize("url", [PEOPLE, RULES, reverse("darkroom:person", args=[1])])
def test_only_administrators_come_here(who: str, url: str, request: pytest.FixtureRequest) -> None:
    client = request.getfixturevalue(who)

    assert [client.get(url).status_code, client.post(url, NEW).status_code] == [403, 403]


def test_a_person_is_shown_with_their_inductions(adm_client: Client, ada: Member) -> None:
    url = reverse("darkroom:person", args=[ada.pk])
    assert "Nothing was shown to them yet." in adm_client.get(url).content.decode()

    long_ago = timezone.now() - timedelta(days=100)
    over = {"member": ada, "expires_at": long_ago + timedelta(days=1), "given_at": long_ago}
    InductionFactory(member=ada, topic__name="Reels")
    InductionFactory(topic__name="Trays", **over)
    InductionFactory(topic__name="Booth", renewed_at=long_ago, **over)
    text = adm_client.get(url).content.decode()

    assert ("Reels" in text, "for good" in text) == (True, True)
    assert ("Trays" in text, "<b>expired on" in text, "Booth" in text) == (True, True, False)
    assert reverse("sessions:induction-person", args=[ada.pk]) in text
