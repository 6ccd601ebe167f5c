"""Where quantities can be: finding accounts, making the house's own, locking what may change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from uuid import UUID

from django.db.models import Q

from chemistry.models import Account, AccountKind, Movement, Stream

VESSELS = frozenset({AccountKind.BATCH, AccountKind.CONTAINER})
BY_STREAM = frozenset({AccountKind.UNPLACED})


def boundary(kind: AccountKind, *, stream: str = "", unit: str = "ul") -> Account:
    """The house's account of this kind, made when first asked for."""
    found = Account.objects.filter(kind=kind, stream=stream, unit=unit).first()
    if found is not None:
        return found
    _make_boundaries(unit)
    return Account.objects.get(kind=kind, stream=stream, unit=unit)


def _make_boundaries(unit: str) -> None:
    """All of a unit at once and in one order: two first-comers wait for each other only one way."""
    wanted = [
        Account(kind=kind, stream=stream, unit=unit)
        for kind in AccountKind
        if kind not in VESSELS
        for stream in (Stream if kind in BY_STREAM else ("",))
    ]
    Account.objects.bulk_create(wanted, ignore_conflicts=True)


@dataclass(frozen=True, slots=True)
class Locked:
    """Accounts of bottles and containers that nobody else can change until the operation ends.

    To ask for what was not locked is a bug and raises LookupError. The house's own accounts are
    at hand too, but not locked: what they hold is known only under the ledger's head.
    """

    accounts: dict[int, Account]
    streams: frozenset[str]
    boundaries: dict[tuple[str, str], Account] = field(default_factory=dict)

    def account(self, account_id: int) -> Account:
        return self.accounts[account_id]

    def boundary(self, kind: AccountKind, *, stream: str = "") -> Account:
        if (kind, stream) not in self.boundaries:
            self.boundaries[kind, stream] = boundary(kind, stream=stream)
        return self.boundaries[kind, stream]

    def batch(self, batch_id: int) -> Account:
        for account in self.accounts.values():
            if account.batch_id == batch_id:
                return account
        raise LookupError(f"the account of batch {batch_id} was not locked")

    def containers(self, stream: str) -> list[Account]:
        """Accounts of the stream's open containers, in the order of their codes."""
        if stream not in self.streams:
            raise LookupError(f"the containers of {stream} were not locked")
        found = [
            (account.container.code, account)
            for account in self.accounts.values()
            if account.container is not None
            and account.stream == stream
            and account.container.consignment_id is None
        ]
        return [account for _, account in sorted(found, key=lambda pair: pair[0])]


def lock(
    *,
    batch_ids: Iterable[int] = (),
    streams: Iterable[str] = (),
    container_ids: Iterable[int] = (),
    operation: UUID | None = None,
) -> Locked:
    """Lock everything an operation may touch: these batches, every open container of the streams.

    ``operation`` adds what an earlier operation touched, for undoing it. One statement, in the
    order of the ids, so that two operations never wait for each other both ways. What stands in
    the rows is read after the locks are held: a container may have left while we waited.
    """
    wanted_streams = frozenset(streams)
    wanted = (
        Q(batch__in=list(batch_ids))
        | Q(container__in=list(container_ids))
        | Q(kind=AccountKind.CONTAINER, stream__in=wanted_streams, container__consignment=None)
    )
    if operation is not None:
        wanted |= Q(pk__in=_touched_by(operation))
    rows = Account.objects.filter(wanted, kind__in=VESSELS).order_by("pk")
    ids = list(rows.select_for_update(no_key=True, of=("self",)).values_list("pk", flat=True))
    at_hand = Account.objects.filter(Q(pk__in=ids) | (~Q(kind__in=VESSELS) & Q(unit="ul")))
    found = list(at_hand.select_related("batch__way__version__recipe", "container"))
    return Locked(
        accounts={each.pk: each for each in found if each.kind in VESSELS},
        streams=wanted_streams,
        boundaries={(each.kind, each.stream): each for each in found if each.kind not in VESSELS},
    )


def _touched_by(operation: UUID) -> set[int]:
    """Settled long before: an operation writes all its entries in one statement."""
    sides = Movement.objects.filter(operation=operation).values_list("source", "target")
    return {account_id for pair in sides for account_id in pair}
