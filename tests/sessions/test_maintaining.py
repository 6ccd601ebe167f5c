"""Equipment out of service: what becomes of who kept it, who is told, and the way back."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError
from psycopg.types.range import TimestamptzRange

from darkroom.errors import NotAllowed
from darkroom.models import EquipmentKind, HouseRules
from darkroom.operations import AlreadySent
from darkroom.words import WordsWanted
from sessions import displacing, hands
from sessions.booking import NotBookable
from sessions.cancelling import cancel_session
from sessions.day import day_of
from sessions.let_down import lost_sentence
from sessions.maintaining import (
    NotAPeriod,
    NotOut,
    OutAlready,
    end_maintenance,
    plan_maintenance,
    put_back_in_service,
    take_out_of_service,
)
from sessions.models import Hold, Maintenance, Notice
from sessions.moving import move_session
from sessions.offers import starts_of
from sessions.pieces import SlotTaken
from tests.factories.darkroom import NOW, EquipmentFactory, MemberFactory
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def out(piece, by, *, starts_at=TOMORROW_NOON, ends_at=TOMORROW_NOON + 2 * HOUR, **given):
    given = {"reason": "New seal", "key": uuid4(), "at": NOW} | given
    return plan_maintenance(equipment=piece, starts_at=starts_at, ends_at=ends_at, by=by, **given)


def out_for_good(piece, by, *, at=NOW):
    return take_out_of_service(equipment=piece, reason="Lid cracked", key=uuid4(), by=by, at=at)


def back(maintenance, by, *, at=NOW + HOUR):
    return end_maintenance(maintenance=maintenance, key=uuid4(), by=by, at=at)


def moved(visit, starts_at, by):
    return move_session(visit=visit, starts_at=starts_at, key=uuid4(), by=by, at=NOW)


def kept(visit):
    return sorted({hold.equipment.code for hold in visit.holds.live()})


def told(member):
    return [notice.body for notice in Notice.objects.filter(member=member).order_by("pk")]


def test_nobody_can_book_what_is_out_of_service_then(ada, ben):
    house = bench()
    out(house.tank, ben)

    with pytest.raises(SlotTaken):
        house.book(ada)
    assert house.starts(house.plan(ada))[0] < TOMORROW_NOON
    assert TOMORROW_NOON not in house.starts(house.plan(ada))
    assert TOMORROW_NOON + 2 * HOUR in house.starts(house.plan(ada))


def test_maintenance_is_drawn_in_the_day_of_the_piece(ada, ben):
    house = bench()
    out(house.tank, ben)

    (lane,) = day_of(ada, TOMORROW_NOON.date(), rules=HouseRules.current(), piece=house.tank).lanes

    assert [(p.kind, p.starts_at, p.ends_at) for p in lane.phases] == [
        ("closed", TOMORROW_NOON, TOMORROW_NOON + 2 * HOUR)
    ]


def test_a_session_in_the_vessel_loses_it_and_shows_so(ada, ben):
    house = bench()
    visit = house.book(ada)

    out(house.tank, ben)

    assert kept(visit) == ["B-1", "P-1", "S-1"]
    assert lost_sentence(visit) == "T-1 Small tank is out of service then."


def test_member_and_stewards_are_told_once_with_the_nearest_free_start(ada, ben, adm):
    house = bench()
    visit = house.book(ada)

    out(house.tank, ben)

    assert told(ada) == [
        "T-1 Small tank is out of service from Tuesday 3 March, 12:00 to Tuesday 3 March, 14:00: "
        "New seal. The nearest free start is Tuesday 3 March, 14:00: move it there."
    ]
    assert told(ben) == told(adm)
    assert "Ada, Tuesday 3 March, 12:00: The nearest free start" in told(ben)[0]
    assert Notice.objects.get(member=ada).url == visit.get_absolute_url()
    moved(visit, TOMORROW_NOON + 2 * HOUR, ada)


def test_who_is_not_hit_is_told_nothing(ada, cyd, ben):
    house = bench()
    early = house.book(cyd, starts_at=TOMORROW_NOON - 2 * HOUR)
    house.book(ada)

    out(house.tank, ben)

    assert told(cyd) == []
    assert len(kept(early)) == 4


@pytest.mark.parametrize("kind", ["booth", "sink", "pegs"])
def test_of_booth_sink_and_pegs_another_is_kept_without_a_word(ada, ben, kind):
    house = bench()
    visit = house.book(ada)
    piece = getattr(house, kind)
    spare = EquipmentFactory(code="X-1", kind=piece.kind)
    spans = sorted(visit.holds.filter(equipment=piece).values_list("phase", "period"))

    out(piece, ben)

    assert "X-1" in kept(visit)
    assert piece.code not in kept(visit)
    assert sorted(visit.holds.live().filter(equipment=spare).values_list("phase", "period")) == (
        spans
    )
    assert not Notice.objects.exists()
    assert lost_sentence(visit) == ""


def test_all_that_a_session_keeps_of_a_sink_goes_to_the_same_other_one(ada, ben):
    """Only the cleaning falls within the time out, but the bottles stand there from the start."""
    house = bench()
    visit = house.book(ada)
    spare = EquipmentFactory(code="S-2", kind=EquipmentKind.SINK)

    out(house.sink, ben, starts_at=TOMORROW_NOON + timedelta(minutes=40))

    assert {h.equipment for h in visit.holds.live() if h.equipment.kind == "sink"} == {spare}


def test_a_spare_serves_one_session_at_a_time(ada, cyd, ben):
    house = bench()
    first = house.book(ada)
    second = house.book(cyd, starts_at=TOMORROW_NOON + HOUR)
    EquipmentFactory(code="P-2", kind=EquipmentKind.PEGS)
    holds = Hold.objects.filter(equipment=house.pegs)
    assert holds.count() == 2

    out(house.pegs, ben)

    spared = Hold.objects.live().filter(equipment__code="P-2")
    assert {hold.session for hold in spared} == {first, second}
    out(spared[0].equipment, ben)
    assert len(told(ada)) == len(told(cyd)) == 1
    assert lost_sentence(first) == "P-2 Sink bay is out of service then."


def test_where_no_other_is_free_the_session_is_let_down(ada, ben):
    house = bench()
    visit = house.book(ada)
    EquipmentFactory(code="S-2", kind=EquipmentKind.SINK, is_in_service=False)

    out(house.sink, ben)

    assert lost_sentence(visit) == "S-1 Sink bay is out of service then."


def test_a_let_down_session_is_moved_with_all_that_it_needs(ada, ben):
    house = bench()
    visit = house.book(ada)
    before = kept(visit)
    out(house.tank, ben)
    start = next(start for start in starts_of(visit, at=NOW) if start > TOMORROW_NOON)

    visit = moved(visit, start, ada)

    assert start == TOMORROW_NOON + 2 * HOUR
    assert kept(visit) == before
    assert visit.holds.live().count() == 7
    assert lost_sentence(visit) == ""


def test_who_is_in_the_middle_of_it_is_told_where_to_carry_on(ada, ben):
    house = bench()
    visit = house.book(ada, starts_at=NOW, at=NOW)
    EquipmentFactory(code="S-2", kind=EquipmentKind.SINK)
    at = NOW + timedelta(minutes=20)

    out(house.sink, ben, starts_at=at, ends_at=at + HOUR, at=at)

    assert "S-2" in kept(visit)
    assert told(ada)[0].endswith("S-2 Sink bay is kept for you instead.")
    assert visit.holds.live().filter(equipment__code="S-2").order_by("period")[0].period.lower == at


def test_a_start_that_has_passed_means_from_now_on(ben):
    tank = bench().tank

    assert out(tank, ben, starts_at=NOW - HOUR).period.lower == NOW


@pytest.mark.parametrize(
    ("starts_at", "ends_at"),
    [
        (TOMORROW_NOON, TOMORROW_NOON),
        (TOMORROW_NOON, TOMORROW_NOON - HOUR),
        (NOW - 2 * HOUR, NOW - HOUR),
        (TOMORROW_NOON, TOMORROW_NOON + timedelta(days=400)),
    ],
)
def test_what_is_no_period_is_refused(ben, starts_at, ends_at):
    with pytest.raises(NotAPeriod) as refused:
        out(bench().tank, ben, starts_at=starts_at, ends_at=ends_at)
    assert refused.value.field == "ends"


def test_a_piece_is_out_of_service_once_at_a_time(ben):
    tank = bench().tank
    out(tank, ben)

    with pytest.raises(OutAlready):
        out(tank, ben, starts_at=TOMORROW_NOON + HOUR)
    out(tank, ben, starts_at=TOMORROW_NOON + 2 * HOUR, ends_at=TOMORROW_NOON + 3 * HOUR)


def test_a_reason_is_wanted(ben):
    with pytest.raises(WordsWanted) as refused:
        out(bench().tank, ben, reason="  ")
    assert refused.value.field == "reason"


@pytest.mark.parametrize("who", ["ada", "aud"])
def test_only_stewards_take_out_and_put_back(request, ben, who):
    tank, by = bench().tank, request.getfixturevalue(who)
    planned = out(tank, ben)

    for act in (
        lambda: out(tank, by),
        lambda: out_for_good(tank, by),
        lambda: back(planned, by),
        lambda: put_back_in_service(equipment=tank, key=uuid4(), by=by, at=NOW),
    ):
        with pytest.raises(NotAllowed):
            act()


def test_a_form_sent_twice_takes_it_out_once(ben):
    tank, key = bench().tank, uuid4()

    assert out(tank, ben, key=key) == out(tank, ben, key=key)
    with pytest.raises(AlreadySent):
        out(tank, ben, key=key, reason="Something else")
    assert Maintenance.objects.count() == 1


def test_ended_early_the_session_has_its_vessel_again_and_is_told(ada, ben):
    house = bench()
    visit = house.book(ada)
    before = sorted(visit.holds.live().values_list("equipment", "phase", "period"))
    planned = out(house.tank, ben)

    assert back(planned, ben) == [visit]

    assert sorted(visit.holds.live().values_list("equipment", "phase", "period")) == before
    assert lost_sentence(visit) == ""
    assert "as it was booked" in told(ada)[1]
    planned.refresh_from_db()
    assert (planned.ended_by, planned.ended_at) == (ben, NOW + HOUR)
    with pytest.raises(NotOut):
        back(planned, ben)


def test_who_moved_or_cancelled_meanwhile_is_given_nothing_back(ada, cyd, ben):
    house = bench()
    gone, away = house.book(ada), house.book(cyd, starts_at=TOMORROW_NOON + HOUR)
    planned = out(house.tank, ben)
    moved(gone, TOMORROW_NOON + 3 * HOUR, ada)
    cancel_session(visit=away, key=uuid4(), by=cyd, at=NOW)

    assert back(planned, ben) == []

    assert gone.holds.live().count() == 7
    assert not away.holds.live().exists()


def test_until_further_notice_hits_all_that_is_to_come(ada, cyd, ben):
    house = bench()
    soon, late = house.book(ada), house.book(cyd, starts_at=TOMORROW_NOON + timedelta(days=9))

    piece = out_for_good(house.tank, ben)

    assert (piece.is_in_service, piece.out_reason, piece.out_since) == (False, "Lid cracked", NOW)
    assert [bool(lost_sentence(visit)) for visit in (soon, late)] == [True, True]
    assert told(ada)[0].endswith("plan it anew with another vessel.")
    assert len(told(cyd)) == len(told(ben)) == 1
    with pytest.raises(OutAlready):
        out_for_good(house.tank, ben)


def test_put_back_in_service_the_sessions_stand_again(ada, ben):
    house = bench()
    visit = house.book(ada)
    out_for_good(house.tank, ben)

    served = put_back_in_service(equipment=house.tank, key=uuid4(), by=ben, at=NOW + HOUR)

    assert served == [visit]
    assert visit.holds.live().count() == 7
    with pytest.raises(NotOut):
        put_back_in_service(equipment=house.tank, key=uuid4(), by=ben, at=NOW + HOUR)


def test_back_from_one_it_may_still_be_out_for_another(ada, ben):
    house = bench()
    visit = house.book(ada)
    planned = out(house.tank, ben)
    out_for_good(house.tank, ben)

    assert back(planned, ben) == []
    assert lost_sentence(visit)
    again = out(house.tank, ben)
    assert put_back_in_service(equipment=house.tank, key=uuid4(), by=ben, at=NOW + HOUR) == []
    assert back(again, ben) == [visit]


def test_a_vessel_out_until_further_notice_is_refused_with_its_reason(ada, ben):
    house = bench()
    plan = house.plan(ada)
    out_for_good(house.tank, ben)

    with pytest.raises(NotBookable):
        house.book(ada, plan=plan)


def test_stewards_see_who_still_has_to_move(ada, ben):
    house = bench()
    visit = house.book(ada)
    out(house.tank, ben)

    (line,) = [
        h
        for h in hands.needed([], at=NOW, rules=HouseRules.current())
        if "out of service" in h.says
    ]

    assert line.says == "Tuesday 3 March, 12:00, Ada: T-1 out of service then: move it."
    assert line.url == visit.get_absolute_url()


def test_what_hangs_there_after_the_session_is_told_but_not_waited_for(ada, ben):
    house = bench()
    visit = house.book(ada, starts_at=NOW, at=NOW)
    visit.ended_at = NOW + HOUR
    visit.save()
    at = NOW + timedelta(minutes=70)

    out(house.pegs, ben, starts_at=at, ends_at=at + HOUR, at=at)

    assert told(ada)[0].endswith("what still hangs or stands there has to go elsewhere.")
    assert not visit.holds.filter(is_let_down=True).exists()


def test_the_list_of_hits_is_one_query_for_any_number(ada, ben, django_assert_num_queries):
    house = bench()
    for n in range(3):
        house.book(MemberFactory(), starts_at=TOMORROW_NOON + n * HOUR)

    with django_assert_num_queries(1):
        found = displacing.hit(house.tank, (NOW, None))
        assert [(str(visit.member), str(visit.vessel)) for visit in found]
    assert len(found) == 3


def violated(row):
    with pytest.raises(IntegrityError) as error:
        type(row).objects.bulk_create([row])
    return error.value.__cause__.diag.constraint_name


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"reason": ""}, "maintenance_says_why"),
        ({"ended_at": NOW}, "maintenance_ended_by_somebody"),
        ({"period": TimestamptzRange(NOW, None)}, "maintenance_period_is_a_span"),
        ({"period": TimestamptzRange(NOW, NOW)}, "maintenance_period_is_a_span"),
    ],
)
def test_maintenance_past_every_form(ben, changes, name):
    given = {
        "equipment": EquipmentFactory(),
        "period": TimestamptzRange(NOW, NOW + HOUR),
        "reason": "New seal",
        "planned_at": NOW,
        "planned_by": ben,
    }

    assert violated(Maintenance(**given | changes)) == name


@pytest.mark.parametrize(
    ("owners", "name"),
    [
        ({"phase": "wet"}, "hold_one_owner"),
        ({"session": True, "maintenance": True, "phase": "out"}, "hold_one_owner"),
        ({"session": True, "phase": "out"}, "hold_one_owner"),
        ({"maintenance": True, "phase": "wet"}, "hold_one_owner"),
        (
            {"session": True, "phase": "wet", "is_let_down": True},
            "hold_let_down_is_released",
        ),
        (
            {"maintenance": True, "phase": "out", "is_let_down": True, "released_at": NOW},
            "hold_let_down_is_released",
        ),
    ],
)
def test_hold_past_every_form(ada, ben, owners, name):
    house = bench()
    rows = {"session": house.book(ada), "maintenance": out(EquipmentFactory(), ben)}
    given = {key: rows.get(key, value) for key, value in owners.items()}
    period = TimestamptzRange(NOW, NOW + HOUR)

    assert violated(Hold(equipment=EquipmentFactory(), period=period, **given)) == name
