from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import IntegrityError
from psycopg.types.range import TimestamptzRange

from chemistry.models import Role
from chemistry.stopping import stop_batch
from darkroom.errors import NotAllowed
from darkroom.models import EquipmentKind, HouseRules
from darkroom.operations import AlreadySent
from sessions.booking import NotBookable, book_session
from sessions.hours import StartRefused
from sessions.models import Allotment, Hold, Session
from sessions.pieces import SlotTaken
from sessions.promising import BottleRefused
from tests.factories.chemistry import mixed_batch
from tests.factories.darkroom import NOW, EquipmentFactory, open_daily
from tests.factories.sessions import TOMORROW_NOON, bench, drum, stock_developer

pytestmark = pytest.mark.django_db


def minutes(hold):
    return [
        round((edge - TOMORROW_NOON).total_seconds() / 60)
        for edge in (hold.period.lower, hold.period.upper)
    ]


def test_a_session_keeps_each_piece_for_its_phases(ada):
    house = bench()

    visit = house.book(ada)

    kept = {(hold.equipment.code, hold.phase): minutes(hold) for hold in visit.holds.all()}
    assert kept == {
        ("B-1", "dark"): [0, 10],
        ("T-1", "dark"): [0, 10],
        ("T-1", "wet"): [10, 33],
        ("T-1", "clean"): [33, 43],
        ("S-1", "wet"): [10, 33],
        ("S-1", "clean"): [33, 43],
        ("P-1", "dry"): [33, 93],
    }
    assert visit.ends_at == TOMORROW_NOON + timedelta(minutes=43)


def test_a_session_is_promised_a_bottle_for_each_bath_and_none_for_water(ada):
    house = bench()

    visit = house.book(ada, sheets=6)

    promised = {a.step.role: (a.batch, a.loads, a.borrowed_ul) for a in visit.allotments.all()}
    assert promised == {
        Role.DEVELOPER: (house.bottles["developer"], 2, 400_000),
        Role.STOP: (house.bottles["stop"], 2, 400_000),
        Role.FIXER: (house.bottles["fixer"], 2, 400_000),
    }


def test_the_first_bath_loses_what_the_film_takes_along(ada):
    visit = bench().book(ada, sheets=4)

    lost = {a.step.role: a.consumed_ul for a in visit.allotments.all()}
    assert lost == {Role.DEVELOPER: 20_000, Role.STOP: 0, Role.FIXER: 0}


def test_stock_is_drawn_for_each_load(ada):
    house = bench(with_bottles=True)
    way = stock_developer(draw_n=1)
    mixed_batch(way, volume_ml=1000)

    visit = house.book(ada, sheets=6, developer=way, own_minutes=Decimal(9))

    drawn = visit.allotments.get(step__role=Role.DEVELOPER)
    assert (drawn.borrowed_ul, drawn.consumed_ul) == (0, 2 * 200_000)
    assert visit.lines.get().own_minutes == 9


def test_any_piece_of_a_kind_serves_in_the_order_of_their_ids(ada, cyd):
    house = bench()
    extra = [EquipmentFactory(code=f"X-{kind}", kind=kind) for kind in ("booth", "sink", "pegs")]
    vessel = drum()
    house.book(ada)
    house.bottles["developer"] = mixed_batch(house.developer)

    visit = house.book(cyd, vessel=vessel.code, own_minutes=Decimal(8))

    used = {hold.equipment for hold in visit.holds.all()} - {vessel}
    assert used == set(extra)


@pytest.mark.parametrize("gap_min", [-15, 0, 15, 30])
def test_nobody_else_gets_the_vessel_meanwhile(ada, cyd, gap_min):
    house = bench()
    house.book(ada)

    with pytest.raises(SlotTaken) as refusal:
        house.book(cyd, starts_at=TOMORROW_NOON + timedelta(minutes=gap_min))

    assert (refusal.value.status, refusal.value.field) == (409, "start")
    assert Session.objects.count() == 1


def test_the_next_session_may_begin_when_the_pegs_are_free(ada, cyd):
    house = bench()
    house.book(ada)

    # Film hangs from minute 33 to 93; the next one hangs from minute 33 of its own on.
    visit = house.book(cyd, starts_at=TOMORROW_NOON + timedelta(minutes=60))

    assert visit.holds.count() == 7


def take_out(piece):
    piece.is_in_service, piece.out_reason, piece.out_since = False, "Lid cracked", NOW
    piece.save()


