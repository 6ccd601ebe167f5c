"""Sheets into loads, and loads into an order."""

from collections.abc import Hashable, Iterable
from itertools import zip_longest
from typing import TypeVar

Seat = TypeVar("Seat", bound=Hashable)
Load = TypeVar("Load")


def loads_of(sheets: int, per_load: int) -> int:
    """Loads that the sheets make.  Domain: both at least 1."""
    return -(-sheets // per_load)


def split_sheets(sheets: int, per_load: int) -> tuple[int, ...]:
    """Full loads first, the rest last.

    Domain: both at least 1.  Raises: ValueError.
    Example:
    >>> split_sheets(6, 4)
    (4, 2)
    """
    if sheets < 1 or per_load < 1:
        raise ValueError(f"{sheets} sheets in loads of {per_load}")
    full, rest = divmod(sheets, per_load)
    return (per_load,) * full + ((rest,) if rest else ())


def in_turn(loads: Iterable[tuple[Seat, Load]]) -> list[tuple[Seat, Load]]:
    """Loads in the order they are run: the vessels take turns, each with its own in order.

    Example:
    >>> in_turn([("a", 1), ("a", 2), ("a", 3), ("b", 4)])
    [('a', 1), ('b', 4), ('a', 2), ('a', 3)]
    """
    queues: dict[Seat, list[tuple[Seat, Load]]] = {}
    for seat, load in loads:
        queues.setdefault(seat, []).append((seat, load))
    rounds = zip_longest(*queues.values())
    return [pair for each in rounds for pair in each if pair is not None]
