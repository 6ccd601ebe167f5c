"""The only writer of movements.

An operation calls ``post`` once, after its checks and under its locks. *Facts* go through
``settle`` first, which makes room for what has happened; *intentions* do not, so that the
database refuses what a bottle does not hold or a container has no room for.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import IntegrityError

from chemistry.accounts import BY_STREAM, VESSELS, boundary
from chemistry.canon import GENESIS
from chemistry.models import Account, AccountKind, LedgerHead, Method, Movement, MovementKind
from chemistry.volumes import ml_text
from darkroom.errors import DomainError
from darkroom.models import Member

HOLDS_WHAT_IT_CAN = "account_vessel_holds_what_it_can"


class NotEnough(DomainError):
    """More was to be taken than is there."""

    code = "not_enough"


class TooFull(DomainError):
    """More was to be put in than there is room for."""

    code = "too_full"


@dataclass(frozen=True, slots=True)
class Line:
    """A movement that is to be posted."""

    source: Account
    target: Account
    quantity_ul: int
    kind: MovementKind
    method: Method = Method.CALCULATED
    reason: str = ""
    reverses: Movement | None = None


def post(
    lines: Sequence[Line],
    *,
    operation: UUID,
    by: Member | None,
    happened_at: datetime,
    at: datetime,
    field: str | None = None,
) -> list[Movement]:
    """Write the lines as one statement; the accounts given then show what they hold now.

    ``field`` is where a refusal is shown. A reversal keeps the moment of its original.
    Raises: NotEnough, TooFull.
    """
    wanted = [
        Movement(
            operation=operation,
            happened_at=line.reverses.happened_at if line.reverses else happened_at,
            entered_at=at,
            source=line.source,
            target=line.target,
            quantity=line.quantity_ul,
            method=line.method,
            kind=line.kind,
            reason=line.reason,
            by=by,
            reverses=line.reverses,
        )
        for line in lines
    ]
    try:
        written = Movement.objects.bulk_create(wanted)
    except IntegrityError as error:
        if getattr(getattr(error.__cause__, "diag", None), "constraint_name", "") == (
            HOLDS_WHAT_IT_CAN
        ):
            raise _refusal(lines, field) from error
        raise
    _show_new_balances(lines)
    return written


def settle(lines: Iterable[Line]) -> list[Line]:
    """The lines of a fact, with what they lack or have too much of put to the unexplained.

    A shortfall comes from ``unexplained``. What passes the brim of a container is ``unplaced`` in
    its stream; what passes the brim of a bottle is unexplained.
    """
    settled = list(lines)
    accounts = {side.pk: side for line in settled for side in (line.source, line.target)}
    if any(account.kind in BY_STREAM for account in accounts.values()):
        _read_under_the_head(accounts.values())
    for account_id, change in sorted(net_changes(settled).items()):
        settled += _made_good(accounts[account_id], change)
    return settled


def net_changes(lines: Iterable[Line]) -> dict[int, int]:
    """What every account gains, by its id."""
    net: defaultdict[int, int] = defaultdict(int)
    for line in lines:
        net[line.target.pk] += line.quantity_ul
        net[line.source.pk] -= line.quantity_ul
    return net


def lock_head() -> LedgerHead:
    """The last entry; under this lock, and no other, the house's own accounts stand still."""
    LedgerHead.objects.bulk_create([LedgerHead(id=1, hash=GENESIS)], ignore_conflicts=True)
    return LedgerHead.objects.select_for_update(no_key=True).get()


def _read_under_the_head(accounts: Iterable[Account]) -> None:
    lock_head()
    for account in accounts:
        if account.kind in BY_STREAM:
            account.refresh_from_db(fields=["balance"])


def _made_good(account: Account, change: int) -> list[Line]:
    if account.kind not in VESSELS | BY_STREAM:
        return []
    holds = account.balance + change
    over = 0 if account.capacity is None else max(0, holds - account.capacity)
    if holds >= 0 and not over:
        return []
    unexplained = boundary(AccountKind.UNEXPLAINED, unit=account.unit)
    if holds < 0:
        return [Line(unexplained, account, -holds, MovementKind.SHORTFALL)]
    if account.kind != AccountKind.CONTAINER:
        return [Line(account, unexplained, over, MovementKind.SHORTFALL)]
    beside = boundary(AccountKind.UNPLACED, stream=account.stream, unit=account.unit)
    return [Line(account, beside, over, MovementKind.SHORTFALL)]


def _refusal(lines: Sequence[Line], field: str | None) -> DomainError:
    """Says in the house's words what the database refused, from the balances under our locks."""
    accounts = {side.pk: side for line in lines for side in (line.source, line.target)}
    for account_id, change in sorted(net_changes(lines).items()):
        account = accounts[account_id]
        if account.kind not in VESSELS:
            continue
        if account.balance + change < 0:
            return not_enough(account, -change, field=field)
        if account.capacity is not None and account.balance + change > account.capacity:
            return too_full(account, change, account.capacity, field=field)
    raise AssertionError("the database refused a volume that the locked balances allow")


def not_enough(account: Account, wanted_ul: int, *, field: str | None) -> NotEnough:
    there = max(0, account.balance)
    return NotEnough(
        f"{account} holds {ml_text(there)}, not {ml_text(wanted_ul)}. "
        + (f"At most {ml_text(there)} can be taken." if there else "Nothing can be taken."),
        field=field,
        most_ul=there,
    )


def too_full(account: Account, added_ul: int, limit_ul: int, *, field: str | None) -> TooFull:
    room = max(0, limit_ul - account.balance)
    return TooFull(
        f"{account} has room for {ml_text(room)}, not for {ml_text(added_ul)}. "
        + (f"Put in at most {ml_text(room)}." if room else "It takes no more."),
        field=field,
        most_ul=room,
    )


def _show_new_balances(lines: Sequence[Line]) -> None:
    """Every account object once, also where two stand for the same row."""
    net = net_changes(lines)
    objects = {id(side): side for line in lines for side in (line.source, line.target)}
    for account in objects.values():
        account.balance += net[account.pk]