@pytest.mark.parametrize("kind", ["booth", "sink", "pegs"])
def test_what_is_out_of_service_is_not_kept(ada, kind):
    house = bench()
    piece = {"booth": house.booth, "sink": house.sink, "pegs": house.pegs}[kind]
    plan = house.plan(ada)
    take_out(piece)

    with pytest.raises(SlotTaken):
        house.book(ada, plan=plan)


def test_a_vessel_taken_out_of_service_meanwhile_is_refused(ada):
    house = bench()
    plan = house.plan(ada)
    take_out(house.tank)

    with pytest.raises(NotBookable):
        house.book(ada, plan=plan)


@pytest.mark.parametrize(
    ("starts_at", "code"),
    [
        (NOW - timedelta(minutes=1), "past"),
        (TOMORROW_NOON.replace(hour=8, minute=59), "closed"),
        (TOMORROW_NOON.replace(hour=21, minute=18), "closed"),
        (TOMORROW_NOON.replace(hour=3), "closed"),
        (TOMORROW_NOON + timedelta(days=28), "too_far"),
        (TOMORROW_NOON + timedelta(seconds=30), "odd_start"),
    ],
)
def test_a_start_at_which_nobody_could_be_there_is_refused(ada, starts_at, code):
    with pytest.raises(StartRefused) as refusal:
        bench().book(ada, starts_at=starts_at)

    assert (refusal.value.code, refusal.value.field) == (code, "start")


@pytest.mark.parametrize(
    "starts_at",
    [
        NOW,
        TOMORROW_NOON.replace(hour=9),
        TOMORROW_NOON.replace(hour=21, minute=17),
        TOMORROW_NOON + timedelta(days=27),
    ],
)
def test_the_very_first_and_last_starts_go(ada, starts_at):
    assert bench().book(ada, starts_at=starts_at).starts_at == starts_at


def test_film_may_dry_past_closing_time(ada):
    visit = bench().book(ada, starts_at=TOMORROW_NOON.replace(hour=21))

    drying = visit.holds.get(phase="dry")
    assert drying.period.upper > TOMORROW_NOON.replace(hour=22)


def test_hours_are_those_of_the_house_on_both_sides_of_a_clock_change(ada):
    house = bench()
    HouseRules.objects.update_or_create(pk=1, defaults={"zone": "Europe/Lisbon"})
    at = datetime(2026, 3, 20, 12, tzinfo=UTC)
    before = datetime(2026, 3, 28, 9, tzinfo=UTC)
    after = datetime(2026, 3, 29, 8, tzinfo=UTC)

    assert house.book(ada, at=at, starts_at=before).starts_at == before
    assert house.book(ada, at=at, starts_at=after).starts_at == after
    with pytest.raises(StartRefused):
        house.book(ada, at=at, starts_at=before - timedelta(hours=1))


def test_a_session_over_a_clock_change_lasts_its_elapsed_minutes(ada):
    house = bench()
    open_daily(time(0), time(23, 59), zone="Europe/Lisbon")
    at = datetime(2026, 3, 20, 12, tzinfo=UTC)

    visit = house.book(ada, at=at, starts_at=datetime(2026, 3, 29, 0, 45, tzinfo=UTC))

    assert visit.ends_at - visit.starts_at == timedelta(minutes=43)


def test_a_form_sent_twice_books_once(ada):
    house, key = bench(), uuid4()
    plan = house.plan(ada)

    first = book_session(plan=plan, starts_at=TOMORROW_NOON, key=key, by=ada, at=NOW)
    again = book_session(plan=plan, starts_at=TOMORROW_NOON, key=key, by=ada, at=NOW)

    assert first == again
    assert Session.objects.count() == 1


def test_a_plan_worked_out_anew_is_still_the_same_form(ada):
    """The second press finds the bottles promised already; what was asked is the same."""
    house, key = bench(), uuid4()
    for _ in range(2):
        plan = house.plan(ada)
        book_session(plan=plan, starts_at=TOMORROW_NOON, key=key, by=ada, at=NOW)

    assert Session.objects.count() == 1


def test_a_form_with_other_figures_is_not_the_same(ada):
    house, key = bench(), uuid4()
    plan = house.plan(ada)
    book_session(plan=plan, starts_at=TOMORROW_NOON, key=key, by=ada, at=NOW)

    with pytest.raises(AlreadySent):
        book_session(
            plan=plan, starts_at=TOMORROW_NOON + timedelta(hours=3), key=key, by=ada, at=NOW
        )


def test_an_auditor_books_nothing(aud):
    house = bench()

    with pytest.raises(NotAllowed):
        house.book(aud)

    assert not Session.objects.exists()


