"""Holds the ledger against itself: chain, balances, wear, and the guards that keep it so.

Somebody who owns the database can take entries off the end and set the head back with them. Only a
report printed before tells: ``against`` holds its number and hash to what stands there now. Uses
are not chained; a changed one tells where the wear comes out otherwise.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Sum

from chemistry import guards
from chemistry.canon import GENESIS, entry_hash
from chemistry.models import Account, Batch, LedgerHead, Movement
from chemistry.wear_cache import cached_state, replay_batch

CHUNK = 2000


@dataclass(frozen=True, slots=True)
class Fault:
    """What does not hold; ``part`` is chain, balance, wear, guard or report."""

    part: str
    message: str


@dataclass(frozen=True, slots=True)
class Outcome:
    entries: int
    accounts: int
    bottles: int
    faults: tuple[Fault, ...]


def verify(*, against: tuple[str, int] | None = None) -> Outcome:
    """Everything, in one go; nothing is written.

    ``against`` is the hash and the number printed on a report.
    """
    faults = [*chain(), *balances(), *wear(), *missing_guards()]
    if against is not None:
        faults += printed(*against)
    return Outcome(
        entries=Movement.objects.count(),
        accounts=Account.objects.count(),
        bottles=Batch.objects.count(),
        faults=tuple(faults),
    )


def chain() -> Iterator[Fault]:
    """Every entry follows the one before, says what its hash says, and the head is the last."""
    seq, last, entered_at = 0, GENESIS, None
    for entry in Movement.objects.order_by("seq").iterator(chunk_size=CHUNK):
        if entry.seq != seq + 1:
            yield Fault("chain", f"Entry {seq + 1} is missing: {entry.seq} follows {seq}.")
        if entry.prev_hash != last:
            yield Fault("chain", f"Entry {entry.seq} does not follow the one before it.")
        if entry_hash(entry) != entry.hash:
            yield Fault("chain", f"Entry {entry.seq} was changed: its hash says otherwise.")
        if entered_at is not None and entry.entered_at < entered_at:
            yield Fault("chain", f"Entry {entry.seq} was entered before the one it follows.")
        seq, last, entered_at = entry.seq, entry.hash, entry.entered_at
    head = LedgerHead.objects.first() or LedgerHead(seq=0, hash=GENESIS)
    if (head.seq, head.hash, head.entered_at) != (seq, last, entered_at):
        yield Fault("chain", f"The head says {head.seq}, the last entry is {seq}.")


def balances() -> Iterator[Fault]:
    """Every account holds what its entries come to, and nothing is made or lost between them."""
    net: Counter[int] = Counter()
    for side, sign in (("target", 1), ("source", -1)):
        sums = Movement.objects.order_by().values_list(side).annotate(total=Sum("quantity"))
        for account_id, total in sums:
            net[account_id] += sign * total
    for account in Account.objects.select_related("batch", "container"):
        if account.balance != net[account.pk]:
            yield Fault(
                "balance",
                f"Account {account.pk} ({account}) holds {account.balance} {account.unit}, "
                f"its entries come to {net[account.pk]}.",
            )


def wear() -> Iterator[Fault]:
    """Every bottle's stored state is the replay of what happened to it."""
    bottles = Batch.objects.select_related("account", "way").prefetch_related("way__figures")
    for batch in bottles.order_by("pk"):
        stored, replayed = cached_state(batch), replay_batch(batch)
        if stored != replayed:
            yield Fault("wear", f"Bottle {batch}: stored {stored}, replayed {replayed}.")


def missing_guards() -> Iterator[Fault]:
    for message in guards.missing():
        yield Fault("guard", message)


def printed(expected_hash: str, seq: int) -> Iterator[Fault]:
    """The entry that a report rests on is still there and still says the same."""
    found = Movement.objects.filter(seq=seq).values_list("hash", flat=True).first()
    if seq == 0:
        found = GENESIS
    if found is None:
        yield Fault("report", f"There is no entry {seq} any more.")
    elif found != expected_hash.strip().lower():
        yield Fault("report", f"Entry {seq} has the hash {found}, not the printed one.")
