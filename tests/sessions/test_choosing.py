"""What the page offers beyond one vessel after another: pairs, crowding, steadiness, warm-up."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import IntegrityError

from chemistry.models import Role
from darkroom.models import EquipmentKind, HouseRules
from sessions.booking import NotBookable, book_session
from sessions.loads import planned_loads
from sessions.models import HeatConstant, Hold, Session
from sessions.moving import move_session
from sessions.offers import offer
from tests.factories.chemistry import mixed_batch
from tests.factories.darkroom import NOW, EquipmentFactory, MemberFactory, VesselFactory
from tests.factories.sessions import TOMORROW_NOON, bench, drum

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


def offered(house, member, **changes):
    return offer(house.ask(member, **changes), at=NOW)


def pair_of(house, member, **changes):
    return next(option for option in offered(house, member, **changes).options if option.is_pair)


def booked(house, member, plan, starts_at=TOMORROW_NOON):
    return book_session(plan=plan, starts_at=starts_at, key=uuid4(), by=member, at=NOW)


def twins():
    house = bench()
    VesselFactory(code="T-2")
    return house


# Two vessels


def test_two_vessels_take_turns_and_save_the_loading(ada):
    house = twins()

    pair = pair_of(house, ada, sheets=8)

    alone = 2 * (10 + 23) + 10
    assert (pair.key, pair.split) == ("T-1:inversion+T-2:inversion/4.4", "4; 4")
    assert pair.plan.timeline.attended_min == alone - 10
    assert pair.manner.is_unbeaten


def test_a_pair_stands_behind_single_vessels_unless_time_matters(ada):
    house = twins()

    usual = offered(house, ada, sheets=8).options
    fastest = offered(house, ada, sheets=8, priority="time").options

    assert [option.is_pair for option in usual] == [False, False, True]
    assert [option.is_pair for option in fastest] == [True, False, False]


def test_a_pair_is_booked_with_both_vessels_and_each_load_in_its_own(ada):
    house = twins()

    visit = booked(house, ada, pair_of(house, ada, sheets=8).plan)

    loads = [(load.vessel.code, load.sheets) for load in planned_loads(visit)]
    assert loads == [("T-1", 4), ("T-2", 4)]
    kept = Hold.objects.filter(session=visit, equipment__kind=EquipmentKind.TANK)
    assert {hold.equipment.code for hold in kept} == {"T-1", "T-2"}
    assert {a.loads for a in visit.allotments.all()} == {2}


def test_a_pair_moves_with_both_vessels(ada):
    house = twins()
    visit = booked(house, ada, pair_of(house, ada, sheets=8).plan)
    before = visit.holds.live().count()

    moved = move_session(
        visit=visit, starts_at=TOMORROW_NOON + timedelta(hours=3), key=uuid4(), by=ada, at=NOW
    )

    assert moved.holds.live().count() == before
    assert moved.ends_at - moved.starts_at == timedelta(minutes=2 * 23 + 10 + 10)


def test_the_second_vessel_of_a_pair_is_nobody_elses_meanwhile(ada, cyd):
    house = twins()
    for kind in (EquipmentKind.BOOTH, EquipmentKind.SINK, EquipmentKind.PEGS):
        EquipmentFactory(kind=kind)
    booked(house, ada, pair_of(house, ada, sheets=8).plan)

    starts = house.starts(house.plan(cyd, vessel="T-2"))

    assert TOMORROW_NOON + timedelta(minutes=30) not in starts
    assert TOMORROW_NOON + timedelta(hours=2) in starts


def test_a_pair_is_booked_from_the_page(ada_client):
    house = twins()
    form = {"sheets": 8, "format": house.four_by_five.pk, "film": house.film.pk}
    key = "T-1:inversion+T-2:inversion/4.4"

    page = ada_client.get("/plan/", form | {"option": key}).content.decode()
    start = f"{TOMORROW_NOON:%Y-%m-%dT%H:%MZ}"
    response = ada_client.post(
        "/plan/book/", form | {"option": key, "key": uuid4(), "start": start}
    )

    assert "come with somebody" in page
    assert "Nothing beats this" in page
    assert response.status_code == 303
    assert Session.objects.get().lines.count() == 2


def test_a_pair_that_is_beaten_can_still_be_taken(ada_client, ada):
    house = twins()
    form = {"sheets": 4, "format": house.four_by_five.pk, "film": house.film.pk}
    key = "T-1:inversion+T-2:inversion/2.2"

    listed = ada_client.get("/plan/", form).content.decode()
    found = offer(house.ask(ada, sheets=4), at=NOW, wanted=key)

    assert "2 in T-1 (400 mL), 2 in T-2 (400 mL): 2 loads, 66 minutes." in listed
    assert found.option(key).key == key
    assert not found.option(key).manner.is_unbeaten


def test_more_than_one_vessel_can_take_goes_in_two(ada):
    house = twins()

    found = offered(house, ada, sheets=4 * 24 + 1)

    assert found.options == []
    assert {one.code for one in found.refused} == {"loads"}


# Crowding


def crowded_reel(house):
    vessel = drum("R-1", positions=6, advised=4, max_ml=600)
    return next(
        option
        for option in offered(house, MemberFactory(), sheets=6, own_minutes=Decimal(8)).options
        if option.manner.is_crowded and option.vessel == vessel
    )


def test_crowding_is_offered_last_with_its_risk(ada):
    house = bench()
    drum("R-1", positions=6, advised=4, max_ml=600)

    options = offered(house, ada, sheets=6, own_minutes=Decimal(8)).options

    assert options[-1].key == "R-1:rocking:crowded"
    assert options[-1].crowding.startswith("6 sheets a load in R-1, 2 more than develop evenly")
    alone = [
        option for option in options if option.vessels.startswith("R-1") and not option.is_pair
    ]
    assert [option.plan.loads for option in alone] == [2, 1]


def test_crowding_that_saves_no_load_is_not_offered(ada):
    house = bench()
    drum("R-1", positions=6, advised=4, max_ml=600)

    options = offered(house, ada, sheets=4, own_minutes=Decimal(8)).options

    assert not any(option.manner.is_crowded for option in options)


def test_crowding_needs_a_yes(ada):
    house = bench()
    plan = crowded_reel(house).plan

    with pytest.raises(NotBookable) as refusal:
        booked(house, ada, plan)

    assert refusal.value.field == "accepts_crowding"
    assert refusal.value.message.startswith("4 at once develop evenly in R-1 Rocked drum.")


def test_the_yes_is_given_on_the_page(ada_client):
    house = bench()
    drum("R-1", positions=6, advised=4, max_ml=600)
    start = f"{TOMORROW_NOON:%Y-%m-%dT%H:%MZ}"
    form = {"sheets": 6, "format": house.four_by_five.pk, "film": house.film.pk, "own_minutes": "8"}
    sent = form | {"option": "R-1:rocking:crowded", "start": start}

    without = ada_client.post("/plan/book/", sent | {"key": uuid4()})
    given = ada_client.post("/plan/book/", sent | {"key": uuid4(), "accepts_crowding": "on"})

    assert without.status_code == 422
    assert "accepts_crowding" in without.context["book"].errors
    assert given.status_code == 303
    assert Session.objects.get().sheets_per_load == 6


# Steadiness


def cold_room(room_c="17"):
    HouseRules.objects.update_or_create(pk=1, defaults={"room_c": Decimal(room_c)})


def logged(vessel, agitation, *, tau_min=30, volume_ml=400):
    HeatConstant.objects.create(
        equipment=vessel,
        agitation=agitation,
        volume_ml=volume_ml,
        tau_min=Decimal(tau_min),
        measured_on=date(2026, 2, 1),
    )


def test_a_room_as_warm_as_the_process_moves_nothing(ada):
    (option,) = offered(bench(), ada).options

    assert option.manner.counts.drift_c == 0
    assert option.drifts == ["The room is at 20 °C as well, so it stays there."]


def test_what_was_never_logged_is_not_known(ada):
    house = bench()
    cold_room()

    (option,) = offered(house, ada).options

    assert option.manner.counts.drift_c == float("inf")
    assert "the drift is not known" in option.drifts[0]


def test_a_logged_vessel_says_how_far_it_strays(ada):
    house = bench()
    cold_room()
    logged(house.tank, "inversion")

    (option,) = offered(house, ada).options

    # Newton: 3 °C above the room, 8 minutes at 30: 3 · (1 − e^(−8/30)) = 0.702.
    assert option.manner.counts.drift_c == pytest.approx(0.702, abs=0.001)
    assert option.drifts == ["0.7 °C off at worst, in a room of 17 °C."]


def test_a_constant_of_another_volume_says_nothing(ada):
    house = bench()
    cold_room()
    logged(house.tank, "inversion", volume_ml=1000)

    (option,) = offered(house, ada).options

    assert option.manner.counts.drift_c == float("inf")


def test_the_steadiest_stands_first_when_that_matters(ada):
    house = twins()
    cold_room()
    logged(house.tank, "inversion")

    options = offered(house, ada, priority="steady").options

    assert options[0].vessel == house.tank


def test_the_least_solution_stands_first_when_that_matters(ada):
    house = bench()
    drum()

    options = offered(house, ada, own_minutes=Decimal(8), priority="solution").options

    assert [option.vessel.code for option in options] == ["J-1", "T-1"]
    assert [option.manner.is_unbeaten for option in options] == [True, False]


# Warm-up


def warm_house(*, logs_bath=True):
    house = bench()
    step = house.step(Role.DEVELOPER)
    step.temp_c, step.minutes, step.tolerance_c = Decimal(38), Decimal("3.25"), Decimal("0.5")
    step.save()
    house.tank.holds_temperature = True
    house.tank.save()
    bath = EquipmentFactory(code="H-1", name="Tempering bath", kind=EquipmentKind.BATH)
    if logs_bath:
        logged(bath, "", tau_min=8, volume_ml=1000)
    return house, bath


def test_bottles_are_warmed_within_the_session(ada):
    house, bath = warm_house()

    visit = booked(house, ada, house.plan(ada))

    # 8 min · ln(18 ÷ 0.5) = 28.7, so 29 minutes.
    spans = [(h.phase, h.period.lower, h.period.upper) for h in visit.holds.filter(equipment=bath)]
    warm_end = TOMORROW_NOON + timedelta(minutes=29)
    assert spans[0] == ("warm", TOMORROW_NOON, warm_end)
    assert spans[1][:2] == ("wet", warm_end)
    dark = visit.holds.get(equipment=house.booth)
    assert dark.period.lower == warm_end
    assert visit.allotments.first().period.lower == warm_end + timedelta(minutes=10)


def test_what_is_not_logged_is_said_and_not_planned(ada):
    house, _ = warm_house(logs_bath=False)

    found = offered(house, ada)

    assert "is not logged in this house" in found.warming
    assert not any(need.kind == "bath" for need in found.options[0].plan.timeline.needs)


def test_one_bath_warms_one_session_at_a_time(ada, cyd):
    house, _ = warm_house()
    for kind in (EquipmentKind.BOOTH, EquipmentKind.SINK, EquipmentKind.PEGS):
        EquipmentFactory(kind=kind)
    VesselFactory(code="T-2", holds_temperature=True)
    for name in ("developer", "stop", "fixer"):
        mixed_batch(getattr(house, name))
    booked(house, ada, house.plan(ada, vessel="T-1"))

    starts = house.starts(house.plan(cyd, vessel="T-2"))

    assert TOMORROW_NOON + timedelta(minutes=15) not in starts


def test_a_session_that_warms_moves_with_its_bath(ada):
    house, bath = warm_house()
    visit = booked(house, ada, house.plan(ada))

    moved = move_session(
        visit=visit, starts_at=TOMORROW_NOON + timedelta(hours=3), key=uuid4(), by=ada, at=NOW
    )

    assert [h.phase for h in moved.holds.live().filter(equipment=bath)] == ["warm", "wet"]


# The strip


def test_the_plan_is_drawn_and_told_in_words(ada_client):
    house = bench()
    form = {"sheets": 8, "format": house.four_by_five.pk, "film": house.film.pk}

    page = ada_client.get("/plan/", form).content.decode()

    assert "What would be kept" in page
    assert "<dt>Loading booth</dt>" in page
    assert "Dark, Loading in the dark" in page


def test_a_session_shows_what_is_kept_for_it(ada_client, ada):
    visit = bench().book(ada)

    page = ada_client.get(visit.get_absolute_url()).content.decode()

    assert "12:00–12:10 Dark, Loading in the dark" in page
    assert "<dt>B-1 Booth</dt>" in page


def test_heatconstant_sensible(ada):
    tank = bench().tank

    with pytest.raises(IntegrityError) as error:
        logged(tank, "inversion", tau_min=0)

    assert error.value.__cause__.diag.constraint_name == "heatconstant_sensible"
