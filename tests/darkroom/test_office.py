from __future__ import annotations

import pytest
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from darkroom.models import (
    AccessLink,
    ClosedDate,
    Equipment,
    Format,
    HouseCheck,
    HouseRules,
    InductionTopic,
    Member,
    Receipt,
)
from sessions.models import HeatConstant

WRITABLE = {ClosedDate, Equipment, Format, HeatConstant, HouseCheck, InductionTopic}


def test_administrator_adds_equipment_with_what_it_takes(adm_client: Client, db: None) -> None:
    size = Format.objects.create(name="9×12", kind="sheet", area_mm2=10800, source="measured")
    figures = {
        "code": "T-1",
        "name": "Small tank",
        "kind": "tank",
        "is_in_service": "on",
        "agitations-TOTAL_FORMS": "1",
        "agitations-INITIAL_FORMS": "0",
        "agitations-0-agitation": "inversion",
        "agitations-0-max_ml": "500",
        "fits-TOTAL_FORMS": "1",
        "fits-INITIAL_FORMS": "0",
        "fits-0-format": str(size.pk),
        "fits-0-positions": "4",
        "fits-0-advised": "4",
        "fits-0-min_ml": "450",
    }

    answer = adm_client.post(reverse("admin:darkroom_equipment_add"), figures)

    assert answer.status_code == 302
    [tank] = Equipment.objects.all()
    assert (tank.agitations.get().max_ml, tank.fits.get().min_ml) == (500, 450)


def test_only_what_no_operation_writes_is_writable(adm: Member, adm_client: Client) -> None:
    HouseRules.current()
    for model, site in admin.site._registry.items():
        if model._meta.app_label in {"darkroom", "chemistry", "bookings"}:
            name = f"admin:{model._meta.app_label}_{model._meta.model_name}"
            statuses = {
                adm_client.get(reverse(f"{name}_changelist")).status_code,
                adm_client.get(reverse(f"{name}_add")).status_code,
            }
            assert statuses == ({200} if model in WRITABLE else {200, 403}), (model, site)


@pytest.mark.parametrize("model", [Member, AccessLink, HouseRules, Receipt])
def test_shown_rows_keep_their_secrets(adm: Member, adm_client: Client, model: type) -> None:
    HouseRules.current()
    rows = {
        Member: lambda: adm,
        HouseRules: HouseRules.current,
        AccessLink: lambda: AccessLink.objects.create(
            kind="password",
            member=adm,
            token_hash="0123456789abcdef",
            created_at=adm.last_login,
            expires_at=adm.last_login,
        ),
        Receipt: lambda: Receipt.objects.create(
            member=adm,
            key="6f1e7f0e-3a0b-4a53-a8a7-0a1a7d1d2a11",
            operation="x",
            digest="0123",
        ),
    }
    row = rows[model]()
    name = f"admin:darkroom_{model._meta.model_name}_change"

    page = adm_client.get(reverse(name, args=[row.pk]))

    assert page.status_code == 200
    assert "0123456789abcdef" not in page.content.decode()
    assert "md5$" not in page.content.decode()


@pytest.mark.parametrize("who", ["ada_client", "ben_client", "aud_client"])
def test_office_is_the_administrators(who: str, request: pytest.FixtureRequest) -> None:
    client = request.getfixturevalue(who)

    statuses = [client.get(reverse(f"admin:{name}")).status_code for name in ("index", "login")]

    assert statuses == [403, 302]


def test_office_has_no_sign_in_of_its_own(db: None, client: Client) -> None:
    answer = client.get(reverse("admin:login"))

    assert answer["Location"] == f"{reverse('darkroom:sign-in')}?next=%2Foffice%2F"


def test_topics_of_every_house_stand_there_and_name_who_gives_them(
    adm_client: Client, ada: Member, aud: Member
) -> None:
    adm_client.get(reverse("admin:darkroom_inductiontopic_changelist"))
    topic = InductionTopic.objects.get(allows="mix")
    url = reverse("admin:darkroom_inductiontopic_change", args=[topic.pk])
    figures = {"code": "may-mix", "name": "May mix", "about": "How we mix."}

    refused = adm_client.post(url, figures | {"givers": [aud.pk]})
    answer = adm_client.post(url, figures | {"givers": [ada.pk], "allows": "pour_out"})

    topic.refresh_from_db()
    assert (refused.status_code, answer.status_code) == (200, 302)
    assert (topic.allows, topic.named_givers()) == ("mix", [ada])


def test_an_administrator_finds_the_way_to_the_office(adm_client: Client, db: None) -> None:
    page = adm_client.get(reverse("sessions:equipment")).content.decode()

    assert reverse("admin:index") in page
    assert reverse("admin:darkroom_equipment_add") in page


def test_nobody_else_is_shown_a_way_into_the_office(ben_client: Client, db: None) -> None:
    assert "/office/" not in ben_client.get(reverse("sessions:equipment")).content.decode()


def test_office_shows_no_groups_for_nothing_looks_at_them() -> None:
    assert not any(model.__name__ == "Group" for model in admin.site._registry)
