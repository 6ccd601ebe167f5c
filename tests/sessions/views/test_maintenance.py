from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from sessions.maintaining import plan_maintenance, take_out_of_service
from sessions.models import Maintenance
from tests.factories.darkroom import NOW, EquipmentFactory
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


def url(name, *args):
    return reverse(f"sessions:{name}", args=args)


def asked(**changes):
    return {
        "key": str(uuid4()),
        "lasts": "period",
        "starts": "2026-03-03T12:00",
        "ends": "2026-03-03T14:00",
        "reason": "New seal",
    } | changes


def planned(piece, by):
    return plan_maintenance(
        equipment=piece,
        starts_at=TOMORROW_NOON,
        ends_at=TOMORROW_NOON + timedelta(hours=2),
        reason="New seal",
        key=uuid4(),
        by=by,
        at=NOW,
    )


def test_without_hits_one_press_takes_it_out(ben_client):
    house = bench()
    page = url("equipment-out", house.tank.code)
    assert ben_client.get(page).status_code == 200

    answer = ben_client.post(page, asked())

    assert (answer.status_code, answer["Location"]) == (303, url("equipment-item", "T-1"))
    shown = ben_client.get(answer["Location"]).content.decode()
    assert "from Tuesday 3 March, 12:00 to Tuesday 3 March, 14:00: New seal" in shown
    assert "It is back already" in shown


def test_what_it_hits_is_shown_first_and_done_with_the_second_press(ben_client, ada):
    house = bench()
    visit = house.book(ada)
    page = url("equipment-out", house.tank.code)

    first = ben_client.post(page, asked())
    form = first.context["form"]
    nothing_yet = Maintenance.objects.count()
    second = ben_client.post(page, asked(key=form["key"].value(), seen=form["seen"].value()))

    assert (first.status_code, first.context["hits"], nothing_yet) == (200, [visit], 0)
    assert visit.get_absolute_url() in first.content.decode()
    assert second.status_code == 303
    assert Maintenance.objects.get().equipment == house.tank


def test_whoever_booked_since_is_shown_before_it_is_done(ben_client, ada, cyd):
    house = bench()
    house.book(ada)
    page = url("equipment-out", house.tank.code)
    seen = ben_client.post(page, asked()).context["form"]["seen"].value()
    house.book(cyd, starts_at=TOMORROW_NOON + timedelta(hours=1))

    again = ben_client.post(page, asked(seen=seen))

    assert (again.status_code, len(again.context["hits"])) == (200, 2)
    assert not Maintenance.objects.exists()


def test_until_further_notice_and_back(ben_client, ada_client):
    house = bench()

    ben_client.post(url("equipment-out", "T-1"), asked(lasts="open", starts="", ends=""))
    shown = ada_client.get(url("equipment")).content.decode()
    back = ben_client.post(url("equipment-back", "T-1"), {"key": uuid4()})

    assert "until further notice: New seal" in shown
    assert back.status_code == 303
    house.tank.refresh_from_db()
    assert house.tank.is_in_service


def test_ended_early_the_steward_reads_who_has_it_again(ben_client, ada, ben):
    house = bench()
    house.book(ada)
    found = planned(house.tank, ben)

    said = []
    for _ in range(2):
        answer = ben_client.post(url("maintenance-end", found.pk), {"key": uuid4()})
        said.append(ben_client.get(answer["Location"]).content.decode())

    assert "Who lost it has it again: Ada." in said[0]
    assert "That is over already: New seal" in said[1]


def test_the_session_shows_what_it_lost_and_the_way_to_move_it(ada_client, ada, ben):
    house = bench()
    visit = house.book(ada)
    planned(house.tank, ben)

    shown = ada_client.get(visit.get_absolute_url()).content.decode()

    assert "T-1 Small tank is out of service then. Move it, or cancel it." in shown
    moving = ada_client.get(url("visit-move", visit.code))
    assert moving.status_code == 200


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"ends": ""}, "ends"),
        ({"ends": "2026-03-03T12:00"}, "ends"),
        ({"ends": "2027-06-03T12:00"}, "ends"),
        ({"ends": "2026-03-01T12:00", "starts": ""}, "ends"),
        ({"starts": "noon"}, "starts"),
        ({"starts": "9" * 10_000_000}, "starts"),
        ({"ends": "1026-03-03T12:00"}, "ends"),
        ({"reason": ""}, "reason"),
        ({"reason": "x" * 10_000_000}, "reason"),
        ({"lasts": "a while"}, "lasts"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_what_is_wrong_is_refused_beside_its_field_and_kept(ben_client, wrong, field):
    bench()

    answer = ben_client.post(url("equipment-out", "T-1"), asked(**wrong))

    assert (answer.status_code, list(answer.context["form"].errors)) == (422, [field])
    assert answer.context["form"]["reason"].value() == wrong.get("reason", "New seal")
    assert not Maintenance.objects.exists()


def test_a_piece_that_is_out_then_is_refused_beside_the_start(ben_client, ben):
    planned(bench().tank, ben)

    answer = ben_client.post(url("equipment-out", "T-1"), asked())

    assert (answer.status_code, list(answer.context["form"].errors)) == (409, ["starts"])


@pytest.mark.parametrize("who", ["ada_client", "aud_client"])
def test_only_stewards_come_here(request, ben, who):
    client, found = request.getfixturevalue(who), planned(bench().tank, ben)

    assert client.get(url("equipment-out", "T-1")).status_code == 403
    for page in (
        url("equipment-out", "T-1"),
        url("equipment-back", "T-1"),
        url("maintenance-end", found.pk),
    ):
        assert client.post(page, asked()).status_code == 403
    assert "Take it out of service" not in client.get(url("equipment-item", "T-1")).content.decode()


def test_unknown_pieces_are_not_found_and_wrong_methods_refused(ben_client, ben):
    found = planned(bench().tank, ben)

    assert ben_client.get(url("equipment-out", "T-77")).status_code == 404
    assert ben_client.get("/equipment/T%00/out/").status_code == 404
    assert ben_client.post(url("equipment-back", "T-77"), {"key": uuid4()}).status_code == 404
    assert ben_client.post(url("maintenance-end", 10**9), {"key": uuid4()}).status_code == 404
    assert ben_client.get(url("equipment-back", "T-1")).status_code == 405
    assert ben_client.get(url("maintenance-end", found.pk)).status_code == 405


@pytest.mark.parametrize("count", [3, 30])
def test_the_list_asks_the_same_however_much_is_out_of_service(
    ben_client, ben, count, django_assert_num_queries
):
    for n in range(count):
        piece = EquipmentFactory(code=f"V-{n}")
        planned(piece, ben)
        take_out_of_service(equipment=piece, reason="Lid", key=uuid4(), by=ben, at=NOW)
    ben_client.get(url("equipment"))

    with django_assert_num_queries(11):
        ben_client.get(url("equipment"))
