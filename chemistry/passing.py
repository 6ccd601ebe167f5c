"""One load through its baths: what it uses up, and what it carries from each to the next.

Not operations: they are called inside one, under its locks. All of it is fact, so that all of it
is posted, whatever the bottles were thought to hold.

1. Every bath but plain water gets a Use with the area of the load.
2. The load carries solution from each bath into the next. What it carries into plain water, or
   out of the last bath, goes into the container of the stream it comes from; from a final rinse it
   dries on the film.
3. What it carries out of plain water is water from the supply.
4. A one-shot bath is made from stock and supply and ends in the container of its stream, with
   what was carried into it, less what is carried out and spilt; both leave it in the proportion in
   which it was mixed.
5. What a member says is missing afterwards is lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from uuid import UUID

from chemistry import changes, ledger, wear_cache
from chemistry.accounts import VESSELS, Locked
from chemistry.ledger import Line
from chemistry.models import (
    Account,
    AccountKind,
    Batch,
    Method,
    Movement,
    MovementKind,
    Role,
    Use,
    Way,
)
from chemistry.placing import Containers, Part, lines_into
from chemistry.science.area import AU_MM2
from chemistry.science.mixing import Dilution, mix
from chemistry.units import whole_half_up
from darkroom.models import Member


@dataclass(frozen=True, slots=True)
class BathPass:
    """One bath in the order of the process; without a bottle it is plain water.

    ``short_ul`` is missing beyond what the load carried along.
    """

    step_role: str
    batch: Batch | None
    poured_ul: int
    short_ul: int = 0


def pass_load(
    passes: Sequence[BathPass],
    *,
    locked: Locked,
    area_mm2: Decimal,
    material: str,
    carry_ul_per_au: int,
    operation: UUID,
    by: Member,
    happened_at: datetime,
    at: datetime,
) -> list[Use | None]:
    """Record the load on every bottle; the uses in order, None for plain water.

    ``locked`` must hold the bottles and the open containers of their streams.
    """
    uses = [
        None
        if bath.batch is None
        else Use(
            batch=bath.batch,
            material=material,
            area_mm2=area_mm2,
            happened_at=happened_at,
            entered_at=at,
            by=by,
            operation=operation,
        )
        for bath in passes
    ]
    Use.objects.bulk_create([use for use in uses if use is not None])
    carry_ul = carried_ul(area_mm2, carry_ul_per_au)
    lines = ledger.settle(load_lines(passes, locked=locked, carry_ul=carry_ul))
    ledger.post(lines, operation=operation, by=by, happened_at=happened_at, at=at)
    _refresh((bath.batch for bath in passes if bath.batch is not None), at=at)
    return uses


def carried_ul(area_mm2: Decimal, carry_ul_per_au: int) -> int:
    """What a load of this area takes along out of a bath."""
    return whole_half_up(area_mm2 * carry_ul_per_au / AU_MM2)


def load_lines(passes: Sequence[BathPass], *, locked: Locked, carry_ul: int) -> list[Line]:
    """All movements of a load, before anything is made good."""
    containers = Containers(locked)
    lines: list[Line] = []
    carried: list[Part] = []
    before: Batch | None = None
    for bath in passes:
        batch = bath.batch
        if batch is None:
            if before is not None:
                lines += containers.take(before.stream, carried, MovementKind.CARRY)
            carried = [Part(locked.boundary(AccountKind.SUPPLY), carry_ul)]
        elif batch.way.way == Way.TO_DRAW:
            lines += _one_shot_lines(bath, batch, carried, carry_ul, containers)
            carried = _portions(bath, batch, carry_ul, locked).carried
        else:
            account = locked.batch(batch.pk)
            lines += lines_into(carried, account, MovementKind.CARRY)
            lost = [Part(account, bath.short_ul)]
            lines += lines_into(lost, locked.boundary(AccountKind.LOSS), MovementKind.SPILL)
            carried = [Part(account, min(carry_ul, bath.poured_ul))]
        before = batch
    if before is None:
        return lines
    if passes[-1].step_role == Role.FINAL_RINSE:
        return lines + lines_into(carried, locked.boundary(AccountKind.LOSS), MovementKind.CARRY)
    return lines + containers.take(before.stream, carried, MovementKind.CARRY)


def unpass_load(
    run_operation: UUID, *, locked: Locked, operation: UUID, reason: str, by: Member, at: datetime
) -> None:
    """Undo all that ``run_operation`` recorded. Always succeeds; what was undone stays undone.

    ``locked`` must hold what that operation touched: ``accounts.lock(operation=run_operation)``.
    """
    uses = list(
        Use.objects.filter(operation=run_operation, voids=None, voided_by=None).select_related(
            "batch__way"
        )
    )
    Use.objects.bulk_create(
        [
            Use(
                batch=use.batch,
                material=use.material,
                area_mm2=use.area_mm2,
                happened_at=use.happened_at,
                entered_at=at,
                by=by,
                operation=operation,
                voids=use,
            )
            for use in uses
        ]
    )
    lines = ledger.settle(_reversals(run_operation, locked, reason))
    # What the undoing lacks was lacking when it happened; with nothing left to undo, any moment.
    happened_at = min((line.reverses.happened_at for line in lines if line.reverses), default=at)
    ledger.post(lines, operation=operation, by=by, happened_at=happened_at, at=at)
    _refresh((use.batch for use in uses), at=at)


def _reversals(run_operation: UUID, locked: Locked, reason: str) -> list[Line]:
    standing = Movement.objects.filter(operation=run_operation, reverses=None, reversed_by=None)
    return [
        Line(
            source=_mine(move.target, locked),
            target=_mine(move.source, locked),
            quantity_ul=move.quantity,
            kind=MovementKind(move.kind),
            method=Method(move.method),
            reason=reason,
            reverses=move,
        )
        for move in standing.select_related("source", "target")
    ]


def _mine(account: Account, locked: Locked) -> Account:
    """The locked account where it is a bottle's or a container's."""
    return locked.account(account.pk) if account.kind in VESSELS else account


@dataclass(frozen=True, slots=True)
class Portions:
    """A one-shot bath by what becomes of it, each in stock and water."""

    carried: list[Part]
    lost: list[Part]
    left: list[Part]


def _portions(bath: BathPass, batch: Batch, carry_ul: int, locked: Locked) -> Portions:
    """Whole µL throughout: each share is what the dilution gives up to there, less what went."""
    dilution = Dilution(batch.way.draw_n or Decimal(0))
    stock, water = locked.batch(batch.pk), locked.boundary(AccountKind.SUPPLY)
    carried_to = min(carry_ul, bath.poured_ul)
    lost_to = min(carried_to + bath.short_ul, bath.poured_ul)
    marks = [mix(to_ul, dilution) for to_ul in (0, carried_to, lost_to, bath.poured_ul)]
    shares = [
        [Part(stock, upper[0] - lower[0]), Part(water, upper[1] - lower[1])]
        for lower, upper in pairwise(marks)
    ]
    return Portions(*shares)


def _one_shot_lines(
    bath: BathPass, batch: Batch, brought: list[Part], carry_ul: int, containers: Containers
) -> list[Line]:
    portions = _portions(bath, batch, carry_ul, containers.locked)
    loss = containers.locked.boundary(AccountKind.LOSS)
    return [
        *containers.take(batch.stream, [*portions.left, *brought], MovementKind.DRAW),
        *lines_into(portions.lost, loss, MovementKind.SPILL),
    ]


def _refresh(batches: Iterable[Batch], *, at: datetime) -> None:
    changed = {batch.pk: batch for batch in batches}
    for batch in changed.values():
        wear_cache.refresh(batch)
    changes.tell(changed, at=at)
