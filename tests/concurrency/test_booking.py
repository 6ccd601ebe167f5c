"""Many members at one slot, one bottle, one form; and what happens without the locks."""

from collections import Counter
from contextlib import suppress
from datetime import timedelta
from threading import Barrier, BrokenBarrierError
from uuid import uuid4

import pytest
from django.db.models import QuerySet

from chemistry.models import Batch, Role
from chemistry.stopping import stop_batch
from sessions import booking
from sessions.booking import book_session
from sessions.cancelling import cancel_session
from sessions.models import Allotment, Hold, Session
from sessions.moving import move_session
from sessions.pieces import SlotTaken
from sessions.planning.promises import failures
from sessions.promising import BottleRefused
from sessions.supplies import load_supplies
from tests.concurrency.crowd import at_once
from tests.factories.darkroom import NOW, MemberFactory
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = pytest.mark.django_db(transaction=True)
CROWD = 32
LATER = TOMORROW_NOON + timedelta(hours=4)


def bookings(plans, *, starts_at=TOMORROW_NOON, key=None):
    """One booking for each plan, each by its own member and under its own key unless told."""

    def one(member, plan):
        given = {"plan": plan, "starts_at": starts_at, "by": member, "at": NOW}
        return lambda: book_session(key=key or uuid4(), **given)

    return [one(member, plan) for member, plan in plans]


def counted(found):
    return Counter(type(each) for each in found)


def one_after_the_other(house):
    """Two bookings that share nothing but the bottles."""
    ada, cyd = MemberFactory(), MemberFactory()
    return [
        *bookings([(ada, house.plan(ada))]),
        *bookings([(cyd, house.plan(cyd))], starts_at=LATER),
    ]


def let_down():
    """Open promises that their bottles cannot keep."""
    return [
        failure
        for supply in load_supplies(Batch.objects.all())
        for failure in failures(supply.bottle, supply.promised).values()
    ]


@pytest.fixture
def meeting(monkeypatch):
    """Both have checked before either inserts, if nothing makes one wait for the other."""
    gate, insert = Barrier(2), booking._insert

    def meet_first(*given):
        with suppress(BrokenBarrierError):
            gate.wait(timeout=2)
        return insert(*given)

    monkeypatch.setattr(booking, "_insert", meet_first)


@pytest.fixture
def unlocked(monkeypatch):
    """No row is locked; receipts are still unique."""
    monkeypatch.setattr(QuerySet, "select_for_update", lambda rows, **_: rows)


def test_of_thirty_two_at_one_slot_one_gets_it():
    house = bench()
    plans = [(member, house.plan(member)) for member in MemberFactory.create_batch(CROWD)]

    found = at_once(bookings(plans))

    assert counted(found) == {Session: 1, SlotTaken: CROWD - 1}
    assert (Session.objects.count(), Hold.objects.count(), Allotment.objects.count()) == (1, 7, 3)


def test_thirty_two_at_overlapping_slots_never_share_a_piece():
    house = bench()
    members = MemberFactory.create_batch(CROWD)
    acts = [
        bookings([(member, house.plan(member))], starts_at=TOMORROW_NOON + timedelta(minutes=m))[0]
        for m, member in zip(range(0, CROWD * 15, 15), members, strict=True)
    ]

    found = at_once(acts)

    kinds = counted(found)
    assert set(kinds) == {Session, SlotTaken}
    assert Session.objects.count() == kinds[Session] >= 4
    assert Hold.objects.count() == 7 * kinds[Session]


def test_one_form_sent_by_thirty_two_books_once():
    house, ada, key = bench(), MemberFactory(), uuid4()
    plan = house.plan(ada)

    found = at_once(bookings([(ada, plan)] * CROWD, key=key))

    assert found == [Session.objects.get()] * CROWD


def test_without_locks_the_database_still_gives_a_slot_to_one(meeting, unlocked):
    house = bench()
    plans = [(member, house.plan(member)) for member in MemberFactory.create_batch(2)]

    found = at_once(bookings(plans))

    assert counted(found) == {Session: 1, SlotTaken: 1}


