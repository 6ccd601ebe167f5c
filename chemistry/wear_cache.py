"""The state of a bottle: replayed from its uses and movements, and kept on its row.

Voided uses, reversed movements and their reversals are left out, so that undoing a mistake
restores exactly what was there before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from django.db.models import Q

from chemistry.figures import bath_figures
from chemistry.models import Account, Batch, Movement, MovementKind, Use
from chemistry.science.wear import (
    BathState,
    Event,
    ReplenishEvent,
    UseEvent,
    VolumeEvent,
    replay,
    rounded,
)

FRESH = frozenset({MovementKind.MIX, MovementKind.REPLENISH})
MOST_SHARE = Decimal(999_999)
"""What the row can hold. A bottle with a drop left comes to any wear at all, and is spent long
before."""


def cached_state(batch: Batch) -> BathState:
    """What the row says, with the volume that its account holds."""
    return BathState(
        volume_ul=batch.account.balance,
        wear=batch.wear,
        arrears_mm2=batch.arrears_mm2,
        turnover=batch.turnover,
        area_mm2=batch.used_mm2,
    )


def replay_batch(batch: Batch) -> BathState:
    """The state that follows from everything that happened to the bottle, as it is stored."""
    return _replayed(batch, Account.objects.get(batch=batch))


def _replayed(batch: Batch, account: Account) -> BathState:
    events = [*_uses(batch), *_movements(account)]
    state = replay(events, figures=bath_figures(batch.way), full_ul=batch.full_ul)
    capped = replace(
        state,
        volume_ul=account.balance,
        wear=min(state.wear, MOST_SHARE),
        turnover=min(state.turnover, MOST_SHARE),
    )
    return rounded(capped)


def refresh(batch: Batch) -> BathState:
    """Store the replayed state on the row. The caller holds the lock of the bottle's account."""
    batch.account = Account.objects.get(batch=batch)
    state = _replayed(batch, batch.account)
    batch.wear = state.wear
    batch.arrears_mm2 = state.arrears_mm2
    batch.turnover = state.turnover
    batch.used_mm2 = state.area_mm2
    batch.save(update_fields=["wear", "arrears_mm2", "turnover", "used_mm2"])
    return state


def _uses(batch: Batch) -> Iterator[Event]:
    standing = Use.objects.filter(batch=batch, voids=None, voided_by=None)
    columns = ("happened_at", "entered_at", "pk", "area_mm2", "material")
    for row in standing.order_by().values_list(*columns):
        yield UseEvent(*row)


def _movements(account: Account) -> Iterator[Event]:
    touching = Movement.objects.filter(Q(source=account) | Q(target=account))
    standing = touching.filter(reverses=None, reversed_by=None)
    rows = standing.order_by().values_list(
        "happened_at", "entered_at", "seq", "quantity", "source", "kind"
    )
    for happened_at, entered_at, seq, quantity, source_id, kind in rows:
        moment = (happened_at, entered_at, seq)
        if source_id == account.pk:
            yield VolumeEvent(*moment, -quantity)
            continue
        yield VolumeEvent(*moment, quantity, Decimal(0) if kind in FRESH else None)
        if kind == MovementKind.REPLENISH:
            yield ReplenishEvent(*moment, quantity)
