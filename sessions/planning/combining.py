"""Two vessels taking turns: how the sheets are divided between them, and what that comes to.

1. Each vessel takes its share of a line in the fewest loads that hold it, evenly filled.
2. Of one line every division is tried. Of several lines each is divided by the fewest loads, then
   as evenly as can be, then with the least solution used up.
3. The vessel with more loads goes first, of equal ones the one with which it takes less time;
   from then on they take turns.
4. Of the divisions of a pair those stay that no other one of the pair beats.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from sessions.planning.options import MOST_LOADS, Counts, unbeaten
from sessions.planning.splitting import in_turn
from sessions.planning.timeline import dark_and_wet_s


@dataclass(frozen=True, slots=True)
class Share:
    """Some sheets of a line in one vessel. ``wet_s`` is one load's; ``drift_c`` its developer's."""

    sheets: int
    loads: int
    load_ml: int
    used_ul: int
    wet_s: int
    drift_c: float
    crowded: int = 0


@dataclass(frozen=True, slots=True)
class Seat:
    """A vessel, by number, agitated one way."""

    vessel: int
    agitation: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """Who takes what: for each line, in the order of the seats, what it takes; None for nothing."""

    seats: tuple[Seat, ...]
    shares: tuple[tuple[Share | None, ...], ...]
    counts: Counts

    @property
    def sheets(self) -> tuple[tuple[int, ...], ...]:
        return tuple(tuple(share.sheets if share else 0 for share in line) for line in self.shares)


@dataclass(frozen=True, slots=True)
class Frame:
    """The seconds round the wet steps."""

    warm_s: int
    dark_s: int
    clean_s: int


ShareOf = Callable[[Seat, int, int], Share | None]
"""What a seat's share of a line is for so many sheets; None where it cannot take them."""

Shares = tuple[tuple[Share | None, ...], ...]


def counts_of(seats: Sequence[Seat], shares: Shares, frame: Frame) -> Counts:
    """What it comes to when these shares are run in turn."""
    taken = [
        (seat.vessel, share)
        for line in shares
        for seat, share in zip(seats, line, strict=True)
        if share is not None
    ]
    loads = in_turn((vessel, share.wet_s) for vessel, share in taken for _ in range(share.loads))
    starts = dark_and_wet_s(loads, frame.dark_s, first_s=frame.warm_s)
    return Counts(
        used_ul=sum(share.used_ul for _, share in taken),
        load_ml=max(share.load_ml for _, share in taken),
        attended_s=starts[-1][1] + loads[-1][1] + frame.clean_s,
        drift_c=max(share.drift_c for _, share in taken),
        crowded=max(share.crowded for _, share in taken),
        vessels=len({vessel for vessel, _ in taken}),
    )


def pairs(
    seats: Iterable[Seat], sheets: Sequence[int], share_of: ShareOf, frame: Frame
) -> list[Candidate]:
    """For every two vessels the divisions that no other division between them beats.

    Domain: at least one line, each with at least one sheet.
    """
    found = []
    for left, right in combinations(seats, 2):
        if left.vessel != right.vessel:
            made = [
                _candidate(left, right, shares, frame)
                for shares in _divisions(left, right, sheets, share_of)
            ]
            marks = unbeaten([one.counts for one in made])
            found += _distinct(one for one, is_kept in zip(made, marks, strict=True) if is_kept)
    return found


def _divisions(left: Seat, right: Seat, sheets: Sequence[int], share_of: ShareOf) -> list[Shares]:
    if len(sheets) == 1:
        found: list[Shares] = [
            (line,) for line in _line_divisions(left, right, 0, sheets[0], share_of)
        ]
    else:
        found = _even_division(left, right, sheets, share_of)
    return [shares for shares in found if _is_shared(shares) and _loads(shares) <= MOST_LOADS]


def _line_divisions(
    left: Seat, right: Seat, line: int, sheets: int, share_of: ShareOf
) -> list[tuple[Share | None, ...]]:
    """Every way to divide one line, nothing for one of them included."""
    found: list[tuple[Share | None, ...]] = []
    for n in range(sheets + 1):
        one = share_of(left, line, n) if n else None
        other = share_of(right, line, sheets - n) if n < sheets else None
        if (one is not None or not n) and (other is not None or n == sheets):
            found.append((one, other))
    return found


def _even_division(
    left: Seat, right: Seat, sheets: Sequence[int], share_of: ShareOf
) -> list[Shares]:
    chosen: list[tuple[Share | None, ...]] = []
    ahead = 0
    for line, count in enumerate(sheets):
        tried = _line_divisions(left, right, line, count, share_of)
        if not tried:
            return []
        best = min(tried, key=lambda pair: _evenness(pair, ahead))
        ahead += _lead(best)
        chosen.append(best)
    return [tuple(chosen)]


def _evenness(pair: tuple[Share | None, ...], ahead: int) -> tuple[int, int, int]:
    there = [share for share in pair if share is not None]
    used = sum(share.used_ul for share in there)
    return sum(share.loads for share in there), abs(ahead + _lead(pair)), used


def _lead(pair: tuple[Share | None, ...]) -> int:
    left, right = pair
    return (left.loads if left else 0) - (right.loads if right else 0)


def _is_shared(shares: Shares) -> bool:
    return all(any(line[n] is not None for line in shares) for n in (0, 1))


def _loads(shares: Shares) -> int:
    return sum(share.loads for line in shares for share in line if share is not None)


def _candidate(left: Seat, right: Seat, shares: Shares, frame: Frame) -> Candidate:
    lead = sum(_lead(line) for line in shares)
    turned: Shares = tuple((line[1], line[0]) for line in shares)
    orders = [((left, right), shares)] if lead >= 0 else []
    orders += [((right, left), turned)] if lead <= 0 else []
    made = (Candidate(seats, given, counts_of(seats, given, frame)) for seats, given in orders)
    return min(made, key=lambda one: one.counts.attended_s)


def _distinct(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Of those that come to the same the most even one."""
    best: dict[Counts, Candidate] = {}
    for one in candidates:
        kept = best.get(one.counts)
        if kept is None or _gap(one) < _gap(kept):
            best[one.counts] = one
    return list(best.values())


def _gap(candidate: Candidate) -> int:
    return abs(sum(line[0] - line[1] for line in candidate.sheets))
