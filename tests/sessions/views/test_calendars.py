"""The page on which addresses of calendars are made and ended, and the calendars behind them."""

import re
from urllib.parse import urlsplit

import pytest
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from darkroom.models import Equipment
from sessions.models import CalendarFeed
from tests.factories.darkroom import EquipmentFactory
from tests.factories.sessions import bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
LIST, MAKE = "/calendars/", "/calendars/make/"


def address_on(response):
    """What the page shows to copy."""
    return re.search(r'value="(http[^"]+\.ics)"', response.content.decode())[1]


def made(client, kind="member", **what):
    """The path of a new address."""
    return urlsplit(address_on(client.post(MAKE, {"kind": kind} | what))).path


def end_url(feed):
    return reverse("sessions:calendar-end", args=[feed.pk])


@pytest.fixture
def program():
    """A calendar program, which cannot sign in."""
    return Client()


def test_the_address_is_shown_once_and_read_without_signing_in(ada_client, ada, program):
    visit = bench().book(ada)

    page = ada_client.post(MAKE, {"kind": "member"})
    address = address_on(page)
    answer = program.get(urlsplit(address).path)

    assert address.startswith("http://testserver/calendars/")
    assert "no-store" in page["Cache-Control"]
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Cache-Control"] == "private, no-cache"
    (event,) = Calendar.from_ical(answer.content).events
    assert event.start == visit.starts_at
    assert event.url == f"http://testserver{visit.get_absolute_url()}"
    token = address.rpartition("/")[2].removesuffix(".ics")
    assert token not in ada_client.get(LIST).content.decode()


def test_a_calendar_sets_no_cookie(ada_client, program):
    answer = program.get(made(ada_client))

    assert answer.status_code == 200
    assert not answer.cookies


def test_an_unchanged_calendar_is_not_sent_again(ada_client, ada, program):
    house = bench()
    path = made(ada_client)
    etag = program.get(path)["ETag"]

    same = program.get(path, headers={"If-None-Match": etag})
    house.book(ada)
    changed = program.get(path, headers={"If-None-Match": etag})

    assert (same.status_code, same.content, same["Cache-Control"]) == (
        304,
        b"",
        "private, no-cache",
    )
    assert changed.status_code == 200
    assert changed["ETag"] != etag


def test_a_new_address_ends_the_old_one(ada_client, program):
    old = made(ada_client)
    page = ada_client.post(MAKE, {"kind": "member"})
    new = urlsplit(address_on(page)).path

    assert "The address you had before has ended." in page.content.decode()
    assert [program.get(path).status_code for path in (old, new)] == [404, 200]


def test_an_ended_address_is_not_there(ada_client, ada, program):
    path = made(ada_client)
    feed = ada.calendar_feeds.get()

    done = ada_client.post(end_url(feed))
    again = ada_client.post(end_url(feed))

    assert (done.status_code, done["Location"], again.status_code) == (303, LIST, 303)
    assert program.get(path).status_code == 404
    assert "Make an address" in ada_client.get(LIST).content.decode()


@pytest.mark.parametrize("token", ["guess", "x" * 43, "%00", "%ff", "é", "a" * 5000])
def test_unknown_addresses_are_not_there(program, token):
    assert program.get(f"/calendars/{token}.ics").status_code == 404


def test_a_calendar_is_only_read(ada_client, program):
    path = made(ada_client)

    assert program.post(path).status_code == 405
    assert program.head(path).status_code == 200


@pytest.mark.parametrize("count", [1, 12])
def test_a_calendar_costs_three_queries(ada_client, program, count, django_assert_num_queries):
    house = bench()
    for _ in range(count):
        EquipmentFactory()
    path = made(ada_client, "equipment", equipment=house.tank.pk)
    program.get(path)

    # The house, the address, the holds.
    with django_assert_num_queries(3):
        program.get(path)


@pytest.mark.parametrize("count", [3, 30])
def test_the_list_asks_as_much_of_the_database_for_30_as_for_3(
    ada_client, count, django_assert_num_queries
):
    for piece in EquipmentFactory.create_batch(count):
        ada_client.post(MAKE, {"kind": "equipment", "equipment": piece.pk})
    ada_client.get(LIST)

    # Sign-in, member, house; addresses, equipment.
    with django_assert_num_queries(5):
        text = ada_client.get(LIST).content.decode()

    assert text.count("New address") == count


@pytest.mark.parametrize(
    ("who", "offered"),
    [("ada_client", {"member", "equipment"}), ("ben_client", {"member", "equipment", "house"})],
)
def test_the_list_offers_what_the_reader_may_have(request, who, offered):
    EquipmentFactory()

    text = request.getfixturevalue(who).get(LIST).content.decode()

    assert set(re.findall(r'name="kind" value="(\w+)"', text)) == offered


@pytest.mark.parametrize(
    "typed",
    [
        {},
        {"kind": "house"},
        {"kind": "moon"},
        {"kind": "equipment"},
        {"kind": "equipment", "equipment": "0"},
        {"kind": "equipment", "equipment": "\x00"},
        {"kind": "equipment", "equipment": "9" * 30},
        {"kind": "equipment", "equipment": "tank"},
    ],
)
def test_what_is_not_offered_is_not_there(ada_client, typed):
    EquipmentFactory()

    assert ada_client.post(MAKE, typed).status_code == 404
    assert not CalendarFeed.objects.exists()


def test_one_does_not_take_a_piece_for_ones_sessions(ada_client):
    piece = EquipmentFactory()

    response = ada_client.post(MAKE, {"kind": "member", "equipment": piece.pk})

    assert response.status_code == 404


def test_strangers_neither_see_nor_end(ada_client, cyd_client, ben_client, ada, program):
    path = made(ada_client)
    feed = ada.calendar_feeds.get()

    assert cyd_client.post(end_url(feed)).status_code == 404
    assert ben_client.post(end_url(feed)).status_code == 404
    assert "New address" not in cyd_client.get(LIST).content.decode()
    assert program.get(path).status_code == 200


def test_an_auditor_has_none(aud_client, ada_client, ada):
    made(ada_client)
    feed = ada.calendar_feeds.get()

    assert aud_client.get(LIST).status_code == 403
    assert aud_client.post(MAKE, {"kind": "member"}).status_code == 403
    assert aud_client.post(end_url(feed)).status_code == 403


def test_nobody_makes_one_without_signing_in(program, ada_client, ada):
    made(ada_client)

    for url in (LIST, MAKE, end_url(ada.calendar_feeds.get())):
        assert program.post(url).status_code == 302
    assert CalendarFeed.objects.count() == 1


def test_wrong_methods(ada_client, ada):
    made(ada_client)

    assert ada_client.post(LIST).status_code == 405
    assert ada_client.get(MAKE).status_code == 405
    assert ada_client.get(end_url(ada.calendar_feeds.get())).status_code == 405


def test_a_form_from_elsewhere_makes_nothing(ada):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(ada)

    assert strict.post(MAKE, {"kind": "member"}).status_code == 403
    assert not CalendarFeed.objects.exists()


def test_sessions_and_equipment_lead_to_their_calendars(ada_client, aud_client):
    bench()
    tank = Equipment.objects.get(code="T-1")
    item = reverse("sessions:equipment-item", args=["T-1"])

    assert f'href="{LIST}"' in ada_client.get("/sessions/").content.decode()
    assert f'href="{LIST}#piece-{tank.pk}"' in ada_client.get(item).content.decode()
    assert f'id="piece-{tank.pk}"' in ada_client.get(LIST).content.decode()
    for page in ("/sessions/", item):
        assert LIST not in aud_client.get(page).content.decode()
