from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from chemistry.models import FigureName, Role, Standing
from darkroom.models import Agitation, EquipmentKind, HouseRules
from sessions import offers
from sessions.cancelling import cancel_session
from sessions.hours import StartRefused
from sessions.offers import NothingFits, free_starts, plan_for
from sessions.pieces import SlotTaken
from tests.factories.chemistry import (
    FigureFactory,
    FilmFactory,
    ProcessFactory,
    TimeRowFactory,
    mixed_batch,
    reused_way,
)
from tests.factories.darkroom import (
    NOW,
    EquipmentFactory,
    FormatFactory,
    VesselAgitationFactory,
    VesselFactory,
    VesselFitFactory,
)
from tests.factories.sessions import (
    TOMORROW_NOON,
    bench,
    drum,
    eight_by_ten,
    printed_times,
    stock_developer,
)

pytestmark = pytest.mark.django_db


def offer(house, member, **changes):
    return offers.offer(house.ask(member, **changes), at=NOW)


def codes(found):
    return {one.vessel.code: one.code for one in found.refused}


def test_an_option_says_how_how_much_how_long_and_when(ada):
    house = bench()

    (option,) = offer(house, ada, sheets=6).options

    assert (option.key, option.split) == ("T-1:inversion", "3 + 3")
    assert (option.plan.loads, option.plan.load_ml) == (2, 400)
    assert option.developing.first.minutes == 8
    assert option.plan.timeline.attended_min == 2 * (10 + 23) + 10
    assert option.starts[0] == NOW + timedelta(minutes=15)


def test_bottles_say_what_is_left_afterwards(ada, cyd):
    house = bench(capacity_au_per_l=5)  # twenty sheets in the litre
    house.book(cyd, sheets=4)

    (option,) = offer(house, ada, sheets=6).options

    left = {choice.bath.name: choice.best.left.sheets for choice in option.baths}
    assert left == {"Developer": 9, "Stop bath": 10, "Fixer": 10}


def test_a_step_without_a_bottle_says_what_to_mix_and_by_when(ada):
    house = bench(with_bottles=False, capacity_au_per_l=2)
    FigureFactory(way=house.fixer, name=FigureName.USABLE_AFTER, value=2, unit="h")

    (option,) = offer(house, ada, sheets=6).options

    mixing = {choice.bath.name: choice.mixing for choice in option.to_mix}
    fixer = next(bath for bath in option.plan.baths if bath.name == "Fixer")
    # Six sheets are 1.5 units; two units wear a litre, so 750 mL are the least.
    assert mixing["Developer"].volume_ul == 750_000
    assert mixing["Fixer"].by == option.starts[0] + timedelta(seconds=fixer.starts_s, hours=-2)


def test_bottles_that_do_not_serve_say_why(ada, cyd):
    house = bench()
    spent = mixed_batch(house.developer, volume_ml=100)

    (option,) = offer(house, ada).options

    assert option.failing == [f"{spent.code} has 100 mL to give then, and 400 mL are needed."]


def test_vessels_that_cannot_take_it_say_why_not_and_what_would_do(ada):
    house = bench()
    drum(max_ml=150, min_ml=100)
    broken = VesselFactory(code="T-2", is_in_service=False)
    weak = stock_developer(draw_n=50)
    FigureFactory(way=weak, name=FigureName.MIN_STOCK, value=15, unit="mL/AU")

    found = offer(house, ada, developer=weak, own_minutes=Decimal(10), format=eight_by_ten())

    said = {one.vessel.code: one.sentence for one in found.refused}
    assert found.options == []
    assert said == {
        "T-1": "It takes no 8×10. It is made for 4×5.",
        "J-1": "One sheet of 8×10 asks for 765 mL of developer; it holds 150 mL. "
        "A stronger solution or a larger vessel would do.",
        broken.code: "It is out of service: Lid cracked.",
    }


def test_a_vessel_without_a_printed_time_names_the_ways_that_have_one(ada):
    house = bench()
    drum()

    found = offer(house, ada)

    assert codes(found) == {"J-1": "no_time"}
    assert "are for inversion, not for this vessel's way" in found.refused[0].sentence


