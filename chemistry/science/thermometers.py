"""Thermometers: offsets by comparison, and whether an instrument is good enough at all."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from chemistry.science.errors import OutOfRange, check_positive, check_range

COMPARED_WITHIN_C = Decimal(2)
IEC_60751 = {
    "AA": (Decimal("0.10"), Decimal("0.0017")),
    "A": (Decimal("0.15"), Decimal("0.002")),
    "B": (Decimal("0.30"), Decimal("0.005")),
    "C": (Decimal("0.6"), Decimal("0.01")),
}
"""Fixed part in °C, and part per °C of the reading's distance from 0 °C."""


class NotCompared(ValueError):
    """The instrument was never compared near this temperature."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Both instruments in one bath, read together."""

    reading_c: Decimal
    reference_c: Decimal

    @property
    def offset_c(self) -> Decimal:
        """What has to be added to a reading."""
        return self.reference_c - self.reading_c


def corrected_c(raw_c: Decimal, comparisons: Sequence[Comparison]) -> Decimal:
    """Reading plus the offset of the comparison nearest to it, within 2 °C.

    Units: °C.  Raises: NotCompared, OutOfRange.
    """
    check_range("raw_c", raw_c, None)
    near = min(comparisons, key=lambda one: abs(one.reading_c - raw_c), default=None)
    if near is None or abs(near.reading_c - raw_c) > COMPARED_WITHIN_C:
        raise NotCompared(f"no comparison within {COMPARED_WITHIN_C} °C of {raw_c} °C")
    return raw_c + near.offset_c


def probe_error_c(probe_class: str, temp_c: Decimal) -> Decimal:
    """Largest error that a platinum sensor of this class may have, uncalibrated.

    Units: °C.  Domain: classes AA, A, B, C.  Raises: OutOfRange.
    Source: IEC 60751.
    """
    check_range("temp_c", temp_c, None)
    if probe_class not in IEC_60751:
        raise OutOfRange(f"probe class {probe_class}", 0, None, None)
    fixed, per_c = IEC_60751[probe_class]
    return fixed + per_c * abs(temp_c)


def can_serve(*, error_c: Decimal, tolerance_c: Decimal) -> bool:
    """Whether an instrument of this error can tell that a tolerance is kept.

    Units: °C.  Domain: error not negative, tolerance above zero.  Raises: OutOfRange.
    """
    check_range("error_c", error_c, 0)
    check_positive("tolerance_c", tolerance_c)
    return error_c <= tolerance_c


def spread_c(readings_c: Sequence[Decimal]) -> Decimal:
    """Highest less lowest of several instruments in one bath.

    Units: °C.  Domain: two readings at least.  Raises: OutOfRange.
    """
    check_range("readings", len(readings_c), 2)
    for reading_c in readings_c:
        check_range("reading_c", reading_c, None)
    return max(readings_c) - min(readings_c)