def test_a_process_without_baths_cannot_be_booked(ada):
    house = bench()
    plan = house.plan(ada)
    house.process.is_bookable = False
    house.process.save()

    with pytest.raises(NotBookable) as refusal:
        house.book(ada, plan=plan)

    assert "keeps no baths" in refusal.value.message


# Bottles


def test_a_load_that_would_pass_the_capacity_is_refused_with_what_would_go(ada, cyd):
    house = bench(capacity_au_per_l=2)  # eight sheets of 4×5 in the litre
    house.book(ada, sheets=4)

    with pytest.raises(BottleRefused) as refusal:
        house.book(cyd, sheets=8, starts_at=TOMORROW_NOON + timedelta(hours=4))

    assert refusal.value.field == f"bottle_{house.step(Role.DEVELOPER).pk}"
    # The 20 mL that the first four take along leave a litre that bears a little less.
    assert refusal.value.message == (
        "D-1 would be used to 152 % of its capacity. 3 sheets would go."
    )
    assert Session.objects.count() == 1
    assert Allotment.objects.count() == 3


def test_another_bottle_serves_unasked(ada, cyd):
    house = bench(capacity_au_per_l=2)
    house.book(ada, sheets=8)
    for name in ("developer", "stop", "fixer"):
        mixed_batch(getattr(house, name))

    visit = house.book(cyd, sheets=4, starts_at=TOMORROW_NOON + timedelta(hours=4))

    assert {a.batch.code for a in visit.allotments.all()} == {"D-2", "S-2", "F-2"}


def test_of_two_bottles_the_one_with_least_left_is_used_up(ada, cyd):
    house = bench()
    house.book(ada)
    mixed_batch(house.developer)

    visit = house.book(cyd, starts_at=TOMORROW_NOON + timedelta(hours=4))

    assert visit.allotments.get(step__role=Role.DEVELOPER).batch.code == "D-1"


def test_the_bottle_wished_for_is_taken(ada):
    house = bench()
    other = mixed_batch(house.developer)
    step = house.step(Role.DEVELOPER).pk
    plan = house.plan(ada).with_bottles({step: other.pk}, accepts_mixing=False)

    visit = house.book(ada, plan=plan)

    assert visit.allotments.get(step=step).batch == other


def test_a_wish_that_cannot_be_met_names_the_bottle_that_would_serve(ada, cyd):
    house = bench()
    other = mixed_batch(house.developer)
    stop_batch(batch=other, seen="black flakes", key=uuid4(), by=cyd, at=NOW)
    step = house.step(Role.DEVELOPER).pk
    plan = house.plan(ada).with_bottles({step: other.pk}, accepts_mixing=False)

    with pytest.raises(BottleRefused) as refusal:
        house.book(ada, plan=plan)

    assert refusal.value.message == "D-2 is stopped. D-1 would serve."


def test_a_bottle_of_another_kind_is_refused_for_a_step(ada):
    house = bench()
    step = house.step(Role.DEVELOPER).pk
    plan = house.plan(ada).with_bottles({step: house.bottles["fixer"].pk}, accepts_mixing=False)

    with pytest.raises(BottleRefused) as refusal:
        house.book(ada, plan=plan)

    assert "not a bottle for the developer" in refusal.value.message


def test_somebody_elses_private_bottle_is_never_taken(ada, cyd):
    house = bench(with_bottles=False)
    for name in ("stop", "fixer"):
        mixed_batch(getattr(house, name))
    own = mixed_batch(house.developer, owner=cyd)

    with pytest.raises(BottleRefused):
        house.book(ada)
    visit = house.book(cyd)

    assert visit.allotments.get(step__role=Role.DEVELOPER).batch == own


def test_a_wish_for_somebody_elses_private_bottle_is_refused(ada, cyd):
    house = bench()
    own = mixed_batch(house.developer, owner=cyd)
    step = house.step(Role.DEVELOPER).pk
    plan = house.plan(ada).with_bottles({step: own.pk}, accepts_mixing=False)

    with pytest.raises(BottleRefused) as refusal:
        house.book(ada, plan=plan)

    assert refusal.value.message == "D-2 belongs to another member. D-1 would serve."


def test_without_a_bottle_a_session_is_refused_unless_that_is_accepted(ada):
    house = bench(with_bottles=False)

    with pytest.raises(BottleRefused) as refusal:
        house.book(ada)
    plan = house.plan(ada).with_bottles({}, accepts_mixing=True)
    visit = house.book(ada, plan=plan)

    assert refusal.value.message == (
        "There is no bottle for the developer on the shelf. "
        "Or book it with a bottle that is still to be mixed."
    )
    assert [a.batch for a in visit.allotments.all()] == [None, None, None]
    assert {a.way for a in visit.allotments.all()} == {house.developer, house.stop, house.fixer}


