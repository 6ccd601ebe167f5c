"""Loads passed and undone as an operation of the bookings does it."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from uuid import UUID, uuid4

from django.db import transaction

from chemistry import accounts
from chemistry.models import Batch, Use
from chemistry.passing import BathPass, pass_load, unpass_load
from chemistry.science.area import AU_MM2
from darkroom.models import Material, Member
from tests.factories.darkroom import NOW, MemberFactory

CARRY_UL = 20_000
HALF_LITRE_UL = 500_000


def bath(batch: Batch | None, *, poured_ul: int = HALF_LITRE_UL, short_ul: int = 0) -> BathPass:
    role = "water" if batch is None else batch.way.version.recipe.role
    return BathPass(role, batch, poured_ul, short_ul)


def passed_load(
    *baths: BathPass,
    units: Decimal | int = 1,
    material: str = Material.FILM,
    carry_ul: int = CARRY_UL,
    by: Member | None = None,
    happened_at: datetime | None = None,
    at: datetime = NOW,
) -> UUID:
    """One load of so many units through these baths; the operation that recorded it."""
    operation = uuid4()
    with transaction.atomic():
        _pass(baths, units, material, carry_ul, operation, by or MemberFactory(), happened_at, at)
    return operation


def _pass(
    baths: tuple[BathPass, ...],
    units: Decimal | int,
    material: str,
    carry_ul: int,
    operation: UUID,
    by: Member,
    happened_at: datetime | None,
    at: datetime,
) -> list[Use | None]:
    bottles = [item.batch for item in baths if item.batch is not None]
    locked = accounts.lock(
        batch_ids=[bottle.pk for bottle in bottles],
        streams=[bottle.stream for bottle in bottles],
    )
    return pass_load(
        baths,
        locked=locked,
        area_mm2=units * AU_MM2,
        material=material,
        carry_ul_per_au=carry_ul,
        operation=operation,
        by=by,
        happened_at=happened_at or at,
        at=at,
    )


def undone_load(recorded: UUID, *, by: Member | None = None, at: datetime = NOW) -> UUID:
    """The load undone; the operation that undid it."""
    operation = uuid4()
    with transaction.atomic():
        locked = accounts.lock(operation=recorded)
        unpass_load(
            recorded,
            locked=locked,
            operation=operation,
            reason="Entered for the wrong bottle.",
            by=by or MemberFactory(),
            at=at,
        )
    return operation
