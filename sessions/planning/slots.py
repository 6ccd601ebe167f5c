"""When a session can start: arithmetic on sets of whole seconds.

A set is a sorted list of disjoint half-open ranges. A piece of equipment serves a start if each
stretch for which it is needed, counted from that start, lies in its free time. A need is served
by any of its candidates, a session if all its needs are.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce

Range = tuple[int, int]
Stretch = tuple[int, int]
"""Seconds from the session's start: from, until."""

GRID_S = 900


def normal(ranges: Iterable[Range]) -> list[Range]:
    """The same set as sorted ranges that neither touch nor overlap; empty ones left out."""
    merged: list[Range] = []
    for low, high in sorted(r for r in ranges if r[0] < r[1]):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return merged


def intersection(left: Sequence[Range], right: Sequence[Range]) -> list[Range]:
    """What lies in both sets, one pass over each."""
    found, i, j = [], 0, 0
    while i < len(left) and j < len(right):
        low, high = max(left[i][0], right[j][0]), min(left[i][1], right[j][1])
        if low < high:
            found.append((low, high))
        if left[i][1] < right[j][1]:
            i += 1
        else:
            j += 1
    return found


def starts_within(free: Sequence[Range], stretch: Stretch) -> list[Range]:
    """The starts whose stretch lies within one free range: eroded by its length, shifted back."""
    offset, until = stretch
    return normal((low - offset, high - until + 1) for low, high in free)


def starts_on_piece(free: Sequence[Range], stretches: Sequence[Stretch]) -> list[Range]:
    """The starts at which one piece is free for every stretch.

    Domain: at least one stretch, ``free`` normal.
    """
    return reduce(intersection, (starts_within(free, stretch) for stretch in stretches))


def starts_on_any(pieces: Iterable[Sequence[Range]], stretches: Sequence[Stretch]) -> list[Range]:
    """The starts at which at least one of the pieces is free for every stretch."""
    return normal(r for free in pieces for r in starts_on_piece(free, stretches))


def on_grid(starts: Sequence[Range], step_s: int = GRID_S) -> list[int]:
    """The multiples of ``step_s`` in a set."""
    return [at for low, high in starts for at in range(-(-low // step_s) * step_s, high, step_s)]


def free_starts(
    needs: Iterable[tuple[Sequence[int], Sequence[Stretch]]],
    *,
    free: Mapping[int, Sequence[Range]],
    openings: Sequence[Range],
    attended_s: int,
    not_before: int,
    step_s: int = GRID_S,
) -> list[int]:
    """The starts on the grid at which every need is served and somebody may be in the house.

    ``needs`` are candidates with the stretches asked of one of them; a candidate that ``free``
    does not name is not free at all. Whoever works there is in for ``attended_s`` from the start.
    """
    allowed = starts_within(normal(openings), (0, attended_s))
    allowed = intersection(allowed, [(not_before, max(not_before, _last(allowed)))])
    for candidates, stretches in needs:
        pieces = [free.get(piece, ()) for piece in candidates]
        allowed = intersection(allowed, starts_on_any(pieces, stretches))
    return on_grid(allowed, step_s)


def _last(ranges: Sequence[Range]) -> int:
    return ranges[-1][1] if ranges else 0


def is_free(busy: Iterable[Range], at: int, stretches: Iterable[Stretch]) -> bool:
    """Whether none of the stretches, begun at ``at``, meets a busy range."""
    taken = list(busy)
    return not any(
        low < at + until and at + offset < high
        for offset, until in stretches
        for low, high in taken
    )
