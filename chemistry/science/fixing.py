"""Fixers: clearing time against a baseline, and two baths in a row."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from chemistry.science.errors import OutOfRange, check_positive, check_range

SAME_TEMP_C = Decimal(1)
SPENT_RATIO = Decimal(2)
ROTATIONS = 3
UL_PER_L = 1_000_000


class NoBaseline(ValueError):
    """Nothing this clearing time may be held against; it gives no verdict."""


class FixerVerdict(StrEnum):
    """What a test says of a fixer."""

    GOOD = "good"
    SPENT = "spent"


@dataclass(frozen=True, slots=True)
class ClearingTest:
    """Seconds until a scrap of this film turned clear in this batch."""

    batch: str
    film: str
    seconds: Decimal
    temp_c: Decimal


@dataclass(frozen=True, slots=True)
class TwoBaths:
    """Two fixers in a row: the share used of each, and how often they moved up."""

    first_wear: Decimal
    second_wear: Decimal = Decimal(0)
    rotations: int = 0


def clearing_ratio(test: ClearingTest, baseline: ClearingTest | None) -> Decimal:
    """Clearing time over that of the same batch when fresh, same film, within 1 °C.

    Raises: NoBaseline, OutOfRange.
    """
    if baseline is None:
        raise NoBaseline("no clearing time was taken on this bath when it was fresh")
    if (test.batch, test.film) != (baseline.batch, baseline.film):
        raise NoBaseline("the baseline is of another bath or another film")
    if abs(test.temp_c - baseline.temp_c) > SAME_TEMP_C:
        raise NoBaseline("the baseline was taken more than 1 °C away")
    check_positive("seconds", test.seconds)
    check_positive("seconds", baseline.seconds)
    return test.seconds / baseline.seconds


def clearing_verdict(test: ClearingTest, baseline: ClearingTest | None) -> FixerVerdict:
    """Spent once the clearing time has doubled.

    Raises: NoBaseline, OutOfRange.
    Source: NAVEDTRA 14209, Photography (Basic), life of a fixing bath.
    """
    ratio = clearing_ratio(test, baseline)
    return FixerVerdict.SPENT if ratio >= SPENT_RATIO else FixerVerdict.GOOD


def fixer_verdict(*, wear: Decimal, clearing: FixerVerdict | None) -> FixerVerdict:
    """Count and clearing time together: the worse rules.

    Without a clearing test only the count speaks.  Raises: OutOfRange.
    """
    check_range("wear", wear, 0)
    spent = wear >= 1 or clearing is FixerVerdict.SPENT
    return FixerVerdict.SPENT if spent else FixerVerdict.GOOD


def fixing_time_s(clearing_s: Decimal, *, multiple: Decimal) -> Decimal:
    """Fixing time as a multiple of the clearing time: 2, or 3 for tabular film.

    Units: s.  Domain: 2 <= multiple <= 4.  Raises: OutOfRange.
    Source: NAVEDTRA 14209 (2 ×); Anchell & Troop, The Film Developing Cookbook (3 ×).
    """
    check_positive("clearing_s", clearing_s)
    check_range("multiple", multiple, 2, 4)
    return clearing_s * multiple


def cold_fixing_factor(temp_c: float) -> float:
    """Factor on the fixing time of a cold bath; it doubles every 10 °C below 20 °C.

    Units: °C.  Domain: 2 <= temp_c <= 20.  Raises: OutOfRange.
    Source: TM 11-2323 (× 2 per 18 °F below 68 °F).
    """
    check_range("temp_c", temp_c, 2.0, 20.0)
    return float(2.0 ** ((20.0 - temp_c) / 10.0))


def two_baths_after(
    state: TwoBaths,
    *,
    area_mm2: Decimal,
    capacity_mm2_per_l: Decimal,
    first_ul: int,
    second_ul: int,
    carried_ul: int,
) -> TwoBaths:
    """Both baths after one load: the first takes the area, the second what is carried over.

    The second gains carried volume ÷ its own volume × (w₁ - w₂), with w₁ after the load.
    Units: mm², mm²/L, µL.  Raises: OutOfRange.
    Source: mixing by volume of the solution carried over.
    """
    check_range("area_mm2", area_mm2, 0)
    check_positive("capacity_mm2_per_l", capacity_mm2_per_l)
    check_positive("first_ul", first_ul)
    check_positive("second_ul", second_ul)
    check_range("carried_ul", carried_ul, 0, second_ul)
    first = state.first_wear + area_mm2 * UL_PER_L / (capacity_mm2_per_l * first_ul)
    gain = max(Decimal(0), first - state.second_wear) * carried_ul / second_ul
    # The last digit of the division may round up; what flows in is never worse than its source.
    second = min(state.second_wear + gain, max(state.second_wear, first))
    return TwoBaths(first, second, state.rotations)


def must_rotate(state: TwoBaths, clearing: FixerVerdict | None) -> bool:
    """Whether the first bath goes: at its capacity, or when its clearing time has doubled."""
    return fixer_verdict(wear=state.first_wear, clearing=clearing) is FixerVerdict.SPENT


def rotated(state: TwoBaths) -> TwoBaths | None:
    """The second bath moves up and keeps its wear; None when both have to go.

    Domain: rotations >= 0.  Raises: OutOfRange.
    Source: Darkroom Cookbook, 3rd ed., p. 107 (after the third rotation both go).
    """
    if state.rotations < 0:
        raise OutOfRange("rotations", state.rotations, 0, ROTATIONS)
    if state.rotations >= ROTATIONS:
        return None
    return TwoBaths(state.second_wear, Decimal(0), state.rotations + 1)
