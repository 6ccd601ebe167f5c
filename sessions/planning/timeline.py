"""What a session keeps, and for how long: its phases in seconds from its start.

Loads follow one another in the same vessel. For each: loading in the dark (booth and vessel), the
wet steps (vessel and sink). The sink stays from the first pour to the end of cleaning, for bottles
stand there meanwhile. Film hangs on one peg row from the end of the first load on; nobody has to
be there while it dries.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from chemistry.science.errors import check_positive, check_range

POUR_S = 60
"""To empty the vessel, let it drain and pour the next bath in. Standing: the house's own."""

VESSEL, BOOTH, SINK, PEGS = "vessel", "booth", "sink", "pegs"
DARK, WET, DRY, CLEAN = "dark", "wet", "dry", "clean"


@dataclass(frozen=True, slots=True)
class Span:
    """A phase in seconds from the session's start, half-open."""

    phase: str
    starts_s: int
    ends_s: int


@dataclass(frozen=True, slots=True)
class Need:
    """One piece of a kind, the same throughout, for all these spans."""

    kind: str
    spans: tuple[Span, ...]

    @property
    def stretches(self) -> list[tuple[int, int]]:
        return [(span.starts_s, span.ends_s) for span in self.spans]


@dataclass(frozen=True, slots=True)
class Timeline:
    """The needs of a session; ``baths_s`` says from when to when each step has its solution out."""

    needs: tuple[Need, ...]
    baths_s: tuple[tuple[int, int], ...]
    attended_s: int
    ends_s: int

    @property
    def attended_min(self) -> int:
        return self.attended_s // 60


@dataclass(frozen=True, slots=True)
class HouseMinutes:
    loading_min: int
    cleaning_min: int
    drying_min: int


def timeline(*, loads: int, steps_min: Sequence[Decimal], house: HouseMinutes) -> Timeline:
    """The phases of ``loads`` loads through the steps, one load after the other.

    Units: min.  Domain: at least one load and one step, no step without time.
    Raises: OutOfRange.
    """
    check_range("loads", loads, 1)
    check_range("steps", len(steps_min), 1)
    steps_s = [_step_s(minutes) for minutes in steps_min]
    dark_s, wet_s = house.loading_min * 60, _whole_minutes_s(sum(steps_s))
    darks = [_span(DARK, n * (dark_s + wet_s), dark_s) for n in range(loads) if dark_s]
    wets = [_span(WET, n * (dark_s + wet_s) + dark_s, wet_s) for n in range(loads)]
    cleans = [_span(CLEAN, wets[-1].ends_s, house.cleaning_min * 60)] if house.cleaning_min else []
    dried_s = wets[-1].ends_s + house.drying_min * 60
    attended_s = cleans[-1].ends_s if cleans else wets[-1].ends_s
    return Timeline(
        needs=tuple(
            need
            for need in (
                Need(VESSEL, tuple(sorted([*darks, *wets, *cleans], key=lambda s: s.starts_s))),
                Need(BOOTH, tuple(darks)),
                Need(SINK, (Span(WET, wets[0].starts_s, wets[-1].ends_s), *cleans)),
                Need(PEGS, (Span(DRY, wets[0].ends_s, dried_s),) if house.drying_min else ()),
            )
            if need.spans
        ),
        baths_s=_baths_s(steps_s, wets[0].starts_s, wets[-1].starts_s),
        attended_s=attended_s,
        ends_s=max(attended_s, dried_s),
    )


def _span(phase: str, starts_s: int, length_s: int) -> Span:
    return Span(phase, starts_s, starts_s + length_s)


def _step_s(minutes: Decimal) -> int:
    check_positive("minutes", minutes)
    return int((minutes * 60).to_integral_value(rounding=ROUND_CEILING)) + POUR_S


def _whole_minutes_s(seconds: int) -> int:
    return -(-seconds // 60) * 60


def _baths_s(steps_s: Sequence[int], first_s: int, last_s: int) -> tuple[tuple[int, int], ...]:
    """Each step's solution is out from its first pour to its last return."""
    ends = [sum(steps_s[: n + 1]) for n in range(len(steps_s))]
    return tuple(
        (first_s + end - length, last_s + end) for length, end in zip(steps_s, ends, strict=True)
    )
