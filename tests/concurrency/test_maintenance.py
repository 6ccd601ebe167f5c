"""A steward takes a vessel out while members book it; and what happens without the locks."""

from contextlib import suppress
from datetime import timedelta
from threading import Barrier, BrokenBarrierError
from uuid import uuid4

import pytest
from django.db.models import QuerySet

from sessions import booking, let_down
from sessions.booking import NotBookable, book_session
from sessions.cancelling import cancel_session
from sessions.maintaining import (
    end_maintenance,
    plan_maintenance,
    put_back_in_service,
    take_out_of_service,
)
from sessions.models import Hold, Maintenance, Notice, Session
from sessions.moving import move_session
from sessions.pieces import SlotTaken
from tests.concurrency.crowd import at_once
from tests.factories.darkroom import NOW, EquipmentFactory, MemberFactory, StewardFactory
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = pytest.mark.django_db(transaction=True)
HOUR = timedelta(hours=1)


def books(house, starts_at=TOMORROW_NOON):
    member = MemberFactory()
    plan = house.plan(member)
    return lambda: book_session(plan=plan, starts_at=starts_at, key=uuid4(), by=member, at=NOW)


def takes_out(piece):
    by = StewardFactory()
    return lambda: take_out_of_service(
        equipment=piece, reason="Lid cracked", key=uuid4(), by=by, at=NOW
    )


def maintains(piece, *, starts_at=TOMORROW_NOON, hours=2):
    by = StewardFactory()
    return lambda: plan_maintenance(
        equipment=piece,
        starts_at=starts_at,
        ends_at=starts_at + hours * HOUR,
        reason="New seal",
        key=uuid4(),
        by=by,
        at=NOW,
    )


def left_unaware():
    """Sessions that count on a vessel which is out of service, untold."""
    told = Notice.objects.values_list("member", flat=True)
    return [
        hold
        for hold in Hold.objects.live().filter(session__isnull=False, phase="wet")
        if hold.equipment.is_vessel and not hold.equipment.is_in_service
    ] + list(Session.objects.filter(holds__is_let_down=True).exclude(member__in=told))


@pytest.fixture
def meeting(monkeypatch):
    """Each has looked before the other writes, if nothing makes one wait for the other."""
    gate = Barrier(2)

    def first_meet(module, name):
        act = getattr(module, name)

        def meet(*given, **named):
            with suppress(BrokenBarrierError):
                gate.wait(timeout=2)
            return act(*given, **named)

        monkeypatch.setattr(module, name, meet)

    first_meet(booking, "_insert")
    first_meet(let_down, "tell")


@pytest.fixture
def unlocked(monkeypatch):
    monkeypatch.setattr(QuerySet, "select_for_update", lambda rows, **_: rows)


@pytest.mark.usefixtures("meeting", "unlocked")
def test_without_locks_a_session_slips_in_and_nobody_is_told():
    house = bench()

    found = at_once([books(house), takes_out(house.tank)])

    assert not [each for each in found if isinstance(each, Exception)]
    assert left_unaware()


@pytest.mark.usefixtures("meeting")
def test_booking_and_taking_out_leave_nobody_unaware():
    house = bench()

    booked, taken_out = at_once([books(house), takes_out(house.tank)])

    assert isinstance(booked, Session | NotBookable | SlotTaken)
    assert taken_out == house.tank
    assert not left_unaware()


def test_many_book_while_it_is_maintained_and_none_keeps_it_then():
    house = bench()
    acts = [books(house, TOMORROW_NOON + timedelta(minutes=45) * n) for n in range(8)]

    *booked, maintenance = at_once([*acts, maintains(house.tank)])

    assert isinstance(maintenance, Maintenance)
    assert {type(each) for each in booked} <= {Session, SlotTaken, NotBookable}
    kept = Hold.objects.live().filter(equipment=house.tank)
    assert [h.maintenance for h in kept.overlapping(TOMORROW_NOON, TOMORROW_NOON + 2 * HOUR)] == [
        maintenance
    ]
    assert not left_unaware()


def test_moving_cancelling_and_maintaining_at_once_end_cleanly():
    """Round and round on the same pieces: clean answers, and no hold of a cancelled session."""
    house = bench()
    EquipmentFactory(code="S-2", kind="sink")
    members = MemberFactory.create_batch(4)
    visits = [
        house.book(member, starts_at=TOMORROW_NOON + n * HOUR) for n, member in enumerate(members)
    ]
    planned = maintains(house.tank)()
    by = StewardFactory()
    acts = [
        lambda: end_maintenance(maintenance=planned, key=uuid4(), by=by, at=NOW),
        lambda: put_back_in_service(equipment=house.tank, key=uuid4(), by=by, at=NOW),
        maintains(house.sink),
        maintains(house.pegs, hours=1),
    ]
    acts += [
        lambda v=visit, m=member: cancel_session(visit=v, key=uuid4(), by=m, at=NOW)
        for visit, member in zip(visits, members, strict=True)
    ]
    acts += [
        lambda v=visit, m=member: move_session(
            visit=v, starts_at=v.starts_at + 5 * HOUR, key=uuid4(), by=m, at=NOW
        )
        for visit, member in zip(visits, members, strict=True)
    ]

    found = at_once(acts)

    clean = [each for each in found if not isinstance(each, Exception) or hasattr(each, "code")]
    assert clean == found
    assert not Hold.objects.live().filter(session__cancelled_at__isnull=False).exists()
    assert not left_unaware()
