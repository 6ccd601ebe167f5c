"""What a session keeps, and for how long: its phases in seconds from its start.

Where bottles have to get warm, they stand in a tempering bath first and stay in it until the last
load is through; somebody is there all the while, so that this is a part of the session.
For each load: loading in the dark (booth and vessel), then the wet steps (vessel and sink). The
wet steps of two loads never overlap, for they share the sink, the bottles and a pair of hands.
Where the next load goes in another vessel, it is loaded while the one before is in its wet steps,
as late as can be; in the same vessel only once that is empty. The sink stays from the first pour
to the end of cleaning, for bottles stand there meanwhile; each vessel stays until it is clean.
Film hangs on one peg row from the end of the first load on; nobody has to be there while it dries.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from chemistry.science.errors import check_positive, check_range

POUR_S = 60
"""To empty the vessel, let it drain and pour the next bath in. Standing: the house's own."""

VESSEL, BOOTH, SINK, PEGS, BATH = "vessel", "booth", "sink", "pegs", "bath"
WARM, DARK, WET, DRY, CLEAN = "warm", "dark", "wet", "dry", "clean"


@dataclass(frozen=True, slots=True)
class Span:
    """A phase in seconds from the session's start, half-open."""

    phase: str
    starts_s: int
    ends_s: int


@dataclass(frozen=True, slots=True)
class Need:
    """One piece of a kind, the same throughout, for all these spans; or ``piece`` and no other."""

    kind: str
    spans: tuple[Span, ...]
    piece: int | None = None

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


@dataclass(frozen=True, slots=True)
class LoadMinutes:
    """A load: the vessel it goes in, and the minutes of its steps."""

    vessel: int
    steps_min: tuple[Decimal, ...]

    @property
    def steps_s(self) -> list[int]:
        return [_step_s(minutes) for minutes in self.steps_min]


def timeline(loads: Sequence[LoadMinutes], *, house: HouseMinutes, warm_min: int = 0) -> Timeline:
    """The phases of the loads, in this order, after ``warm_min`` in which the bottles get warm.

    Units: min.  Domain: at least one load, each with the same steps, no step without time.
    Raises: OutOfRange.
    """
    check_range("warm_min", warm_min, 0)
    check_range("loads", len(loads), 1)
    check_range("steps", len(loads[0].steps_min), 1)
    steps_s = [load.steps_s for load in loads]
    darks, wets = _dark_and_wet(loads, steps_s, house.loading_min * 60, warm_min * 60)
    wet_end = wets[-1].ends_s
    cleans = [_span(CLEAN, wet_end, house.cleaning_min * 60)] if house.cleaning_min else []
    attended_s = cleans[-1].ends_s if cleans else wet_end
    dried_s = wet_end + house.drying_min * 60
    warm = (Span(WARM, 0, warm_min * 60), Span(WET, warm_min * 60, wet_end))
    needs = (
        Need(BATH, warm if warm_min else ()),
        *_vessels(loads, darks, wets, attended_s),
        Need(BOOTH, tuple(span for span in darks if span.starts_s < span.ends_s)),
        Need(SINK, (Span(WET, wets[0].starts_s, wet_end), *cleans)),
        Need(PEGS, (Span(DRY, wets[0].ends_s, dried_s),) if house.drying_min else ()),
    )
    return Timeline(
        needs=tuple(need for need in needs if need.spans),
        baths_s=_baths_s(steps_s, wets),
        attended_s=attended_s,
        ends_s=max(attended_s, dried_s),
    )


def wet_s(steps_s: Sequence[int]) -> int:
    """The wet steps of a load, in whole minutes."""
    return -(-sum(steps_s) // 60) * 60


def dark_and_wet_s(
    loads: Sequence[tuple[int, int]], dark_s: int, *, first_s: int = 0
) -> list[tuple[int, int]]:
    """When each load goes into the dark and when it is first poured on.

    ``loads`` are vessels with the seconds of their wet steps, in the order they are run.
    """
    found: list[tuple[int, int]] = []
    booth_free = poured_out = first_s
    empty_s: dict[int, int] = {}
    for vessel, wet in loads:
        dark = max(booth_free, empty_s.get(vessel, first_s), poured_out - dark_s)
        booth_free = dark + dark_s
        found.append((dark, max(booth_free, poured_out)))
        poured_out = empty_s[vessel] = found[-1][1] + wet
    return found


def _dark_and_wet(
    loads: Sequence[LoadMinutes], steps_s: Sequence[Sequence[int]], dark_s: int, first_s: int
) -> tuple[list[Span], list[Span]]:
    wets_s = [wet_s(steps) for steps in steps_s]
    vessels = [load.vessel for load in loads]
    starts = dark_and_wet_s(list(zip(vessels, wets_s, strict=True)), dark_s, first_s=first_s)
    darks = [_span(DARK, dark, dark_s) for dark, _ in starts]
    wets = [_span(WET, wet, long) for (_, wet), long in zip(starts, wets_s, strict=True)]
    return darks, wets


def _vessels(
    loads: Sequence[LoadMinutes], darks: Sequence[Span], wets: Sequence[Span], until_s: int
) -> list[Need]:
    found = []
    for vessel in dict.fromkeys(load.vessel for load in loads):
        mine = [n for n, load in enumerate(loads) if load.vessel == vessel]
        spans = [span for n in mine for span in (darks[n], wets[n])]
        clean = Span(CLEAN, wets[mine[-1]].ends_s, until_s)
        kept = tuple(span for span in (*spans, clean) if span.starts_s < span.ends_s)
        found.append(Need(VESSEL, kept, vessel))
    return found


def _span(phase: str, starts_s: int, length_s: int) -> Span:
    return Span(phase, starts_s, starts_s + length_s)


def _step_s(minutes: Decimal) -> int:
    check_positive("minutes", minutes)
    return int((minutes * 60).to_integral_value(rounding=ROUND_CEILING)) + POUR_S


def _baths_s(steps_s: Sequence[Sequence[int]], wets: Sequence[Span]) -> tuple[tuple[int, int], ...]:
    """Each step's solution is out from its first pour to its last return."""
    first, last = steps_s[0], steps_s[-1]
    return tuple(
        (wets[0].starts_s + sum(first[:n]), wets[-1].starts_s + sum(last[: n + 1]))
        for n in range(len(first))
    )
