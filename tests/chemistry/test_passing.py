"""One load through its baths: what moves where, what wears, and how it is undone."""

from datetime import timedelta
from decimal import Decimal

import pytest

from chemistry import accounts, changes
from chemistry.accounts import boundary
from chemistry.models import Account, AccountKind, Movement, MovementKind, Role, Stream, Use
from chemistry.passing import BathPass
from chemistry.science.area import AU_MM2
from chemistry.wear_cache import cached_state, replay_batch
from tests.chemistry.loads import bath, passed_load, undone_load
from tests.factories.chemistry import (
    mixed_batch,
    opened_container,
    replenished_way,
    reused_way,
    stock_way,
)
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db


def moved(operation):
    """Where how much went in an operation, by what the accounts are called."""
    return [
        (str(move.source), str(move.target), move.quantity, move.kind)
        for move in Movement.objects.filter(operation=operation)
    ]


@pytest.fixture
def line_of_baths():
    roles = (Role.DEVELOPER, Role.STOP, Role.FIXER, Role.WASH_AID)
    return [mixed_batch(reused_way(role)) for role in roles]


def test_load_carries_solution_from_bath_to_bath(line_of_baths):
    opened_container(Stream.FIXER, code="W-F")
    developer, stop, fixer, wash_aid = (bath(bottle) for bottle in line_of_baths)

    operation = passed_load(
        bath(None), developer, stop, fixer, bath(None), wash_aid, bath(None), units=2
    )

    assert moved(operation) == [
        ("Supply", "D-1", 40_000, "carry"),
        ("D-1", "S-1", 40_000, "carry"),
        ("S-1", "F-1", 40_000, "carry"),
        ("F-1", "W-F", 40_000, "carry"),
        ("Supply", "H-1", 40_000, "carry"),
        ("H-1", "Poured, not yet in a container", 40_000, "carry"),
    ]


def test_dry_film_takes_up_solution_from_the_first_bath():
    fixer = mixed_batch()
    passed_load(bath(fixer), bath(None))

    assert Account.objects.get(batch=fixer).balance == 980_000


def test_every_bottle_gets_its_use_and_water_none(line_of_baths):
    operation = passed_load(bath(None), *map(bath, line_of_baths), units=Decimal("0.25"))

    uses = Use.objects.filter(operation=operation)
    assert [use.batch for use in uses] == line_of_baths
    assert {use.area_mm2 for use in uses} == {AU_MM2 / 4}


def test_wear_is_the_share_of_the_capacity_of_what_was_in_the_bottle():
    fixer = mixed_batch(reused_way(au_per_l=20))
    passed_load(bath(fixer), carry_ul=0)

    assert (fixer.wear, fixer.used_mm2) == (Decimal("0.05"), AU_MM2)


def test_replenished_bath_falls_into_arrears():
    tank = mixed_batch(replenished_way())
    passed_load(bath(tank), units=3, carry_ul=0)

    assert (tank.wear, tank.arrears_mm2) == (0, 3 * AU_MM2)


def test_one_shot_ends_in_its_container_less_what_the_film_takes_along():
    stock, fixer = mixed_batch(stock_way(draw_n=4)), mixed_batch()
    opened_container(Stream.DEVELOPER, code="W-D")

    operation = passed_load(bath(None), bath(stock, short_ul=5_000), bath(fixer), bath(None))

    assert moved(operation) == [
        ("D-1", "W-D", 95_000, "draw"),
        ("Supply", "W-D", 380_000, "draw"),
        ("Supply", "W-D", 20_000, "draw"),
        ("D-1", "Loss", 1_000, "spill"),
        ("Supply", "Loss", 4_000, "spill"),
        ("D-1", "F-1", 4_000, "carry"),
        ("Supply", "F-1", 16_000, "carry"),
        ("F-1", "Poured, not yet in a container", 20_000, "carry"),
    ]


def test_one_shot_wears_nothing_but_keeps_its_area():
    stock = mixed_batch(stock_way())
    passed_load(bath(stock))

    assert (stock.wear, stock.arrears_mm2, stock.used_mm2) == (0, 0, AU_MM2)


@pytest.mark.parametrize(("poured_ul", "short_ul", "carry_ul"), [(7, 3, 2), (1, 9, 9), (103, 1, 0)])
def test_one_shot_shares_sum_to_what_was_poured(poured_ul, short_ul, carry_ul):
    stock = mixed_batch(stock_way(draw_n=50))
    operation = passed_load(bath(stock, poured_ul=poured_ul, short_ul=short_ul), carry_ul=carry_ul)

    assert sum(quantity for _, _, quantity, _ in moved(operation)) == poured_ul


def test_what_a_final_rinse_leaves_on_the_film_dries():
    rinse = mixed_batch(reused_way(Role.WASH_AID))
    operation = passed_load(BathPass(Role.FINAL_RINSE, rinse, 500_000))

    assert moved(operation) == [("H-1", "Loss", 20_000, "carry")]


def test_what_is_missing_is_lost():
    fixer = mixed_batch()
    operation = passed_load(bath(fixer, short_ul=50_000), carry_ul=0)

    assert moved(operation) == [("F-1", "Loss", 50_000, "spill")]


