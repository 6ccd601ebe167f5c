"""Addresses of calendars: who may have which, and how they end."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from darkroom.errors import NotAllowed
from darkroom.models import Member, Role
from sessions.feeds import live_feed, make_feed, revoke_feed
from sessions.models import CalendarFeed
from tests.factories.darkroom import NOW, EquipmentFactory

pytestmark = pytest.mark.django_db
LATER = NOW + timedelta(days=1)


def make(by, kind="member", *, at=NOW, **what):
    return make_feed(kind=kind, by=by, at=at, **what)


def test_a_made_feed_is_found_by_its_token_alone(ada):
    made = make(ada)

    assert live_feed(made.token) == made.feed
    assert live_feed(made.token[:-1]) is None
    assert live_feed(made.feed.token_hash) is None


def test_the_token_stands_nowhere(ada):
    made = make(ada)

    (row,) = CalendarFeed.objects.values()
    assert made.token not in map(str, row.values())


def test_a_new_address_ends_the_old_one_of_the_same_calendar_only(ada, cyd):
    tank, sink = EquipmentFactory(), EquipmentFactory()
    kept = [make(ada), make(ada, "equipment", equipment=sink)]
    kept.append(make(cyd, "equipment", equipment=tank))
    old = make(ada, "equipment", equipment=tank)

    new = make(ada, "equipment", equipment=tank, at=LATER)

    old.feed.refresh_from_db()
    assert (old.replaced, new.replaced, old.feed.revoked_at) == (False, True, LATER)
    assert live_feed(old.token) is None
    assert [live_feed(one.token) for one in (*kept, new)] == [one.feed for one in (*kept, new)]


def test_an_ended_address_stays_ended_as_it_was(ada):
    made = make(ada)

    revoke_feed(made.feed, by=ada, at=NOW)
    again = revoke_feed(made.feed, by=ada, at=LATER)

    assert again.revoked_at == NOW
    assert live_feed(made.token) is None


def test_nobody_ends_somebody_elses(ada, ben):
    made = make(ada)

    with pytest.raises(NotAllowed) as refused:
        revoke_feed(made.feed, by=ben, at=NOW)

    assert refused.value.code == "not_allowed"
    assert live_feed(made.token) == made.feed


@pytest.mark.parametrize(
    ("who", "kind"), [("ada", "house"), ("aud", "house"), ("aud", "member"), ("aud", "equipment")]
)
def test_who_may_not_have_which(request, who, kind):
    what = {"equipment": EquipmentFactory()} if kind == "equipment" else {}

    with pytest.raises(NotAllowed) as refused:
        make(request.getfixturevalue(who), kind, **what)

    assert refused.value.code == "not_allowed"
    assert not CalendarFeed.objects.exists()


@pytest.mark.parametrize("who", ["ben", "adm"])
def test_stewards_have_the_house(request, who):
    made = make(request.getfixturevalue(who), "house")

    assert live_feed(made.token) == made.feed


@pytest.mark.parametrize(
    ("changes", "lives"),
    [
        ({"is_active": False}, {"member": False, "house": False}),
        ({"role": Role.AUDITOR}, {"member": False, "house": False}),
        ({"role": Role.MEMBER}, {"member": True, "house": False}),
        ({"role": Role.ADMINISTRATOR}, {"member": True, "house": True}),
    ],
)
def test_an_address_reaches_no_further_than_its_holder_does_today(ben, changes, lives):
    made = {kind: make(ben, kind) for kind in lives}

    Member.objects.filter(pk=ben.pk).update(**changes)

    assert {kind: live_feed(one.token) is not None for kind, one in made.items()} == lives


@pytest.mark.parametrize(
    ("kind", "changes", "name"),
    [
        ("member", {"kind": "equipment"}, "calendarfeed_equipment_fits_kind"),
        ("equipment", {"kind": "member"}, "calendarfeed_equipment_fits_kind"),
        ("equipment", {"kind": "house"}, "calendarfeed_equipment_fits_kind"),
        ("member", {"kind": "moon"}, "calendarfeed_equipment_fits_kind"),
        (
            "member",
            {"revoked_at": NOW - timedelta(microseconds=1)},
            "calendarfeed_revoked_after_made",
        ),
    ],
)
def test_database_refuses(ben, kind, changes, name):
    what = {"equipment": EquipmentFactory()} if kind == "equipment" else {}
    feed = make(ben, kind, **what).feed

    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        CalendarFeed.objects.filter(pk=feed.pk).update(**changes)

    assert refused.value.__cause__.diag.constraint_name == name


@pytest.mark.parametrize("kind", ["member", "equipment"])
def test_database_lets_one_address_of_a_calendar_live(ada, kind):
    what = {"equipment": EquipmentFactory()} if kind == "equipment" else {}
    make(ada, kind, **what)

    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        CalendarFeed.objects.create(
            kind=kind, member=ada, token_hash="f" * 64, created_at=NOW, **what
        )

    assert refused.value.__cause__.diag.constraint_name == "calendarfeed_one_live"
