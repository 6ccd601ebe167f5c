"""Refusals of the sums."""

import math
from decimal import Decimal


class OutOfRange(ValueError):
    """A figure lies outside the range for which the sum is valid."""

    def __init__(
        self,
        name: str,
        value: Decimal | float,
        low: Decimal | float | None,
        high: Decimal | float | None,
    ) -> None:
        super().__init__(name, value, low, high)
        self.name = name
        self.value = value
        self.low = low
        self.high = high

    def __str__(self) -> str:
        low = "" if self.low is None else f" from {self.low}"
        high = "" if self.high is None else f" to {self.high}"
        return f"{self.name} = {self.value} is outside the range{low}{high}"


class UnknownClass(ValueError):
    """A bath names no capacity for this class of material, so it may not be used for it."""

    def __init__(self, material: str) -> None:
        super().__init__(material)
        self.material = material


def check_range(
    name: str,
    value: Decimal | float,
    low: Decimal | float | None,
    high: Decimal | float | None = None,
) -> None:
    """Raise OutOfRange unless ``low <= value <= high``; a bound of None is open.

    Raises: OutOfRange, also for a value that is not a number or not finite.
    """
    finite = value.is_finite() if isinstance(value, Decimal) else math.isfinite(value)
    if not finite or (low is not None and value < low) or (high is not None and value > high):
        raise OutOfRange(name, value, low, high)


def check_positive(name: str, value: Decimal | float) -> None:
    """Raise OutOfRange unless ``value`` is finite and above zero.

    Raises: OutOfRange.
    """
    check_range(name, value, 0)
    if value == 0:
        raise OutOfRange(name, value, 0, None)
