"""Interleaved pairs: two things measured turn by turn, and told as a ratio with its spread."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Ratio:
    """Seconds of both sides (medians), and the ratio of each pair as median, least and most."""

    first_s: float
    second_s: float
    median: float
    least: float
    most: float
    pairs: int

    def __str__(self) -> str:
        return (
            f"{self.median:.2f} (from {self.least:.2f} to {self.most:.2f} in {self.pairs} pairs; "
            f"medians {self.first_s * 1000:.3f} ms and {self.second_s * 1000:.3f} ms)"
        )


def nothing() -> None:
    """What lies between two measurements, unless more must be put back."""


def ratio(
    first: Callable[[], None],
    second: Callable[[], None],
    *,
    pairs: int = 9,
    between: Callable[[], None] = nothing,
) -> Ratio:
    """How many times as long ``first`` takes as ``second``.

    Both run once unmeasured; then turn by turn, the order swapped every time. ``between`` runs
    after every single run, unmeasured, and puts back what it changed.
    """
    for side in (first, second):
        side()
        between()
    times: list[tuple[float, float]] = []
    for turn in range(pairs):
        order = (second, first) if turn % 2 else (first, second)
        spent = {}
        for side in order:
            spent[side] = _seconds(side)
            between()
        times.append((spent[first], spent[second]))
    ratios = sorted(a / b for a, b in times)
    return Ratio(
        first_s=statistics.median(a for a, _ in times),
        second_s=statistics.median(b for _, b in times),
        median=statistics.median(ratios),
        least=ratios[0],
        most=ratios[-1],
        pairs=pairs,
    )


def _seconds(run: Callable[[], None]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start
