"""Topping up a bath: what it is owed, what leaves for it, what is refused."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from chemistry import changes
from chemistry.checks import InTheFuture, NotAVolume
from chemistry.ledger import NotEnough, TooFull
from chemistry.models import Account, Movement, Role, Stream, Way
from chemistry.replenishing import (
    CannotReplenish,
    Suggestion,
    WrongReplenisher,
    replenish_batch,
    suggestion,
)
from chemistry.science.area import AU_MM2
from chemistry.stopping import stop_batch
from darkroom.errors import NotAllowed
from tests.chemistry.loads import bath, passed_load
from tests.factories.chemistry import (
    FigureFactory,
    WayOfUseFactory,
    mixed_batch,
    opened_container,
    replenished_way,
    reused_way,
)
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def tank():
    return mixed_batch(replenished_way(ml_per_au=70))


def top_up(batch, ben, added_ml=70, **changes):
    figures = {"source": None, "happened_at": NOW, "key": uuid4(), "by": ben, "at": NOW}
    return replenish_batch(batch=batch, added_ul=added_ml * 1000, **(figures | changes))


def moved():
    return [
        (str(move.source), str(move.target), move.quantity, move.kind)
        for move in Movement.objects.exclude(kind__in=["mix", "carry"])
    ]


def replenisher_for(tank, **options):
    """A bottle of the replenisher that this bath names."""
    way = WayOfUseFactory(version__recipe__role=Role.REPLENISHER, way=Way.TO_DRAW, draw_n=0)
    tank.way.replenisher = way.version.recipe
    tank.way.save()
    return mixed_batch(way, **options)


def test_suggestion_settles_what_is_owed(tank):
    passed_load(bath(tank), units=Decimal("1.25"), carry_ul=20_000)

    assert suggestion(tank) == Suggestion(
        owed_ul=87_500,
        added_ul=88_000,
        bleed_ul=63_000,
        why="88 mL settle what is owed, at 70 mL for 80 in².",
    )


def test_bath_that_owes_nothing_wants_nothing(tank):
    assert suggestion(tank) == Suggestion(0, 0, 0, "Nothing is owed.")


def test_bath_that_wears_is_not_replenished():
    fixer = mixed_batch()

    assert suggestion(fixer).refusal == "F-1 is not a replenished bath."


def test_suggested_amount_settles_the_arrears(tank, ben):
    passed_load(bath(tank), units=Decimal("1.25"))
    tank = top_up(tank, ben, suggestion(tank).added_ul // 1000)

    assert (tank.arrears_mm2, tank.turnover) == (0, Decimal("0.088"))
    assert suggestion(tank).owed_ul == 0


def test_bleed_leaves_first_into_a_container_with_room(tank, ben):
    opened_container(Stream.DEVELOPER, code="W-D")
    passed_load(bath(tank), units=1, carry_ul=20_000)
    top_up(tank, ben, 70)

    assert moved() == [
        ("D-1", "W-D", 50_000, "bleed"),
        ("Supply", "D-1", 70_000, "replenish"),
    ]


def test_bleed_without_a_container_is_unplaced(tank, ben):
    top_up(tank, ben, 70)

    assert moved()[0] == ("D-1", "Poured, not yet in a container", 70_000, "bleed")


def test_replenisher_comes_from_its_bottle(tank, ben):
    bottle = replenisher_for(tank)
    top_up(tank, ben, 70, source=bottle)

    assert moved()[-1] == ("R-1", "D-1", 70_000, "replenish")
    assert Account.objects.get(batch=bottle).balance == 930_000


def test_change_is_told_of_both_bottles(tank, ben, monkeypatch):
    told = []
    bottle = replenisher_for(tank)
    monkeypatch.setattr(changes, "_callbacks", [lambda ids, *, at: told.append(ids)])
    top_up(tank, ben, source=bottle)

    assert told == [[tank.pk, bottle.pk]]


def test_more_than_the_bottle_holds_is_refused(tank, ben):
    bottle = replenisher_for(tank, volume_ml=50)

    with pytest.raises(NotEnough) as info:
        top_up(tank, ben, 70, source=bottle)
    assert (info.value.code, info.value.field) == ("not_enough", "added_ml")
    assert info.value.facts == {"most_ul": 50_000}


def test_more_than_the_bath_holds_is_refused(tank, ben):
    with pytest.raises(TooFull) as info:
        top_up(tank, ben, 1001)
    assert (info.value.code, info.value.field) == ("too_full", "added_ml")
    assert info.value.facts == {"most_ul": 1_000_000}


def test_wrong_bottle_is_refused(tank, ben):
    with pytest.raises(WrongReplenisher) as info:
        top_up(tank, ben, source=mixed_batch())
    assert (info.value.code, info.value.field) == ("wrong_replenisher", "source")


def test_bottle_that_film_has_passed_through_is_no_replenisher(tank, ben):
    bottle = replenisher_for(tank)
    passed_load(bath(bottle))

    with pytest.raises(WrongReplenisher, match="Film has passed"):
        top_up(tank, ben, source=bottle)


def test_stopped_bottle_is_no_replenisher(tank, ben):
    bottle = replenisher_for(tank)
    stop_batch(batch=bottle, seen="Cloudy", key=uuid4(), by=ben, at=NOW)

    with pytest.raises(WrongReplenisher, match="stopped"):
        top_up(tank, ben, source=bottle)


def test_bath_past_its_turnover_is_not_revived(ben):
    tank = mixed_batch(replenished_way(turnover=Decimal("0.1")))
    tank = top_up(tank, ben, 100)

    with pytest.raises(CannotReplenish) as info:
        top_up(tank, ben, 1)
    assert info.value.code == "cannot_replenish"
    assert suggestion(tank).refusal == info.value.message


def test_bath_past_its_area_is_not_revived(ben):
    tank = mixed_batch(replenished_way(area_au_per_l=2))
    passed_load(bath(tank), units=2, carry_ul=0)

    with pytest.raises(CannotReplenish):
        top_up(tank, ben, 70)


def test_bath_that_wears_takes_no_replenisher(ben):
    with pytest.raises(CannotReplenish):
        top_up(mixed_batch(reused_way()), ben)


@pytest.mark.parametrize(
    ("change", "refusal", "field"),
    [
        ({"added_ml": 0}, NotAVolume, "added_ml"),
        ({"happened_at": NOW + timedelta(seconds=1)}, InTheFuture, "happened_at"),
    ],
)
def test_bad_figures_are_refused_beside_their_field(tank, ben, change, refusal, field):
    with pytest.raises(refusal) as info:
        top_up(tank, ben, **change)
    assert info.value.field == field


@pytest.mark.parametrize("role", ["ada", "aud"])
def test_only_a_steward_replenishes(request, tank, role):
    with pytest.raises(NotAllowed):
        top_up(tank, request.getfixturevalue(role))


def test_form_sent_twice_is_done_once(tank, ben):
    key = uuid4()
    passed_load(bath(tank), units=2)
    first, second = (top_up(tank, ben, key=key) for _ in range(2))

    assert first.arrears_mm2 == second.arrears_mm2 == AU_MM2


def test_of_rates_by_material_the_largest_counts(ben):
    way = replenished_way(ml_per_au=70)
    FigureFactory(way=way, name="replenish", material="tabular", value=100)
    tank = mixed_batch(way)
    passed_load(bath(tank), units=1)

    assert suggestion(tank).owed_ul == 100_000
