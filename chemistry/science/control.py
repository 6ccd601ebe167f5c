"""Control strips: verdicts against an aim, individuals charts, and run rules.

Densities are Decimal, so that a reading exactly on a limit is on it.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from chemistry.science.errors import OutOfRange, check_positive, check_range

D2 = Decimal("1.128")
"""Mean range of two from a normal process, in σ. 3 ÷ 1.128 is used, not the rounded 2.66."""

FEWEST_STRIPS = 20
TREND_POINTS = 5
RUN_RULES = (
    ("1 beyond 3σ", 1, 1, 3),
    ("2 of 3 beyond 2σ", 2, 3, 2),
    ("4 of 5 beyond 1σ", 4, 5, 1),
    ("8 in a row on one side", 8, 8, 0),
)
"""Name, how many of how many readings, beyond how many σ on one side."""


class Verdict(StrEnum):
    """Where a reading lies."""

    IN_CONTROL = "in control"
    ACTION = "past action limit"
    CONTROL = "past control limit"


class Answer(StrEnum):
    """What to do about it."""

    GO_ON = "go on"
    FIND_CAUSE = "find the cause"
    REPEAT = "repeat the strip"
    STOP = "stop the bath"


@dataclass(frozen=True, slots=True)
class Aim:
    """A published aim with its limits, and the correction of this lot of strips."""

    value: Decimal
    action: Decimal
    control: Decimal
    lot_correction: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        check_positive("action", self.action)
        check_range("control", self.control, self.action)


@dataclass(frozen=True, slots=True)
class Strip:
    """One reading: the lot of the strip, and whether the bath was mixed anew before it."""

    value: Decimal
    lot: str
    after_remix: bool = False


@dataclass(frozen=True, slots=True)
class Chart:
    """Centre and limits of an individuals chart."""

    mean: Decimal
    moving_range: Decimal
    sigma: Decimal
    lower: Decimal
    upper: Decimal


@dataclass(frozen=True, slots=True)
class Signal:
    """A run rule that fired, and the reading at which it did. Signals only ask to watch."""

    rule: str
    at: int


def verdict(reading: Decimal, aim: Aim) -> Verdict:
    """Reading against the aim corrected for the lot; on a limit is still inside it.

    Units: density.  Raises: OutOfRange for a reading that is not a number.
    """
    check_range("reading", reading, None)
    away = abs(reading - aim.value - aim.lot_correction)
    if away > aim.control:
        return Verdict.CONTROL
    return Verdict.ACTION if away > aim.action else Verdict.IN_CONTROL


def answer(first: Verdict, repeat: Verdict | None = None) -> Answer:
    """What a verdict asks for: past the control limit a second strip, then the bath stops."""
    if first is Verdict.CONTROL:
        if repeat is None:
            return Answer.REPEAT
        if repeat is Verdict.CONTROL:
            return Answer.STOP
        first = repeat
    return Answer.FIND_CAUSE if first is Verdict.ACTION else Answer.GO_ON


def individuals(values: Sequence[Decimal], *, remixed_before: Collection[int] = ()) -> Chart:
    """Individuals chart: mean ± 3 · mean moving range ÷ 1.128.

    No moving range is taken across the readings named in ``remixed_before``.
    Domain: two readings in a row at least.  Raises: OutOfRange.
    Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    for value in values:
        check_range("value", value, None)
    ranges = [
        abs(values[at] - values[at - 1]) for at in range(1, len(values)) if at not in remixed_before
    ]
    if not ranges:
        raise OutOfRange("moving ranges", 0, 1, None)
    mean = sum(values, Decimal(0)) / len(values)
    moving = sum(ranges, Decimal(0)) / len(ranges)
    reach = 3 * moving / D2
    return Chart(mean, moving, moving / D2, mean - reach, mean + reach)


def house_chart(strips: Sequence[Strip]) -> Chart:
    """Chart of a house's own black-and-white strips.

    Domain: twenty strips at least, all of one lot.  Raises: OutOfRange.
    """
    check_range("strips", len(strips), FEWEST_STRIPS)
    lots = {strip.lot for strip in strips}
    check_range("lots", len(lots), 1, 1)
    remixed = {at for at, strip in enumerate(strips) if strip.after_remix}
    return individuals([strip.value for strip in strips], remixed_before=remixed)


def western_electric(values: Sequence[Decimal], chart: Chart) -> tuple[Signal, ...]:
    """The four run rules, each at the reading that completes it.

    1 beyond 3σ; 2 of 3 beyond 2σ, 4 of 5 beyond 1σ, 8 in a row, always on one side.
    Domain: sigma above zero.  Raises: OutOfRange.
    Source: Western Electric, Statistical Quality Control Handbook (1956); others use 9.
    """
    check_positive("sigma", chart.sigma)
    away = [(value - chart.mean) / chart.sigma for value in values]
    return tuple(
        Signal(rule, at)
        for at in range(len(away))
        for rule, needed, window, sigmas in RUN_RULES
        if _beyond(away, at, needed, window, sigmas)
    )


def trends(values: Sequence[Decimal], *, points: int = TREND_POINTS) -> tuple[Signal, ...]:
    """Readings that complete a run of ``points`` rising or falling, limits or no limits.

    Domain: points >= 3.  Raises: OutOfRange.
    Source: US Army SS0513 p. 71 (five or more); Nelson's rule has six.
    """
    check_range("points", points, 3)
    found, up, down = [], 1, 1
    for at in range(1, len(values)):
        up = up + 1 if values[at] > values[at - 1] else 1
        down = down + 1 if values[at] < values[at - 1] else 1
        if max(up, down) >= points:
            found.append(Signal("trend", at))
    return tuple(found)


def _beyond(away: Sequence[Decimal], at: int, needed: int, window: int, sigmas: int) -> bool:
    """Whether the reading at ``at`` is beyond, and enough of its window on the same side."""
    seen = away[max(0, at + 1 - window) : at + 1]
    for side in (1, -1):
        if side * away[at] > sigmas and sum(side * one > sigmas for one in seen) >= needed:
            return True
    return False
