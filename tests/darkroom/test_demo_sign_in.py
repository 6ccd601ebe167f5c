"""One tap signs in only where everything that must be true is true."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries, Settings

from darkroom.models import HouseRules, Member


@pytest.fixture
def demo(db: None, settings: Settings) -> None:
    HouseRules.current()
    HouseRules.objects.update(is_demo=True)
    settings.IS_DEMO_PROCESS = True
    settings.ORIGIN = ""


def tap(member: Member, **environ: Any) -> int:
    client = Client(**environ)
    status = client.post(reverse("darkroom:demo-sign-in", args=[member.pk])).status_code
    assert ("_auth_user_id" in client.session) == (status == 302)
    return status


def test_one_tap_signs_in(demo: None, ada: Member) -> None:
    assert tap(ada) == 302


def test_sign_in_page_lists_the_people_with_what_each_may_do(
    demo: None, client: Client, ada: Member, ben: Member
) -> None:
    page = client.get(reverse("darkroom:sign-in")).content.decode()

    assert {"Ada", "Ben"} <= {word for word in ("Ada", "Ben", "Cyd") if word in page}
    assert "mixes, tops up, pours out" in page


def test_real_house_lists_nobody(client: Client, ada: Member) -> None:
    assert "Ada" not in client.get(reverse("darkroom:sign-in")).content.decode()


def test_database_not_marked_as_demo_refuses(demo: None, ada: Member) -> None:
    HouseRules.objects.update(is_demo=False)

    assert tap(ada) == 403


def test_process_not_started_as_demo_refuses(demo: None, ada: Member, settings: Settings) -> None:
    settings.IS_DEMO_PROCESS = False

    assert tap(ada) == 403


def test_house_with_an_origin_refuses(demo: None, ada: Member, settings: Settings) -> None:
    settings.ORIGIN = "https://house.example"

    assert tap(ada) == 403


@pytest.mark.parametrize(
    "environ",
    [
        {"REMOTE_ADDR": "192.0.2.7"},
        {"REMOTE_ADDR": ""},
        {"HTTP_X_FORWARDED_FOR": "192.0.2.7"},
        {"HTTP_FORWARDED": "for=192.0.2.7"},
    ],
    ids=str,
)
def test_browser_elsewhere_is_refused(demo: None, ada: Member, environ: dict[str, str]) -> None:
    assert tap(ada, **environ) == 403


def test_tap_needs_a_post(demo: None, client: Client, ada: Member) -> None:
    assert client.get(reverse("darkroom:demo-sign-in", args=[ada.pk])).status_code == 405


def test_tap_needs_the_pages_own_token(demo: None, ada: Member) -> None:
    assert tap(ada, enforce_csrf_checks=True) == 403


def test_real_address_is_not_signed_in(demo: None, ada: Member) -> None:
    Member.objects.filter(pk=ada.pk).update(email="ada@house.test")

    assert tap(ada) == 404


def test_deactivated_person_is_not_signed_in(demo: None, ada: Member) -> None:
    Member.objects.filter(pk=ada.pk).update(is_active=False)

    assert tap(ada) == 404


@pytest.mark.parametrize("count", [1, 12])
def test_list_of_people_takes_one_query(
    demo: None, client: Client, count: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(count):
        Member.objects.create_member(email=f"m{number}@house.example", name=f"M{number}")

    with django_assert_num_queries(2):  # the house and its people
        client.get(reverse("darkroom:sign-in"))