def test_without_locks_the_last_of_a_bottle_goes_twice(meeting, unlocked):
    """The control: this is the lost update that the locks stop."""
    house = bench(capacity_au_per_l=1)  # four sheets in the litre

    found = at_once(one_after_the_other(house))

    assert counted(found) == {Session: 2}
    assert let_down() != []


def test_the_last_of_a_bottle_goes_once(meeting):
    house = bench(capacity_au_per_l=1)

    found = at_once(one_after_the_other(house))

    assert counted(found) == {Session: 1, BottleRefused: 1}
    assert let_down() == []


def test_of_thirty_two_at_one_bottle_as_many_are_served_as_it_bears():
    house = bench(capacity_au_per_l=3)  # twelve sheets, less what the film takes along
    members = MemberFactory.create_batch(CROWD)
    acts = [
        bookings(
            [(member, house.plan(member, sheets=2))],
            starts_at=TOMORROW_NOON.replace(hour=9) + timedelta(days=n // 8, hours=(n % 8) * 1.5),
        )[0]
        for n, member in enumerate(members)
    ]

    found = at_once(acts)

    assert counted(found) == {Session: 5, BottleRefused: CROWD - 5}
    assert let_down() == []


def test_members_who_swap_slots_get_clean_answers():
    house = bench()
    ada, cyd = MemberFactory(), MemberFactory()
    first, second = house.book(ada), house.book(cyd, starts_at=LATER)

    for _ in range(8):
        found = at_once(
            [
                lambda: move_session(visit=first, starts_at=LATER, key=uuid4(), by=ada, at=NOW),
                lambda: move_session(
                    visit=second, starts_at=TOMORROW_NOON, key=uuid4(), by=cyd, at=NOW
                ),
            ]
        )
        assert counted(found) == {SlotTaken: 2}

    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.starts_at, second.starts_at) == (TOMORROW_NOON, LATER)


def test_a_slot_given_up_and_wanted_at_once_belongs_to_one_or_nobody():
    house = bench()
    ada, cyd = MemberFactory(), MemberFactory()
    visit, plan = house.book(ada), house.plan(cyd)

    gone, wanted = at_once(
        [
            lambda: cancel_session(visit=visit, key=uuid4(), by=ada, at=NOW),
            *bookings([(cyd, plan)]),
        ]
    )

    assert gone == visit
    assert isinstance(wanted, Session | SlotTaken)
    assert Session.objects.live().count() == isinstance(wanted, Session)


def test_a_bottle_stopped_while_it_is_booked_is_either_refused_or_promised_first():
    house = bench()
    ada, cyd = MemberFactory(), MemberFactory()
    developer = house.bottles["developer"]
    stop = {"batch": developer, "seen": "flakes", "key": uuid4(), "by": cyd, "at": NOW}

    booked, stopped = at_once([*bookings([(ada, house.plan(ada))]), lambda: stop_batch(**stop)])

    assert not isinstance(stopped, Exception)
    assert isinstance(booked, Session | BottleRefused)
    promised = Allotment.objects.filter(step__role=Role.DEVELOPER).count()
    assert promised == isinstance(booked, Session)


def test_thirty_two_moving_at_once_keep_everything_apart():
    house = bench()
    members = MemberFactory.create_batch(4)
    starts = [TOMORROW_NOON + timedelta(hours=2 * n) for n in range(4)]
    visits = [
        house.book(member, starts_at=start) for member, start in zip(members, starts, strict=True)
    ]

    def act(n):
        visit, member = visits[n % 4], members[n % 4]
        start = TOMORROW_NOON.replace(hour=9) + timedelta(minutes=15 * n)
        return lambda: move_session(visit=visit, starts_at=start, key=uuid4(), by=member, at=NOW)

    found = at_once([act(n) for n in range(CROWD)])

    assert set(counted(found)) <= {Session, SlotTaken}
    assert Hold.objects.live().count() == 4 * 7
    assert Allotment.objects.open().count() == 4 * 3