def test_bottle_that_holds_too_little_is_made_good():
    fixer = mixed_batch(volume_ml=10)
    operation = passed_load(bath(fixer))

    assert moved(operation)[-1] == ("Unexplained", "F-1", 10_000, "shortfall")
    assert Account.objects.get(batch=fixer).balance == 0


def test_containers_are_filled_to_their_limit_and_no_further():
    stock = mixed_batch(stock_way())
    opened_container(Stream.DEVELOPER, code="W-1", capacity_ml=500, fill_limit_pct=90)
    opened_container(Stream.DEVELOPER, code="W-2", capacity_ml=1_000, fill_limit_pct=100)

    first = passed_load(bath(stock), bath(stock), carry_ul=0)
    third = passed_load(bath(stock), carry_ul=0)

    assert {target for _, target, _, _ in moved(first)} == {"W-2"}
    assert {target for _, target, _, _ in moved(third)} == {"Poured, not yet in a container"}


def test_recording_is_never_refused_for_what_a_bottle_has_become():
    fixer = mixed_batch(volume_ml=1)
    for _ in range(3):
        passed_load(bath(fixer, short_ul=900_000), units=40_000)

    assert fixer.wear == 999_999
    assert cached_state(fixer) == replay_batch(fixer)


def test_undoing_brings_back_wear_and_volume_exactly():
    fixer, stock = mixed_batch(), mixed_batch(stock_way())
    passed_load(bath(stock), bath(fixer), units=3)
    before = [cached_state(bottle) for bottle in (fixer, stock)]

    undone_load(passed_load(bath(stock, short_ul=8), bath(fixer, short_ul=9), units=2))

    for bottle in (fixer, stock):
        bottle.refresh_from_db()
    assert [cached_state(bottle) for bottle in (fixer, stock)] == before


def test_undoing_swaps_every_entry_once_when_it_happened():
    fixer = mixed_batch()
    recorded = passed_load(bath(fixer, short_ul=7), happened_at=NOW - timedelta(hours=3))
    undone = undone_load(recorded)

    backwards = [(to, source, quantity, kind) for source, to, quantity, kind in moved(recorded)]
    assert moved(undone) == backwards
    assert {move.happened_at for move in Movement.objects.filter(operation=undone)} == {
        NOW - timedelta(hours=3)
    }


def test_undoing_twice_changes_nothing_more():
    recorded = passed_load(bath(mixed_batch()))
    undone_load(recorded)

    assert moved(undone_load(recorded)) == []
    assert Use.objects.filter(voids__isnull=False).count() == 1


def test_undoing_succeeds_when_the_container_was_emptied_since(ben):
    stock = mixed_batch(stock_way())
    can = opened_container(Stream.DEVELOPER).account
    recorded = passed_load(bath(stock), carry_ul=0)
    empty(can, by=ben)

    undone = undone_load(recorded)

    can.refresh_from_db()
    assert can.balance == 0
    assert moved(undone)[-1] == ("Unexplained", "W-1", 500_000, "shortfall")


def test_undoing_succeeds_when_the_bottle_was_filled_since(ben):
    fixer = mixed_batch()
    recorded = passed_load(bath(fixer, short_ul=100_000), carry_ul=0)
    fill(Account.objects.get(batch=fixer), 100_000, by=ben)

    undone = undone_load(recorded)

    assert Account.objects.get(batch=fixer).balance == 1_000_000
    assert moved(undone)[-1] == ("F-1", "Unexplained", 100_000, "shortfall")


def test_load_can_be_entered_days_late():
    fixer = mixed_batch(at=NOW - timedelta(days=9))
    passed_load(bath(fixer, short_ul=500_000), carry_ul=0)
    passed_load(bath(fixer), happened_at=NOW - timedelta(days=5), carry_ul=0)

    assert fixer.wear == Decimal("0.1")
    assert cached_state(fixer).volume_ul == 500_000


def test_change_is_told_once_with_every_bottle(line_of_baths, monkeypatch):
    told = []
    monkeypatch.setattr(changes, "_callbacks", [lambda ids, *, at: told.append((ids, at))])
    recorded = passed_load(*map(bath, line_of_baths))
    undone_load(recorded)

    assert told == [(sorted(bottle.pk for bottle in line_of_baths), NOW)] * 2


def test_asking_for_what_was_not_locked_is_a_bug():
    fixer, other = mixed_batch(), mixed_batch()
    locked = accounts.lock(batch_ids=[fixer.pk], streams=["stop"])

    with pytest.raises(LookupError):
        locked.batch(other.pk)
    with pytest.raises(LookupError):
        locked.containers("fixer")


def empty(can, *, by):
    move(can, boundary(AccountKind.CARRIER), 500_000, MovementKind.HANDOVER, by)


def fill(account, quantity_ul, *, by):
    move(boundary(AccountKind.SUPPLY), account, quantity_ul, MovementKind.CORRECT, by)


def move(source, target, quantity_ul, kind, by):
    Movement.objects.create(
        operation="00000000-0000-4000-8000-000000000000",
        happened_at=NOW,
        entered_at=NOW,
        source=source,
        target=target,
        quantity=quantity_ul,
        method="measured",
        kind=kind,
        by=by,
    )
