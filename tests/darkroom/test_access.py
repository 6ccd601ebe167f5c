"""Single-use links and the accounts behind them, as operations."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from darkroom import access
from darkroom.models import AccessLink, Member, Role

AT = datetime(2026, 5, 4, 18, tzinfo=UTC)
PASSWORD = "four trays in a row"
pytestmark = pytest.mark.django_db


def bootstrap() -> access.Issued:
    issued = access.issue_bootstrap_link(at=AT)
    assert issued is not None
    return issued


def open_house(token: str, *, at: datetime = AT) -> Member:
    return access.open_house(token, email="Ina@House.example", name="Ina", password=PASSWORD, at=at)


def test_bootstrap_link_makes_the_first_administrator_once() -> None:
    token = bootstrap().token

    member = open_house(token)

    assert (member.role, member.email) == (Role.ADMINISTRATOR, "ina@house.example")
    assert member.check_password(PASSWORD)
    with pytest.raises(access.LinkRefused, match="has been used"):
        open_house(token)
    assert access.issue_bootstrap_link(at=AT) is None


def test_newer_bootstrap_link_kills_the_older() -> None:
    older, newer = bootstrap().token, bootstrap().token

    with pytest.raises(access.LinkRefused):
        open_house(older)
    assert open_house(newer).is_administrator


def test_bootstrap_link_is_dead_once_there_is_an_administrator(adm: Member) -> None:
    AccessLink.objects.create(
        kind=AccessLink.Kind.BOOTSTRAP,
        token_hash=access.hashed("known"),
        created_at=AT,
        expires_at=AT + timedelta(days=1),
    )

    with pytest.raises(access.LinkRefused, match="has an administrator already"):
        open_house("known")


def test_link_is_good_until_its_last_day() -> None:
    token = bootstrap().token

    with pytest.raises(access.LinkRefused):
        open_house(token, at=AT + access.LINK_LASTS)
    assert open_house(token, at=AT + access.LINK_LASTS - timedelta(seconds=1)).pk


def test_token_is_stored_nowhere(adm: Member) -> None:
    issued = access.add_person(
        email="dot@house.example", name="Dot", role=Role.MEMBER, by=adm, at=AT
    )

    [stored] = AccessLink.objects.values_list("token_hash", flat=True)
    assert issued.token not in stored
    assert len(stored) == 64


def test_added_person_sets_a_password_once(adm: Member) -> None:
    issued = access.add_person(
        email="dot@house.example", name="Dot", role=Role.STEWARD, by=adm, at=AT
    )
    assert issued.member is not None
    assert not issued.member.has_usable_password()

    member = access.set_password(issued.token, PASSWORD, at=AT)

    assert (member.name, member.check_password(PASSWORD)) == ("Dot", True)
    with pytest.raises(access.LinkRefused):
        access.set_password(issued.token, "another one of mine", at=AT)


@pytest.mark.parametrize("password", ["short", "password", "12345678", "ada@house.example"])
def test_weak_password_is_refused_and_the_link_lives_on(
    ada: Member, adm: Member, password: str
) -> None:
    token = access.issue_password_link(ada, by=adm, at=AT).token

    with pytest.raises(access.PasswordRefused) as refused:
        access.set_password(token, password, at=AT)

    assert refused.value.field == "password"
    assert access.set_password(token, PASSWORD, at=AT) == ada


def test_bootstrap_token_sets_nobodys_password(ada: Member) -> None:
    token = bootstrap().token

    with pytest.raises(access.LinkRefused):
        access.set_password(token, PASSWORD, at=AT)


@pytest.mark.parametrize("email", ["ada@house.example", "ADA@House.Example"])
def test_address_is_taken_whatever_its_case(ada: Member, adm: Member, email: str) -> None:
    with pytest.raises(access.EmailTaken) as refused:
        access.add_person(email=email, name="Other", role=Role.MEMBER, by=adm, at=AT)

    assert refused.value.field == "email"


@pytest.mark.parametrize(("role", "is_active"), [("steward", True), ("administrator", False)])
def test_last_administrator_stays(adm: Member, role: str, is_active: bool) -> None:
    with pytest.raises(access.LastAdministrator):
        access.change_person(adm, name="Adm", role=role, is_active=is_active, by=adm, at=AT)


def test_administrator_may_go_when_another_is_there(adm: Member, ben: Member) -> None:
    access.change_person(ben, name="Ben", role="administrator", is_active=True, by=adm, at=AT)

    gone = access.change_person(adm, name="Adm", role="member", is_active=True, by=ben, at=AT)

    assert gone.role == Role.MEMBER


def test_deactivated_member_has_no_live_link(ada: Member, adm: Member) -> None:
    token = access.issue_password_link(ada, by=adm, at=AT).token

    access.change_person(ada, name="Ada", role="member", is_active=False, by=adm, at=AT)

    with pytest.raises(access.LinkRefused):
        access.set_password(token, PASSWORD, at=AT)
    with pytest.raises(access.LinkRefused, match="not active"):
        access.issue_password_link(ada, by=adm, at=AT)
