from datetime import timedelta

import pytest
from django.urls import reverse

from darkroom.models import EquipmentKind
from tests.factories.darkroom import NOW, EquipmentFactory, VesselFactory, VesselFitFactory
from tests.factories.sessions import bench, drum, eight_by_ten

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
LIST = "/equipment/"


def item(code):
    return reverse("sessions:equipment-item", args=[code])


def test_the_list_says_what_each_piece_takes(ada_client):
    bench()
    drum()

    text = ada_client.get(LIST).content.decode()

    assert "<b>4 sheets of 4×5</b> advised, from 400&nbsp;mL a load" in text
    assert "<b>1 sheet of 8×10</b> advised, from 200&nbsp;mL a load" in text
    assert "Rocking up to 300&nbsp;mL" in text


def test_the_list_says_when_each_piece_is_free_next(ada_client, ada):
    house = bench()
    house.book(ada, starts_at=NOW, at=NOW)
    EquipmentFactory(code="S-9", kind=EquipmentKind.SINK, is_in_service=False)

    groups = ada_client.get(LIST).context["groups"]

    pieces = {p.equipment.code: p for group in groups for p in group.pieces}
    assert pieces["T-1"].free_from == NOW + timedelta(minutes=43)
    assert pieces["B-1"].free_from == NOW + timedelta(minutes=10)
    assert pieces["P-1"].is_free_now
    assert pieces["P-1"].free_until == NOW + timedelta(minutes=33)
    assert pieces["S-9"].free_from is None


@pytest.mark.parametrize("count", [3, 30])
def test_the_list_asks_as_much_of_the_database_for_30_as_for_3(
    ada_client, ada, count, django_assert_num_queries
):
    house = bench()
    house.book(ada)
    for n in range(count):
        VesselFitFactory(equipment=VesselFactory(code=f"V-{n}"), format=eight_by_ten())
    ada_client.get(LIST)

    with django_assert_num_queries(12):
        response = ada_client.get(LIST)

    assert response.content.decode().count("1 sheet of 8×10") == 0
    assert response.content.decode().count("4 sheets of 8×10") == count


def test_a_piece_shows_its_day_and_whose_it_is_to_those_who_may_know(
    ada_client, cyd_client, ben_client, ada
):
    visit = bench().book(ada)
    url = f"{item('T-1')}?day=2026-03-03"

    mine, other, steward = (
        client.get(url).content.decode() for client in (ada_client, cyd_client, ben_client)
    )

    assert "Tuesday 3 March 2026" in mine
    assert str(visit.code) in mine
    assert str(visit.code) not in other
    assert "Ada" not in other
    assert str(visit.code) in steward


@pytest.mark.parametrize("day", ["", "yesterday", "2026-02-31", "9999-12-31", "0001-01-01", "\0"])
def test_an_odd_day_shows_today(ada_client, day):
    bench()

    response = ada_client.get(item("T-1"), {"day": day})

    assert response.status_code == 200
    assert response.context["day"] == NOW.date()


def test_htmx_gets_the_day_alone(ada_client):
    bench()

    part = ada_client.get(item("T-1"), headers={"HX-Request": "true", "HX-Target": "day"})

    assert part.content.decode().strip().startswith('<section class="stack" id="day"')


def test_a_code_that_no_piece_can_have_is_not_there(ada_client):
    assert ada_client.get("/equipment/%00/").status_code == 404


def test_an_unknown_piece_is_not_there(ada_client):
    assert ada_client.get(item("nothing")).status_code == 404


def test_strangers_and_wrong_methods(client, ada_client):
    bench()

    for url in (LIST, item("T-1")):
        assert client.get(url).status_code == 302
        assert ada_client.post(url).status_code == 405


def test_auditors_read_it_too(aud_client):
    bench()

    assert aud_client.get(item("T-1")).status_code == 200


def test_an_empty_house_says_what_to_do_first(ada_client):
    assert "No equipment yet" in ada_client.get(LIST).content.decode()
