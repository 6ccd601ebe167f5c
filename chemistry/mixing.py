"""Making up a bottle of solution."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

from django.db.models import IntegerField, Max
from django.db.models.functions import Cast, Substr

from chemistry import ledger
from chemistry.accounts import boundary
from chemistry.checks import check_happened, check_volume, moment, require_may
from chemistry.figures import value
from chemistry.models import (
    Account,
    AccountKind,
    Batch,
    FigureName,
    MovementKind,
    Recipe,
    WayOfUse,
)
from chemistry.models.batches import Storage
from chemistry.science.mixing import Dilution, mix
from darkroom.errors import DomainError
from darkroom.models import Doing, Member
from darkroom.operations import claim_receipt, operation

KEEPING = {
    Storage.FULL: FigureName.KEEPING_FULL,
    Storage.PART: FigureName.KEEPING_PART,
    Storage.TANK: FigureName.KEEPING_TANK,
}


class OldVersion(DomainError):
    """The recipe has been rewritten since."""

    code = "old_version"


@dataclass(frozen=True, slots=True)
class Breakdown:
    """What goes together; without a dilution the solution comes from powder or ready made."""

    total_ul: int
    dilution: str
    concentrate_ul: int | None
    water_ul: int | None


def breakdown(way: WayOfUse, volume_ul: int) -> Breakdown:
    """Concentrate and water for a volume; they sum to it exactly."""
    if way.mix_n is None:
        return Breakdown(volume_ul, "", None, None)
    dilution = Dilution(way.mix_n)
    concentrate_ul, water_ul = mix(volume_ul, dilution)
    return Breakdown(volume_ul, str(dilution), concentrate_ul, water_ul)


@operation
def mix_batch(
    *,
    way: WayOfUse,
    volume_ul: int,
    storage: Storage,
    owner: Member | None = None,
    happened_at: datetime,
    key: UUID,
    by: Member,
    at: datetime,
) -> Batch:
    """A new bottle, full to the mark.

    Raises: NotAllowed, NotAVolume, InTheFuture, OldVersion.
    """
    figures = {
        "way": way.pk,
        "volume_ul": volume_ul,
        "storage": storage,
        "owner": owner and owner.pk,
        "happened_at": moment(happened_at, at=at),
    }
    receipt = claim_receipt(by, key, "mix_batch", figures)
    if receipt.result:
        return Batch.objects.get(pk=receipt.result)
    require_may(by, Doing.MIX, at=at, owners=[owner.pk if owner else None])
    check_volume(volume_ul, field="volume_ml")
    check_happened(happened_at, at=at)
    batch = _new_bottle(way, volume_ul, storage, owner, happened_at, by)
    account = Account.objects.create(
        kind=AccountKind.BATCH, stream=batch.stream, batch=batch, capacity=volume_ul
    )
    line = ledger.Line(boundary(AccountKind.SUPPLY), account, volume_ul, MovementKind.MIX)
    ledger.post([line], operation=uuid4(), by=by, happened_at=happened_at, at=at)
    receipt.settle(batch.pk)
    return batch


def _new_bottle(
    way: WayOfUse,
    volume_ul: int,
    storage: Storage,
    owner: Member | None,
    mixed_at: datetime,
    mixed_by: Member,
) -> Batch:
    recipe = way.version.recipe
    letter = _lock_letter(recipe)
    if way.version_id != recipe.latest().pk:
        raise OldVersion("This recipe has been rewritten. Mix its latest version.", field="way")
    return Batch.objects.create(
        code=f"{letter}-{_next_number(letter)}",
        way=way,
        stream=way.version.stream,
        owner=owner,
        full_ul=volume_ul,
        storage=storage,
        mixed_at=mixed_at,
        mixed_by=mixed_by,
        usable_from=mixed_at + _span(hours=value(way, FigureName.USABLE_AFTER)),
        good_until=good_until(way, storage, mixed_at),
    )


def good_until(way: WayOfUse, storage: Storage, mixed_at: datetime) -> datetime | None:
    """When the solution goes out of date, kept so from the start; None where no figure says."""
    days = value(way, KEEPING[storage])
    return None if days is None else mixed_at + _span(days=days)


def _span(*, days: Decimal | None = None, hours: Decimal | None = None) -> timedelta:
    """Exact to the microsecond: a figure has at most four decimals."""
    us = (days or Decimal(0)) * 86_400_000_000 + (hours or Decimal(0)) * 3_600_000_000
    return timedelta(microseconds=int(us))


def _lock_letter(recipe: Recipe) -> str:
    """Several recipes may share a letter; whoever mixes any of them waits here for a number."""
    sharing = Recipe.objects.filter(letter=recipe.letter).order_by("pk")
    list(sharing.select_for_update(no_key=True).values_list("pk", flat=True))
    return recipe.letter


def _next_number(letter: str) -> int:
    numbered = Batch.objects.filter(code__regex=rf"^{letter}-\d+$").annotate(
        number=Cast(Substr("code", len(letter) + 2), IntegerField())
    )
    last: int | None = numbered.aggregate(last=Max("number"))["last"]
    return (last or 0) + 1
