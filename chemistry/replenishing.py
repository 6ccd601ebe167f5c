"""Topping up a replenished bath: what it is owed, what has to leave for it, and the act."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from chemistry import accounts, changes, ledger, wear_cache
from chemistry.accounts import Locked, boundary
from chemistry.checks import check_happened, check_volume, moment, require_may
from chemistry.figures import bath_figures
from chemistry.ledger import Line
from chemistry.models import Account, AccountKind, Batch, MovementKind, Way
from chemistry.placing import Containers, Part
from chemistry.science import replenish
from chemistry.science.wear import UL_PER_L, BathFigures, BathState
from chemistry.units import UL_PER_ML
from chemistry.volumes import ml_text
from darkroom.errors import DomainError
from darkroom.models import Doing, Member
from darkroom.operations import claim_receipt, operation


class CannotReplenish(DomainError):
    """The bath is not replenished, or has reached what it is discarded for.

    A replenisher maintains a bath; it does not revive one.
    """

    code = "cannot_replenish"


class WrongReplenisher(DomainError):
    """The bottle named is not one that this bath may be topped up from."""

    code = "wrong_replenisher"


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What to add. ``owed_ul`` settles the arrears to the microlitre, ``added_ul`` in whole mL."""

    owed_ul: int
    added_ul: int
    bleed_ul: int
    why: str
    refusal: str | None = None


def suggestion(batch: Batch) -> Suggestion:
    """What this bath wants now."""
    state, figures = wear_cache.cached_state(batch), bath_figures(batch.way)
    refusal = why_not(batch, state, figures)
    if refusal is not None or not figures.replenish_ul_per_au:
        unknown = "The recipe names no rate for it: enter the house's own."
        return Suggestion(0, 0, 0, refusal or unknown, refusal)
    owed_ul = replenish.owed_ul(state.arrears_mm2, figures.replenish_ul_per_au)
    added_ul = min(-(-owed_ul // UL_PER_ML) * UL_PER_ML, batch.full_ul)
    bleed_ul = bled_ul(state.volume_ul, added_ul, batch.full_ul)
    if not owed_ul:
        return Suggestion(0, 0, 0, "Nothing is owed.")
    rate = figures.replenish_ul_per_au / UL_PER_ML
    why = f"{ml_text(added_ul)} settle what is owed, at {rate.normalize():f} mL for 80 in²."
    return Suggestion(owed_ul, added_ul, bleed_ul, why)


def why_not(batch: Batch, state: BathState, figures: BathFigures) -> str | None:
    """Why this bath may not be topped up; None if it may."""
    if figures.way != Way.REPLENISHED:
        return f"{batch} is not a replenished bath."
    if batch.discarded_at is not None:
        return f"{batch} was discarded."
    limit = figures.turnover_limit
    if limit is not None and state.turnover >= limit:
        return (
            f"{batch} has taken {limit.normalize():f} bath volumes of replenisher. "
            "Discard it; a replenisher maintains a bath, it does not revive one."
        )
    area = figures.area_limit_mm2_per_l
    if area is not None and state.area_mm2 * UL_PER_L >= area * state.volume_ul > 0:
        return f"{batch} has taken all the area it may. Discard it and mix a new one."
    return None


def bled_ul(volume_ul: int, added_ul: int, full_ul: int) -> int:
    """What leaves first, so that the bath comes to the mark and not beyond."""
    return replenish.bleed_ul(min(volume_ul, full_ul), min(added_ul, full_ul), full_ul)


@operation
def replenish_batch(
    *,
    batch: Batch,
    added_ul: int,
    source: Batch | None = None,
    happened_at: datetime,
    key: UUID,
    by: Member,
    at: datetime,
) -> Batch:
    """Top up a bath from a bottle of replenisher, or fresh from the supply; the bleed leaves first.

    Raises: NotAllowed, NotAVolume, InTheFuture, CannotReplenish, WrongReplenisher, NotEnough,
    TooFull.
    """
    figures = {
        "batch": batch.pk,
        "added_ul": added_ul,
        "source": source and source.pk,
        "happened_at": moment(happened_at, at=at),
    }
    receipt = claim_receipt(by, key, "replenish_batch", figures)
    if receipt.result:
        return Batch.objects.get(pk=receipt.result)
    bottles = [bottle for bottle in (batch, source) if bottle is not None]
    require_may(by, Doing.TOP_UP, at=at, owners=[bottle.owner_id for bottle in bottles])
    check_volume(added_ul, field="added_ml")
    check_happened(happened_at, at=at)
    ids = [bottle.pk for bottle in bottles]
    locked = accounts.lock(batch_ids=ids, streams=[batch.stream])
    lines = _lines(locked, batch, added_ul, source)
    ledger.post(lines, operation=uuid4(), by=by, happened_at=happened_at, at=at, field="added_ml")
    changed = [_bottle(locked, pk) for pk in ids]
    for bottle in changed:
        wear_cache.refresh(bottle)
    changes.tell(ids, at=at)
    receipt.settle(batch.pk)
    return changed[0]


def _lines(locked: Locked, batch: Batch, added_ul: int, source: Batch | None) -> list[Line]:
    bath = locked.batch(batch.pk)
    bottle = _bottle(locked, batch.pk)
    refusal = why_not(bottle, wear_cache.cached_state(bottle), bath_figures(bottle.way))
    if refusal is not None:
        raise CannotReplenish(refusal)
    if added_ul > bottle.full_ul:
        raise ledger.TooFull(
            f"{bottle} holds {ml_text(bottle.full_ul)} to the mark. Add at most that much.",
            field="added_ml",
            most_ul=bottle.full_ul,
        )
    drawn = _source_account(locked, bottle, source, added_ul)
    bleed_ul = bled_ul(bath.balance, added_ul, bottle.full_ul)
    bleed = Containers(locked).take(bottle.stream, [Part(bath, bleed_ul)], MovementKind.BLEED)
    return [*bleed, Line(drawn, bath, added_ul, MovementKind.REPLENISH)]


def _bottle(locked: Locked, batch_id: int) -> Batch:
    bottle = locked.batch(batch_id).batch
    assert bottle is not None
    return bottle


def _source_account(locked: Locked, bath: Batch, source: Batch | None, added_ul: int) -> Account:
    if source is None:
        return boundary(AccountKind.SUPPLY)
    account, bottle = locked.batch(source.pk), _bottle(locked, source.pk)
    wrong = _why_wrong(bath, bottle)
    if wrong is not None:
        raise WrongReplenisher(wrong, field="source")
    if added_ul > account.balance:
        raise ledger.not_enough(account, added_ul, field="added_ml")
    return account


def _why_wrong(bath: Batch, source: Batch) -> str | None:
    own = bath.way.version.recipe
    wanted = bath.way.replenisher or own
    if source.pk == bath.pk or source.way.version.recipe_id != wanted.pk:
        return f"{bath} is topped up with {wanted}, not from {source}."
    if source.discarded_at is not None:
        return f"{source} was discarded. Choose another bottle."
    if source.used_mm2 > 0:
        return f"Film has passed through {source}. Choose a bottle that nothing has passed through."
    if source.stops.filter(released_at__isnull=True).exists():
        return f"{source} is stopped. Choose another bottle."
    return None
