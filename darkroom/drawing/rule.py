"""The wear rule: a ruler ticked in units of 80 in², filled from the left."""

from dataclasses import dataclass
from math import ceil, floor

MOST_TICKS = 40
MOST_LABELS = 6


@dataclass(frozen=True)
class Tick:
    x_pct: float
    is_major: bool
    label: str


@dataclass(frozen=True)
class WearRule:
    """Positions along the ruler, in per cent of its length."""

    used_pct: float
    promised_pct: float
    limit_pct: float
    low_pct: float | None
    over_pct: float
    tick_au: int
    ticks: tuple[Tick, ...]

    @property
    def promised_end_pct(self) -> float:
        return _pct(self.used_pct + self.promised_pct)


def wear_rule(
    used_au: float, limit_au: float, *, promised_au: float = 0, low_au: float | None = None
) -> WearRule:
    """The ruler for what a bath has taken and what is promised, up to its limit.

    Units: AU (80 in²).
    Domain: limit > 0, used and promised >= 0. Past the limit the ruler grows, so that the
    overrun shows beyond the limit's line.
    Raises: ValueError outside that.
    """
    if limit_au <= 0 or used_au < 0 or promised_au < 0:
        raise ValueError(f"used {used_au}, promised {promised_au}, limit {limit_au}")
    length = max(limit_au, used_au + promised_au)
    step = nice_step(limit_au, MOST_TICKS)
    return WearRule(
        used_pct=_pct(100 * used_au / length),
        promised_pct=_pct(100 * promised_au / length),
        limit_pct=_pct(100 * limit_au / length),
        low_pct=None if low_au is None else _pct(100 * low_au / length),
        over_pct=_pct(100 * max(0.0, length - limit_au) / length),
        tick_au=step,
        ticks=_ticks(limit_au, length, step),
    )


def nice_step(length: float, most: int) -> int:
    """The smallest of 1, 2, 5, 10, 20, 50 … that divides ``length`` into at most ``most`` parts."""
    decade = 1
    while True:
        for factor in (1, 2, 5):
            if length / (factor * decade) <= most:
                return factor * decade
        decade *= 10


def _ticks(limit_au: float, length: float, step: int) -> tuple[Tick, ...]:
    """Ticks up to the limit; the label next to the limit gives way to the limit's own."""
    label_step = max(step, nice_step(limit_au, MOST_LABELS))
    label_step = step * ceil(label_step / step)
    last_label = limit_au - 0.6 * label_step
    return tuple(
        Tick(
            x_pct=_pct(100 * au / length),
            is_major=au % label_step == 0,
            label=f"{au}" if au % label_step == 0 and au <= last_label else "",
        )
        for au in range(0, floor(limit_au) + 1, step)
    )


def _pct(value: float) -> float:
    return round(value, 3)
