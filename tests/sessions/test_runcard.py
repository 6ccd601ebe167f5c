from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from darkroom.models import HouseRules, Member
from sessions.models import Allotment, Session
from sessions.recording import record_run
from sessions.runcard import TOO_SHORT, RunCard, StepCard, card
from tests.factories.chemistry import replenished_way, stock_way
from tests.sessions.bench import NOW, Bench, bench

pytestmark = pytest.mark.django_db


def shown(visit: Session) -> RunCard:
    return card(visit, at=NOW, rules=HouseRules.current())


def developing(visit: Session) -> list[StepCard]:
    return [load.steps[0] for load in shown(visit).loads]


def says(step: StepCard) -> list[str]:
    return [factor.says for factor in step.factors]


def test_the_steps_stand_in_order_with_bottle_time_and_volume(wet: Bench, ada: Member) -> None:
    load = shown(wet.booked(ada, sheets=4)).next_load

    steps = [(s.bath, s.bottle, s.minutes, s.temp_c, s.volume_ml) for s in load.steps]
    assert steps == [
        ("Develop", wet.developer.code, Decimal(8), Decimal(20), 400),
        ("Rinse", "", Decimal(1), Decimal(20), 400),
        ("Fix", wet.fixer.code, Decimal(5), Decimal(20), 400),
    ]


def test_loads_are_filled_as_planned(wet: Bench, ada: Member) -> None:
    assert [load.load.sheets for load in shown(wet.booked(ada, sheets=9)).loads] == [4, 4, 1]


def test_temperature_is_a_factor_of_its_own(wet: Bench, ada: Member) -> None:
    (step,) = developing(wet.booked(ada, sheets=4, temp_c=Decimal(22)))

    assert Decimal("6.5") < step.minutes < Decimal("7.5")
    assert [text.split(" ")[0] for text in says(step)] == ["8", "×"]
    assert {factor.standing for factor in step.factors} == {"house's own", "computed"}


def test_a_printed_temperature_has_the_printed_time(wet: Bench, ada: Member) -> None:
    (step,) = developing(wet.booked(ada, sheets=4, temp_c=Decimal(24)))

    assert (step.minutes, len(step.factors)) == (Decimal(6), 1)


def test_later_loads_are_timed_for_what_the_bath_has_taken_by_then(wet: Bench, ada: Member) -> None:
    """10 % for every two units in one litre; a load is one unit."""
    minutes = [step.minutes for step in developing(wet.booked(ada, sheets=20))]

    assert minutes == [Decimal(m) for m in ("8", "8", "8.8", "8.8", "9.6")]


def test_only_what_changes_is_told_of_later_loads(wet: Bench, ada: Member) -> None:
    loads = shown(wet.booked(ada, sheets=12)).loads

    changes = [[step.bath for step in load.changes] for load in loads]
    assert changes == [[], [], ["Develop"]]


@pytest.mark.parametrize("way", [replenished_way, stock_way])
def test_other_developers_are_never_timed_for_reuse(ada: Member, way: object) -> None:
    wet = bench(developer=way())

    minutes = {step.minutes for step in developing(wet.booked(ada, sheets=20))}

    assert minutes == {Decimal(8)}


def test_sessions_before_count_as_developed(wet: Bench, ada: Member, cyd: Member) -> None:
    mine = wet.booked(ada, sheets=4)
    Allotment.objects.filter(session=mine).update(area_mm2=8 * wet.size.area_mm2)
    visit = wet_later(wet, cyd)

    (step,) = developing(visit)

    assert (step.minutes, says(step)[1].split(" ")[1]) == (Decimal("8.8"), "1.10")


def wet_later(wet: Bench, member: Member) -> Session:
    return wet.booked(member, sheets=4, starts_at=NOW + timedelta(days=1))


def test_sessions_after_do_not_count(wet: Bench, ada: Member, cyd: Member) -> None:
    wet_later(wet, cyd)
    Allotment.objects.update(area_mm2=40 * wet.size.area_mm2)

    (step,) = developing(wet.booked(ada, sheets=4))

    assert step.minutes == Decimal(8)


def test_under_five_minutes_is_warned_of(wet: Bench, ada: Member) -> None:
    line = {"time_row": None, "own_minutes": Decimal("4.5")}

    (step,) = developing(wet.booked(ada, sheets=4, **line))

    assert (step.minutes, step.caution) == (Decimal("4.5"), TOO_SHORT)


def test_an_own_time_is_taken_as_it_is(wet: Bench, ada: Member) -> None:
    line = {"time_row": None, "own_minutes": Decimal(9)}

    steps = developing(wet.booked(ada, sheets=20, **line))

    assert {step.minutes for step in steps} == {Decimal(9)}
    assert says(steps[0]) == ["Your own time, taken as it is."]


def test_stock_is_drawn_and_diluted(ada: Member) -> None:
    wet = bench(developer=stock_way(draw_n=49))

    (step,) = developing(wet.booked(ada, sheets=4))

    assert step.agitation.startswith("Mix 8 mL of stock with 392 mL of water")


def test_recorded_loads_are_marked_and_the_next_one_comes_first(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada)
    run = record_run(draft=wet.draft(visit=visit), key=uuid4(), by=ada, at=NOW)

    found = shown(visit)

    assert [load.run for load in found.loads] == [run, None]
    assert found.next_load.load.number == 2


def test_what_is_fetched_is_what_is_still_promised(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=4)

    before = [item.bottle.batch for item in shown(visit).fetch]
    record_run(draft=wet.draft(visit=visit), key=uuid4(), by=ada, at=NOW)

    assert (before, shown(visit).fetch) == ([wet.developer, wet.fixer], ())


def test_a_step_without_a_bottle_says_so(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=4)
    Allotment.objects.filter(step=wet.steps[0]).update(batch=None)

    found = shown(visit)

    assert found.next_load.steps[0].bottle == "a bottle still to be mixed"
    assert "steward" in found.fetch[0].says


def test_outside_the_printed_temperatures_there_is_no_time(wet: Bench, ada: Member) -> None:
    (step,) = developing(wet.booked(ada, sheets=4, temp_c=Decimal(27)))

    assert step.minutes is None