def test_an_own_time_opens_every_vessel_and_is_marked(ada):
    house = bench()
    drum()

    found = offer(house, ada, own_minutes=Decimal("7.5"))

    assert {option.vessel.code for option in found.options} == {"T-1", "J-1"}
    assert all(option.developing.is_own for option in found.options)
    assert found.options[0].plan.lines[0].own_minutes == Decimal("7.5")


def test_a_temperature_between_two_printed_ones_is_reckoned(ada):
    (option,) = offer(bench(), ada, temp_c=Decimal(22)).options

    # 8 min at 20 °C and 6 min at 24 °C: the geometric mean halfway.
    assert option.developing.first.minutes == pytest.approx(Decimal("6.93"), abs=Decimal("0.01"))
    assert option.plan.lines[0].temp_c == 22


@pytest.mark.parametrize("temp_c", [Decimal("19.5"), Decimal("24.5")])
def test_a_temperature_outside_the_printed_ones_is_not(ada, temp_c):
    found = offer(bench(), ada, temp_c=temp_c)

    assert codes(found) == {"T-1": "temperature_range"}
    assert "from 20 to 24 °C" in found.refused[0].sentence


def test_reuse_lengthens_the_time_and_with_it_the_session(ada, cyd):
    house = bench()
    FigureFactory(way=house.developer, name=FigureName.REUSE_STEP_AREA, value=1, unit="AU/L")
    FigureFactory(way=house.developer, name=FigureName.REUSE_STEP_PCT, value=10, unit="%")
    house.book(cyd, sheets=4)

    (option,) = offer(house, ada, sheets=8).options

    assert option.developing.first.minutes == Decimal("8.80")
    assert option.developing.last.minutes == Decimal("9.60")
    assert option.plan.timeline.attended_min == 2 * (10 + 25) + 10


def test_colour_goes_only_where_the_temperature_is_held(ada):
    house = bench()
    house.process.needs_held_temperature = True
    house.process.save()
    heated = VesselFactory(code="H-1", holds_temperature=True)

    found = offer(house, ada)

    assert [option.vessel for option in found.options] == [heated]
    assert codes(found) == {"T-1": "temperature"}


def test_a_process_without_baths_blocks_but_still_shows_the_vessels(ada):
    house = bench()
    house.process.is_bookable = False
    house.process.save()

    found = offer(house, ada)

    assert "keeps no baths" in found.blocker.sentence
    assert len(found.options) == 1
    with pytest.raises(NothingFits):
        plan_for(house.ask(ada), at=NOW)


def test_a_figure_that_the_house_has_not_entered_blocks_a_developer(ada):
    house = bench()
    unknown = stock_developer()
    FigureFactory(
        way=unknown,
        name=FigureName.MIN_STOCK,
        value=None,
        unit="mL/AU",
        standing=Standing.REMEMBERED_LOW,
    )

    found = offer(house, ada, developer=unknown, own_minutes=Decimal(9))

    assert codes(found) == {"T-1": "no_figure"}


def test_a_role_without_a_recipe_blocks(ada):
    house = bench()
    house.steps[2].role = Role.FINAL_RINSE
    house.steps[2].save()

    assert codes(offer(house, ada)) == {"T-1": "no_recipe"}


def test_developers_with_a_bottle_and_a_time_come_first(ada):
    house = bench()
    timed = reused_way(Role.DEVELOPER, mix_n=0)
    printed_times(house.film, timed)
    bottled = reused_way(Role.DEVELOPER, mix_n=0)
    mixed_batch(bottled)

    found = offer(house, ada)

    assert [developer.way for developer in found.developers] == [house.developer, bottled, timed]
    assert found.developer.way == house.developer


def test_more_loads_than_a_session_may_have_are_refused(ada):
    found = offer(bench(), ada, sheets=97)

    assert codes(found) == {"T-1": "loads"}


