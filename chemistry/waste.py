"""Containers for used solution: opened, filled with what stood beside them, handed over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from uuid import UUID, uuid4

from chemistry import accounts, ledger
from chemistry.accounts import Locked, boundary
from chemistry.checks import (
    check_happened,
    check_volume,
    checked_words,
    moment,
    require_steward,
)
from chemistry.ledger import Line
from chemistry.meeting import check_meeting, classes_waiting
from chemistry.models import (
    Account,
    AccountKind,
    Consignment,
    Method,
    MovementKind,
    Stream,
    WasteContainer,
)
from chemistry.volumes import ml_text
from darkroom.errors import DomainError, translate_integrity
from darkroom.models import Member
from darkroom.operations import claim_receipt, operation


class CodeTaken(DomainError):
    """Another container bears this code."""

    code = "code_taken"


class NotALimit(DomainError):
    """A fill limit is a share of the container."""

    code = "not_a_limit"


class ContainerClosed(DomainError):
    """The container has left the house."""

    code = "container_closed"


class WrongStream(DomainError):
    """The container is for another kind of waste."""

    code = "wrong_stream"


class NothingToHandOver(DomainError):
    """No container was chosen, or there is nothing in one of them."""

    code = "nothing_to_hand_over"


@operation
def open_container(
    *,
    code: str,
    stream: Stream | str,
    capacity_ul: int,
    fill_limit_pct: int,
    happened_at: datetime,
    key: UUID,
    by: Member,
    at: datetime,
) -> WasteContainer:
    """An empty container for one stream.

    Raises: NotAllowed, CodeTaken, NotAVolume, NotALimit, WordsWanted, InTheFuture.
    """
    require_steward(by)
    figures = {
        "code": code,
        "stream": stream,
        "capacity_ul": capacity_ul,
        "fill_limit_pct": fill_limit_pct,
        "happened_at": moment(happened_at, at=at),
    }
    receipt = claim_receipt(by, key, "open_container", figures)
    if receipt.result:
        return WasteContainer.objects.get(pk=receipt.result)
    check_happened(happened_at, at=at)
    check_volume(capacity_ul, field="capacity_ml")
    if not 1 <= fill_limit_pct <= 100:
        raise NotALimit("Write a share from 1 to 100 percent.", field="fill_limit_pct")
    code = checked_words(code, most=12, field="code", missing="Write the code on the container.")
    taken = CodeTaken(f"Another container is called {code}. Choose another code.", field="code")
    with translate_integrity({"chemistry_wastecontainer_code_key": taken}):
        container = WasteContainer.objects.create(
            code=code,
            stream=stream,
            capacity_ul=capacity_ul,
            fill_limit_pct=fill_limit_pct,
            opened_at=happened_at,
        )
    Account.objects.create(
        kind=AccountKind.CONTAINER, stream=stream, container=container, capacity=capacity_ul
    )
    receipt.settle(container.pk)
    return container


@operation
def place_unplaced(
    *,
    container: WasteContainer,
    stream: Stream | str,
    volume_ul: int,
    is_accepted: bool = False,
    happened_at: datetime,
    key: UUID,
    by: Member,
    at: datetime,
) -> WasteContainer:
    """Put into a container what was poured while none had room.

    ``is_accepted`` says that somebody knows what it gives off with what is in the container.
    Raises: NotAllowed, NotAVolume, InTheFuture, ContainerClosed, WrongStream, NotEnough, TooFull,
    DangerousMixture, WarnedMixture.
    """
    require_steward(by)
    figures = {
        "container": container.pk,
        "stream": stream,
        "volume_ul": volume_ul,
        "is_accepted": is_accepted,
        "happened_at": moment(happened_at, at=at),
    }
    receipt = claim_receipt(by, key, "place_unplaced", figures)
    if receipt.result:
        return WasteContainer.objects.get(pk=receipt.result)
    check_happened(happened_at, at=at)
    check_volume(volume_ul, field="volume_ml")
    locked = accounts.lock(container_ids=[container.pk])
    target = receiving_account(locked, container, stream, volume_ul, field="volume_ml")
    ledger.lock_head()
    unplaced = boundary(AccountKind.UNPLACED, stream=stream)
    if volume_ul > unplaced.balance:
        raise ledger.not_enough(unplaced, volume_ul, field="volume_ml")
    check_meeting(classes_waiting(stream), target, is_accepted=is_accepted)
    line = Line(unplaced, target, volume_ul, MovementKind.POUR)
    ledger.post([line], operation=uuid4(), by=by, happened_at=happened_at, at=at)
    receipt.settle(container.pk)
    return container


def receiving_account(
    locked: Locked,
    container: WasteContainer,
    stream: Stream | str,
    volume_ul: int,
    *,
    field: str = "container",
) -> Account:
    """The container's account, if it is open, of the stream, and has room below its limit.

    Raises: ContainerClosed, WrongStream, TooFull.
    """
    account = _container_account(locked, container)
    current = account.container
    assert current is not None
    if current.consignment_id is not None:
        raise ContainerClosed(
            f"{current} has been handed over. Choose another container.", field="container"
        )
    if current.stream != stream:
        raise WrongStream(
            f"{current} is for {Stream(current.stream).label.lower()}, "
            f"not for {Stream(stream).label.lower()}.",
            field="container",
        )
    if account.balance + volume_ul > current.limit_ul:
        raise ledger.too_full(account, volume_ul, current.limit_ul, field=field)
    return account


@operation
def hand_over(
    *,
    containers: Sequence[WasteContainer],
    carrier: str,
    document: str,
    quantities_ul: Mapping[int, int] | None = None,
    happened_at: datetime,
    key: UUID,
    by: Member,
    at: datetime,
) -> Consignment:
    """Containers leave with a licensed carrier; they are closed from then on.

    ``quantities_ul`` gives, by container, what was measured; what it differs from the sum of the
    entries is posted as unexplained.
    Raises: NotAllowed, InTheFuture, WordsWanted, NothingToHandOver, ContainerClosed, TooFull.
    """
    require_steward(by)
    measured = dict(quantities_ul or {})
    ids = sorted({container.pk for container in containers})
    figures = {
        "containers": ids,
        "carrier": carrier,
        "document": document,
        "quantities_ul": sorted(measured.items()),
        "happened_at": moment(happened_at, at=at),
    }
    receipt = claim_receipt(by, key, "hand_over", figures)
    if receipt.result:
        return Consignment.objects.get(pk=receipt.result)
    check_happened(happened_at, at=at)
    carrier = checked_words(carrier, most=120, field="carrier", missing="Write who takes it.")
    document = checked_words(
        document, most=60, field="document", missing="Write the number on the carrier's paper."
    )
    if not ids:
        raise NothingToHandOver("Choose at least one container.", field="containers")
    leaving = [_leaving_account(account, measured) for account in _locked_accounts(ids)]
    consignment = Consignment.objects.create(
        carrier=carrier,
        document=document,
        handed_over_at=happened_at,
        entered_at=at,
        by=by,
        operation=uuid4(),
    )
    WasteContainer.objects.filter(pk__in=ids).update(consignment=consignment)
    lines = [line for account in leaving for line in _leaving_lines(account, measured, document)]
    ledger.post(lines, operation=consignment.operation, by=by, happened_at=happened_at, at=at)
    receipt.settle(consignment.pk)
    return consignment


def _locked_accounts(container_ids: Sequence[int]) -> list[Account]:
    locked = accounts.lock(container_ids=container_ids)
    return list(locked.accounts.values())


def _container_account(locked: Locked, container: WasteContainer) -> Account:
    for account in locked.accounts.values():
        if account.container_id == container.pk:
            return account
    raise LookupError(f"the account of container {container} was not locked")


def _leaving_account(account: Account, measured: Mapping[int, int]) -> Account:
    container = account.container
    assert container is not None
    quantity_ul = measured.get(container.pk, account.balance)
    if container.consignment_id is not None:
        raise ContainerClosed(f"{container} has been handed over before.", field="containers")
    if quantity_ul <= 0:
        raise NothingToHandOver(f"There is nothing in {container}.", field="containers")
    if quantity_ul > container.capacity_ul:
        raise ledger.TooFull(
            f"{container} holds {ml_text(container.capacity_ul)} at the brim, "
            f"not {ml_text(quantity_ul)}. Measure again.",
            field=f"measured-{container.code}",
            most_ul=container.capacity_ul,
        )
    return account


def _leaving_lines(account: Account, measured: Mapping[int, int], document: str) -> list[Line]:
    assert account.container_id is not None
    carrier = boundary(AccountKind.CARRIER)
    quantity_ul = measured.get(account.container_id)
    if quantity_ul is None:
        return [Line(account, carrier, account.balance, MovementKind.HANDOVER, reason=document)]
    leaving = Line(
        account, carrier, quantity_ul, MovementKind.HANDOVER, Method.MEASURED, reason=document
    )
    found_ul = quantity_ul - account.balance
    if found_ul == 0:
        return [leaving]
    unexplained = boundary(AccountKind.UNEXPLAINED)
    sides = (unexplained, account) if found_ul > 0 else (account, unexplained)
    correction = Line(*sides, abs(found_ul), MovementKind.CORRECT, Method.MEASURED, reason=document)
    return [correction, leaving]