def test_two_sessions_at_once_cannot_borrow_more_than_the_bottle_holds(ada, cyd):
    house = bench()
    for kind in (EquipmentKind.BOOTH, EquipmentKind.SINK, EquipmentKind.PEGS):
        EquipmentFactory(kind=kind)
    drum(max_ml=700, min_ml=650)
    house.book(ada)  # 400 mL of the litre are out

    with pytest.raises(BottleRefused) as refusal:
        house.book(cyd, vessel="J-1", own_minutes=Decimal(8))

    assert refusal.value.message.startswith("D-1 has 600 mL to give then, and 650 mL are needed.")
    assert "It would go on Tuesday 3 March at 12:" in refusal.value.message


def test_a_booking_that_would_let_down_an_earlier_one_is_refused(ada, cyd):
    house = bench(capacity_au_per_l=2)
    house.book(ada, sheets=8, starts_at=TOMORROW_NOON + timedelta(hours=4))

    with pytest.raises(BottleRefused) as refusal:
        house.book(cyd, sheets=4)

    assert "A session that is already booked would be let down" in refusal.value.message


def test_a_bottle_out_of_date_by_then_does_not_serve(ada):
    house = bench()
    batch = house.bottles["fixer"]
    batch.good_until = TOMORROW_NOON
    batch.save(update_fields=["good_until"])

    with pytest.raises(BottleRefused) as refusal:
        house.book(ada)

    assert refusal.value.message.startswith("F-1 will be out of date by then.")


def test_a_bottle_not_usable_yet_names_the_start_from_which_it_is(ada):
    house = bench()
    batch = house.bottles["fixer"]
    batch.usable_from = TOMORROW_NOON.replace(hour=15)
    batch.save(update_fields=["usable_from"])

    with pytest.raises(BottleRefused) as refusal:
        house.book(ada)

    assert "It would go on Tuesday 3 March at 14:45." in refusal.value.message


# What the database itself refuses


def hold(visit, equipment, start_min, end_min, **more):
    period = TimestamptzRange(
        visit.starts_at + timedelta(minutes=start_min), visit.starts_at + timedelta(minutes=end_min)
    )
    return Hold(session=visit, equipment=equipment, phase="wet", period=period, **more)


def violated(save):
    with pytest.raises(IntegrityError) as error:
        save()
    return error.value.__cause__.diag.constraint_name


def test_hold_no_overlap(ada):
    house = bench()
    visit = house.book(ada)

    assert violated(hold(visit, house.tank, 5, 12).save) == "hold_no_overlap"


def test_hold_no_overlap_lets_released_and_touching_ones_be(ada):
    house = bench()
    visit = house.book(ada)

    hold(visit, house.tank, 5, 12, released_at=NOW).save()
    hold(visit, house.tank, 43, 50).save()

    assert visit.holds.count() == 9


@pytest.mark.parametrize(
    "period",
    [
        TimestamptzRange(NOW, NOW),
        TimestamptzRange(NOW, None),
        TimestamptzRange(None, NOW),
        TimestamptzRange(NOW, NOW + timedelta(hours=1), "[]"),
    ],
)
def test_hold_period_is_a_span(ada, period):
    house = bench()
    visit = house.book(ada)
    odd = Hold(session=visit, equipment=house.tank, phase="wet", period=period)

    assert violated(odd.save) == "hold_period_is_a_span"


def test_session_starts_before_end(ada):
    visit = bench().book(ada)
    visit.ends_at = visit.starts_at

    assert violated(visit.save) == "session_starts_before_end"


def test_session_load_positive(ada):
    visit = bench().book(ada)
    visit.load_ml = 0

    assert violated(visit.save) == "session_load_positive"


def test_sessionline_sheets_positive(ada):
    line = bench().book(ada).lines.get()
    line.sheets = 0

    assert violated(line.save) == "sessionline_sheets_positive"


def test_sessionline_has_a_time(ada):
    line = bench().book(ada).lines.get()
    line.time_row = None

    assert violated(line.save) == "sessionline_has_a_time"


def test_allotment_sensible(ada):
    promised = bench().book(ada).allotments.first()
    promised.loads = 0

    assert violated(promised.save) == "allotment_sensible"


def test_allotment_period_is_a_span(ada):
    promised = bench().book(ada).allotments.first()
    promised.period = TimestamptzRange(NOW, NOW)

    assert violated(promised.save) == "allotment_period_is_a_span"


def test_allotment_once_a_step(ada):
    promised = bench().book(ada).allotments.first()
    promised.pk = None

    assert violated(promised.save) == "allotment_once_a_step"
