"""Where used solution goes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from chemistry.accounts import Locked
from chemistry.ledger import Line
from chemistry.models import Account, AccountKind, MovementKind


@dataclass(frozen=True, slots=True)
class Part:
    """So much of a liquid that comes from one account."""

    source: Account
    quantity_ul: int


@dataclass(slots=True)
class Containers:
    """Takes used solution: the first open container with room for all of it, else unplaced.

    One can holds what one person pours at once: nothing is split over two.
    """

    locked: Locked
    filled_ul: dict[int, int] = field(default_factory=dict)

    def take(self, stream: str, parts: Sequence[Part], kind: MovementKind) -> list[Line]:
        total_ul = sum(part.quantity_ul for part in parts)
        target = self._with_room(stream, total_ul)
        self.filled_ul[target.pk] = self.filled_ul.get(target.pk, 0) + total_ul
        return lines_into(parts, target, kind)

    def _with_room(self, stream: str, volume_ul: int) -> Account:
        for account in self.locked.containers(stream):
            assert account.container is not None
            holds_ul = account.balance + self.filled_ul.get(account.pk, 0)
            if holds_ul + volume_ul <= account.container.limit_ul:
                return account
        return self.locked.boundary(AccountKind.UNPLACED, stream=stream)


def lines_into(parts: Iterable[Part], target: Account, kind: MovementKind) -> list[Line]:
    """One movement for each part; what is there already, and nothing at all, does not move."""
    return [
        Line(part.source, target, part.quantity_ul, kind)
        for part in parts
        if part.quantity_ul > 0 and part.source.pk != target.pk
    ]
