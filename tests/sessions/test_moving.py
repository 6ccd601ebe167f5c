from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry.models import Role
from chemistry.stopping import stop_batch
from darkroom.errors import NotAllowed
from sessions.cancelling import CannotCancel, cancel_session
from sessions.hours import StartRefused
from sessions.models import Allotment, Hold
from sessions.moving import CannotMove, move_session
from sessions.offers import starts_of
from sessions.pieces import SlotTaken
from sessions.promising import BottleRefused
from tests.factories.chemistry import mixed_batch
from tests.factories.darkroom import NOW
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = pytest.mark.django_db
LATER = TOMORROW_NOON + timedelta(hours=4)


def move(visit, starts_at, by, *, at=NOW, key=None):
    return move_session(visit=visit, starts_at=starts_at, key=key or uuid4(), by=by, at=at)


def cancel(visit, by, *, at=NOW, key=None):
    return cancel_session(visit=visit, key=key or uuid4(), by=by, at=at)


def kept(visit):
    holds = visit.holds.live().order_by("period", "equipment")
    promised = visit.allotments.open().order_by("step")
    return (
        [(h.equipment_id, h.phase, h.period.lower, h.period.upper) for h in holds],
        [(a.step_id, a.batch_id, a.period.lower, a.area_mm2) for a in promised],
    )


def test_everything_moves_by_the_same_time(ada):
    visit = bench().book(ada)
    holds, promised = kept(visit)

    moved = move(visit, LATER, ada)

    shift = LATER - TOMORROW_NOON
    assert kept(moved) == (
        [(piece, phase, low + shift, high + shift) for piece, phase, low, high in holds],
        [(step, batch, low + shift, area) for step, batch, low, area in promised],
    )
    assert (moved.starts_at, moved.ends_at) == (LATER, LATER + timedelta(minutes=43))


def test_what_was_kept_before_is_free_again(ada, cyd):
    house = bench()
    visit = house.book(ada)

    move(visit, LATER, ada)

    assert house.book(cyd).starts_at == TOMORROW_NOON


def test_a_session_may_move_into_its_own_time(ada):
    visit = bench().book(ada)

    moved = move(visit, TOMORROW_NOON + timedelta(minutes=15), ada)

    assert moved.starts_at == TOMORROW_NOON + timedelta(minutes=15)


@pytest.mark.parametrize(
    ("starts_at", "refusal"),
    [
        (LATER, SlotTaken),
        (NOW - timedelta(hours=1), StartRefused),
        (TOMORROW_NOON.replace(hour=21, minute=30), StartRefused),
        (TOMORROW_NOON + timedelta(days=40), StartRefused),
    ],
)
def test_refused_the_old_booking_stands(ada, cyd, starts_at, refusal):
    house = bench()
    house.book(cyd, starts_at=LATER)
    visit = house.book(ada)
    before = kept(visit)

    with pytest.raises(refusal):
        move(visit, starts_at, ada)

    visit.refresh_from_db()
    assert kept(visit) == before
    assert visit.starts_at == TOMORROW_NOON


def test_bottles_stay_where_they_serve(ada):
    house = bench()
    visit = house.book(ada)
    mixed_batch(house.developer)

    moved = move(visit, LATER, ada)

    developer = moved.allotments.open().get(step__role=Role.DEVELOPER)
    assert developer.batch == house.bottles["developer"]


def test_a_bottle_that_does_not_serve_there_is_replaced(ada):
    house = bench()
    visit = house.book(ada)
    other = mixed_batch(house.developer)
    stop_batch(batch=house.bottles["developer"], seen="flakes", key=uuid4(), by=ada, at=NOW)

    moved = move(visit, LATER, ada)

    assert moved.allotments.open().get(step__role=Role.DEVELOPER).batch == other


def test_without_a_bottle_that_serves_there_it_stays(ada):
    house = bench()
    visit = house.book(ada)
    fixer = house.bottles["fixer"]
    fixer.good_until = LATER
    fixer.save(update_fields=["good_until"])

    with pytest.raises(BottleRefused):
        move(visit, LATER, ada)

    assert visit.allotments.open().count() == 3


def test_a_bottle_still_to_be_mixed_stays_so_until_there_is_one(ada):
    house = bench(with_bottles=False)
    plan = house.plan(ada).with_bottles({}, accepts_mixing=True)
    visit = house.book(ada, plan=plan)

    moved = move(visit, LATER, ada)
    assert [a.batch for a in moved.allotments.open()] == [None, None, None]
    developer = mixed_batch(house.developer)
    again = move(moved, TOMORROW_NOON, ada)

    assert again.allotments.open().get(step__role=Role.DEVELOPER).batch == developer


def test_its_own_old_promise_does_not_stand_in_the_way(ada):
    house = bench(capacity_au_per_l=2)
    visit = house.book(ada, sheets=8)

    assert move(visit, LATER, ada).starts_at == LATER


def test_a_move_sent_twice_is_done_once(ada):
    visit, key = bench().book(ada), uuid4()

    for _ in range(2):
        move(visit, LATER, ada, key=key)

    assert Hold.objects.live().count() == 7
    assert Hold.objects.count() == 14


def test_a_session_that_has_begun_stays(ada):
    visit = bench().book(ada)

    with pytest.raises(CannotMove):
        move(visit, LATER, ada, at=TOMORROW_NOON)


def test_a_cancelled_session_stays(ada):
    visit = bench().book(ada)
    cancel(visit, ada)

    with pytest.raises(CannotMove):
        move(visit, LATER, ada)


def test_an_ended_session_stays(ada):
    visit = bench().book(ada)
    visit.ended_at = NOW
    visit.save()

    with pytest.raises(CannotMove):
        move(visit, LATER, ada)
    with pytest.raises(CannotCancel):
        cancel(visit, ada)


def test_who_may_move_and_cancel(ada, ben, cyd, aud):
    house = bench()
    visit = house.book(ada)

    for stranger in (cyd, aud):
        with pytest.raises(NotAllowed):
            move(visit, LATER, stranger)
        with pytest.raises(NotAllowed):
            cancel(visit, stranger)
    move(visit, LATER, ben)

    assert cancel(visit, ben).cancelled_at == NOW


def test_cancelling_gives_back_what_was_kept_and_promised(ada, cyd):
    house = bench(capacity_au_per_l=2)
    visit = house.book(ada, sheets=8)

    cancel(visit, ada)

    assert not visit.holds.live().exists()
    assert {a.state for a in visit.allotments.all()} == {Allotment.State.RELEASED}
    assert house.book(cyd, sheets=8).starts_at == TOMORROW_NOON


def test_cancelling_twice(ada):
    visit, key = bench().book(ada), uuid4()
    cancel(visit, ada, key=key)

    assert cancel(visit, ada, key=key).cancelled_at == NOW
    with pytest.raises(CannotCancel):
        cancel(visit, ada)


def test_a_session_that_never_happened_can_be_given_up_afterwards(ada):
    visit = bench().book(ada)

    cancel(visit, ada, at=visit.ends_at + timedelta(days=1))

    assert not visit.allotments.open().exists()


def test_starts_for_a_move_leave_out_its_own_holds_only(ada, cyd):
    house = bench()
    visit = house.book(ada)
    house.book(cyd, starts_at=LATER)

    starts = starts_of(visit, at=NOW)

    assert TOMORROW_NOON in starts
    assert TOMORROW_NOON + timedelta(minutes=15) in starts
    assert LATER not in starts
