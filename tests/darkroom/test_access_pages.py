"""Coming in and going out, through the browser's eyes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from darkroom import access, throttle
from darkroom.models import HouseRules, Member, Role
from tests.conftest import PASSWORD

SIGN_IN = reverse("darkroom:sign-in")
NEW = "developer stop fixer"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def forgetful() -> None:
    cache.clear()


def is_signed_in(client: Client) -> bool:
    return "_auth_user_id" in client.session


def test_sign_in_shows_the_house_by_name(client: Client) -> None:
    HouseRules.current()
    HouseRules.objects.update(name="Lower Mill darkroom")

    page = client.get(SIGN_IN)

    assert page.status_code == 200
    assert "Lower Mill darkroom" in page.content.decode()


def test_sign_in_says_where_the_first_link_stands_while_nobody_is_in(
    client: Client, request: pytest.FixtureRequest
) -> None:
    said = "stands in the terminal"
    empty = client.get(SIGN_IN).content.decode()

    request.getfixturevalue("adm")
    opened = client.get(SIGN_IN).content.decode()
    assert (said in empty, said in opened) == (True, False)


def test_member_signs_in_whatever_the_case_and_goes_where_they_wanted(
    client: Client, ada: Member
) -> None:
    figures = {"email": "Ada@House.example", "password": PASSWORD, "next": "/theme/"}

    answer = client.post(SIGN_IN, figures)

    assert (answer.status_code, answer["Location"]) == (302, "/theme/")
    assert is_signed_in(client)


@pytest.mark.parametrize(
    "wanted",
    ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", "shelf", ""],
)
def test_sign_in_leads_nowhere_else(client: Client, ada: Member, wanted: str) -> None:
    figures = {"email": ada.email, "password": PASSWORD, "next": wanted}

    answer = client.post(SIGN_IN, figures)

    assert answer["Location"] == reverse("sessions:today")


@pytest.mark.parametrize(
    "figures",
    [
        {"email": "ada@house.example", "password": "wrong"},
        {"email": "nobody@house.example", "password": PASSWORD},
        {"email": "ada@house.example", "password": ""},
        {"email": "not an address", "password": PASSWORD},
        {"email": "ada@house.example\x00", "password": PASSWORD},
        {},
    ],
)
def test_wrong_sign_in_keeps_the_address_and_says_so(
    client: Client, ada: Member, figures: dict[str, str]
) -> None:
    answer = client.post(SIGN_IN, figures)

    assert answer.status_code == 422
    assert not is_signed_in(client)
    assert answer.context["form"]["email"].value() == figures.get("email")


def test_deactivated_member_is_out_at_once(ada: Member, ada_client: Client) -> None:
    Member.objects.filter(pk=ada.pk).update(is_active=False)

    assert ada_client.get(reverse("sessions:today")).status_code == 302
    again = Client().post(SIGN_IN, {"email": ada.email, "password": PASSWORD})
    assert again.status_code == 422


def test_guessing_is_slowed_down_for_that_address_only(
    client: Client, ada: Member, ben: Member
) -> None:
    for _ in range(throttle.MOST_FAILURES):
        client.post(SIGN_IN, {"email": ada.email, "password": "guess"})

    shut = client.post(SIGN_IN, {"email": ada.email, "password": PASSWORD})
    other = client.post(SIGN_IN, {"email": ben.email, "password": PASSWORD})

    assert (shut.status_code, other.status_code) == (422, 302)
    assert "Too many tries" in shut.content.decode()


def test_right_password_forgets_the_wrong_ones(client: Client, ada: Member) -> None:
    for _ in range(3):
        for _ in range(throttle.MOST_FAILURES - 1):
            client.post(SIGN_IN, {"email": ada.email, "password": "guess"})
        right = Client().post(SIGN_IN, {"email": ada.email, "password": PASSWORD})
        assert right.status_code == 302


def test_sign_out_needs_a_post(ada_client: Client) -> None:
    url = reverse("darkroom:sign-out")
    assert ada_client.get(url).status_code == 405

    assert ada_client.post(url)["Location"] == SIGN_IN
    assert not is_signed_in(ada_client)


def test_auditor_may_sign_out(aud_client: Client) -> None:
    assert aud_client.post(reverse("darkroom:sign-out")).status_code == 302
    assert not is_signed_in(aud_client)


def test_handed_over_link_sets_a_password_and_signs_in(
    client: Client, ada: Member, adm: Member
) -> None:
    token = access.issue_password_link(ada, by=adm, at=timezone.now()).token
    url = reverse("darkroom:set-password", args=[token])
    assert "Ada" in client.get(url).content.decode()

    answer = client.post(url, {"password": NEW, "again": NEW})

    assert (answer.status_code, is_signed_in(client)) == (302, True)
    assert Client().get(url).status_code == 410
    ada.refresh_from_db()
    assert ada.check_password(NEW)


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({"password": NEW, "again": "something else"}, "again"),
        ({"password": "short", "again": "short"}, "password"),
        ({"password": NEW}, "again"),
        ({"password": "x" * 10_000, "again": "x" * 10_000}, "password"),
    ],
)
def test_refused_password_says_so_beside_its_field(
    client: Client, ada: Member, adm: Member, figures: dict[str, str], field: str
) -> None:
    token = access.issue_password_link(ada, by=adm, at=timezone.now()).token

    answer = client.post(reverse("darkroom:set-password", args=[token]), figures)

    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert not is_signed_in(client)


@pytest.mark.parametrize("name", ["darkroom:set-password", "darkroom:open-house"])
def test_guessed_link_opens_nothing(client: Client, name: str) -> None:
    url = reverse(name, args=["guessed"])

    assert [client.get(url).status_code, client.post(url, {}).status_code] == [410, 410]


def test_bootstrap_page_opens_the_house(client: Client) -> None:
    issued = access.issue_bootstrap_link(at=timezone.now())
    assert issued is not None
    url = reverse("darkroom:open-house", args=[issued.token])
    assert client.get(url).status_code == 200
    figures = {"name": "Ina", "email": "ina@house.example", "password": NEW, "again": NEW}

    answer = client.post(url, figures)

    assert (answer.status_code, answer["Location"]) == (302, reverse("darkroom:rules"))
    assert Member.objects.get().role == Role.ADMINISTRATOR
    assert client.get(reverse("darkroom:rules")).status_code == 200


def test_expired_link_is_refused(client: Client, ada: Member, adm: Member) -> None:
    then = timezone.now() - access.LINK_LASTS - timedelta(minutes=1)
    token = access.issue_password_link(ada, by=adm, at=then).token

    assert client.get(reverse("darkroom:set-password", args=[token])).status_code == 410


def test_page_of_the_house_asks_visitors_to_sign_in(client: Client) -> None:
    url = reverse("darkroom:people")

    assert client.get(url)["Location"] == f"{SIGN_IN}?next={url}"


def test_fragment_of_a_page_sends_the_whole_page_to_sign_in(client: Client) -> None:
    answer = client.get(
        reverse("darkroom:people"),
        headers={"HX-Request": "true", "HX-Current-URL": "http://testserver/shelf/?state=low"},
    )

    assert answer.status_code == 200
    assert answer["HX-Redirect"] == f"{SIGN_IN}?next=%2Fshelf%2F%3Fstate%3Dlow"


def test_fragment_of_no_page_at_all_sends_to_sign_in(client: Client) -> None:
    headers = {"HX-Request": "true", "HX-Current-URL": "http://["}

    answer = client.get(reverse("darkroom:people"), headers=headers)

    assert answer["HX-Redirect"] == f"{SIGN_IN}?next=%2F"


def test_password_change_ends_other_sign_ins(
    ada: Member, signed_in: Callable[[Member], Client]
) -> None:
    elsewhere = signed_in(ada)
    ada.set_password(NEW)
    ada.save()

    assert elsewhere.get(reverse("darkroom:people")).status_code == 302
