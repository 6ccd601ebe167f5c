"""Pouring a bottle out, all of it or a part."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID, uuid4

from chemistry import accounts, changes, ledger, wear_cache
from chemistry.accounts import Locked, boundary
from chemistry.checks import check_happened, check_volume, moment, require_may
from chemistry.ledger import Line
from chemistry.meeting import check_meeting, classes_of
from chemistry.models import Account, AccountKind, Batch, MovementKind, WasteContainer
from chemistry.waste import receiving_account
from darkroom.errors import DomainError
from darkroom.models import Doing, Member
from darkroom.operations import claim_receipt, operation


class AlreadyDiscarded(DomainError):
    """The bottle was poured out before."""

    code = "already_discarded"
    status = 409


@operation
def pour_out(
    *,
    batch: Batch,
    container: WasteContainer | None,
    volume_ul: int | None = None,
    is_accepted: bool = False,
    happened_at: datetime,
    key: UUID,
    by: Member,
    at: datetime,
) -> Batch:
    """Pour ``volume_ul``, or everything, into a container, or beside them; emptied is discarded.

    ``is_accepted`` says that somebody knows what it gives off with what is in the container.
    Raises: NotAllowed, NotAVolume, InTheFuture, AlreadyDiscarded, NotEnough, TooFull,
    ContainerClosed, WrongStream, DangerousMixture, WarnedMixture.
    """
    figures = {
        "batch": batch.pk,
        "container": container and container.pk,
        "volume_ul": volume_ul,
        "is_accepted": is_accepted,
        "happened_at": moment(happened_at, at=at),
    }
    receipt = claim_receipt(by, key, "pour_out", figures)
    if receipt.result:
        return Batch.objects.get(pk=receipt.result)
    require_may(by, Doing.POUR_OUT, at=at, owners=[batch.owner_id])
    if volume_ul is not None:
        check_volume(volume_ul, field="volume_ml")
    check_happened(happened_at, at=at)
    locked = accounts.lock(
        batch_ids=[batch.pk], container_ids=[container.pk] if container is not None else []
    )
    account = locked.batch(batch.pk)
    bottle = account.batch
    assert bottle is not None
    if bottle.discarded_at is not None and account.balance == 0:
        raise AlreadyDiscarded(f"{bottle} was poured out before.")
    poured_ul = account.balance if volume_ul is None else volume_ul
    if poured_ul > account.balance:
        raise ledger.not_enough(account, poured_ul, field="volume_ml")
    if poured_ul:
        target = _target(locked, container, bottle, poured_ul)
        if container is not None:
            check_meeting(classes_of(bottle), target, is_accepted=is_accepted)
        line = Line(account, target, poured_ul, MovementKind.POUR)
        ledger.post([line], operation=uuid4(), by=by, happened_at=happened_at, at=at)
    if account.balance == 0:
        bottle.discarded_at = happened_at
        bottle.save(update_fields=["discarded_at"])
    wear_cache.refresh(bottle)
    changes.tell([bottle.pk], at=at)
    receipt.settle(bottle.pk)
    return bottle


def _target(
    locked: Locked, container: WasteContainer | None, bottle: Batch, poured_ul: int
) -> Account:
    if container is None:
        return boundary(AccountKind.UNPLACED, stream=bottle.stream)
    return receiving_account(locked, container, bottle.stream, poured_ul)
