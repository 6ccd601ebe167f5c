"""A month of a small house, told by the operations, down to the last microlitre."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from chemistry import audit
from chemistry.conditions import verdict
from chemistry.discarding import pour_out
from chemistry.models import Account, Batch, Role, Stream
from chemistry.replenishing import replenish_batch, suggestion
from chemistry.stopping import release_batch, stop_batch
from chemistry.verify import balances, chain, wear
from chemistry.waste import hand_over, place_unplaced
from chemistry.wear_cache import cached_state
from darkroom.models import HouseRules
from tests.chemistry.loads import bath, passed_load, undone_load
from tests.factories.chemistry import mixed_batch, opened_container, replenished_way, reused_way
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db
FIRST = NOW - timedelta(days=30)


def sent(by, day):
    at = FIRST + timedelta(days=day)
    return {"key": uuid4(), "by": by, "at": at}


def happened(by, day):
    return sent(by, day) | {"happened_at": FIRST + timedelta(days=day)}


def state(batch):
    return cached_state(Batch.objects.select_related("account").get(pk=batch.pk))


def condition(batch, day):
    found = Batch.objects.for_verdict().get(pk=batch.pk)
    return verdict(found, at=FIRST + timedelta(days=day), rules=HouseRules.current()).condition


def closing(day):
    found = audit.report(since=FIRST - timedelta(1), until=FIRST + timedelta(days=day))
    assert found.is_balanced
    return {line.stream: line for line in found.lines}


def test_a_month(ada, ben):
    tank = mixed_batch(replenished_way(), volume_ml=2_000, by=ben, at=FIRST)
    fixer = mixed_batch(reused_way(Role.FIXER, au_per_l=10), volume_ml=1_000, by=ben, at=FIRST)
    opened_container(Stream.FIXER, capacity_ml=1_000, code="W-F", by=ben, at=FIRST)

    evenings = [
        passed_load(
            bath(None), bath(tank), bath(fixer), bath(None), by=ada, at=FIRST + timedelta(days=day)
        )
        for day in range(1, 9)
    ]
    assert (state(fixer).wear, condition(fixer, 9)) == (Decimal("0.8"), "low")
    assert condition(tank, 9) == "owed"

    wrong = evenings[3]
    undone_load(wrong, by=ben, at=FIRST + timedelta(days=9))
    assert (state(fixer).wear, condition(fixer, 9)) == (Decimal("0.7"), "fresh")

    wants = suggestion(Batch.objects.select_related("account").get(pk=tank.pk))
    assert (wants.owed_ul, wants.bleed_ul) == (490_000, 490_000)
    replenish_batch(batch=tank, added_ul=wants.added_ul, source=None, **happened(ben, 10))
    assert (state(tank).arrears_mm2, state(tank).volume_ul) == (0, 2_000_000)

    stop_batch(batch=fixer, seen="Film did not clear", **sent(ada, 11))
    assert condition(fixer, 11) == "stopped"
    release_batch(batch=fixer, reason="Clears in 40 s", **sent(ben, 12))

    pour_out(batch=fixer, container=None, **happened(ben, 13))
    can = Account.objects.get(container__code="W-F").container
    place_unplaced(container=can, stream="fixer", volume_ul=700_000, **happened(ben, 14))
    hand_over(
        containers=[can],
        carrier="A carrier",
        document="N-17",
        quantities_ul={can.pk: 850_000},
        **happened(ben, 15),
    )

    fixed, developed = closing(16)["fixer"], closing(16)["developer"]
    assert (fixed.in_ul, fixed.unexplained_ul) == (1_140_000, 10_000)
    assert (fixed.out_ul, fixed.loss_ul, fixed.closing_ul) == (850_000, 0, 300_000)
    assert (developed.in_ul, developed.out_ul) == (2_630_000, 140_000)
    assert developed.closing_ul == 2_490_000
    assert [*chain(), *balances(), *wear()] == []