def test_a_kind_of_agitation_leaves_out_the_other_vessels(ada):
    house = bench()
    drum()

    found = offer(house, ada, agitation=Agitation.ROCKING, own_minutes=Decimal(8))

    assert [option.vessel.code for option in found.options] == ["J-1"]
    assert codes(found) == {"T-1": "agitation"}


def test_a_house_without_a_booth_says_so(ada):
    house = bench()
    house.booth.delete()

    (option,) = offer(house, ada).options

    assert (option.starts, option.missing) == ([], "Loading booth")


def test_plan_for_takes_the_vessel_asked_for(ada):
    house = bench()
    vessel = drum()

    plan = plan_for(house.ask(ada, own_minutes=Decimal(8)), at=NOW, vessel="J-1")

    assert plan.vessel_id == vessel.pk
    with pytest.raises(NothingFits) as refusal:
        plan_for(house.ask(ada), at=NOW, vessel="J-1")
    assert "No printed" in refusal.value.message or "Printed times" in refusal.value.message


# Free starts


def test_free_starts_leave_out_what_is_kept(ada, cyd):
    house = bench()
    house.book(cyd)
    plan = house.plan(ada)

    starts = [at for at in free_starts(plan, at=NOW) if at.date() == TOMORROW_NOON.date()]

    # Until 43 minutes before, the vessel is in the way; until 60 after, the peg row.
    before, after = TOMORROW_NOON - timedelta(minutes=60), TOMORROW_NOON + timedelta(minutes=60)
    assert [
        at for at in starts if before - timedelta(hours=1) < at < after + timedelta(hours=1)
    ] == [
        *(before + timedelta(minutes=m) for m in (-45, -30, -15, 0)),
        *(after + timedelta(minutes=m) for m in (0, 15, 30, 45)),
    ]


def test_every_free_start_can_be_booked_and_no_other_on_the_grid(ada, cyd):
    house = bench()
    EquipmentFactory(kind=EquipmentKind.PEGS)
    for hour in (0, 2, 5):
        house.book(cyd, starts_at=TOMORROW_NOON + timedelta(hours=hour))
    plan = house.plan(ada)
    free = {at for at in free_starts(plan, at=NOW) if at.date() == TOMORROW_NOON.date()}
    midnight = TOMORROW_NOON.replace(hour=0)

    bookable = set()
    for start in (midnight + timedelta(minutes=15 * n) for n in range(96)):
        try:
            visit = house.book(ada, plan=plan, starts_at=start)
        except (SlotTaken, StartRefused):
            continue
        bookable.add(start)
        cancel_session(visit=visit, key=uuid4(), by=ada, at=NOW)
    assert bookable == free


def test_free_starts_end_with_the_days_that_can_be_booked(ada):
    house = bench()
    plan = house.plan(ada)
    last = (NOW + timedelta(days=28)).date()

    starts = free_starts(plan, at=NOW, first=last)

    assert {at.date() for at in starts} == {last}
    assert free_starts(plan, at=NOW, first=last + timedelta(days=1)) == []


def test_an_offer_asks_as_much_of_the_database_however_much_there_is(ada):
    house = bench()
    HouseRules.current()
    with CaptureQueriesContext(connection) as few:
        offer(house, ada)
    for n in range(10):
        vessel = VesselFactory(code=f"V-{n}")
        VesselFitFactory(equipment=vessel, format=eight_by_ten())
        VesselAgitationFactory(equipment=vessel, agitation=Agitation.ROTARY)
        EquipmentFactory(kind=EquipmentKind.SINK)
        for name in ("developer", "stop", "fixer"):
            mixed_batch(getattr(house, name))
        mixed_batch(reused_way(Role.DEVELOPER))
        TimeRowFactory(film=house.film, developer=house.row.developer, source=f"Table {n}")
        FilmFactory(process=ProcessFactory())
        FormatFactory(name=f"Size {n}")
        house.book(ada, starts_at=TOMORROW_NOON + timedelta(days=n))
    with CaptureQueriesContext(connection) as many:
        found = offer(house, ada)

    assert len(found.options) == 11
    assert (len(few), len(many)) == (18, 18)
