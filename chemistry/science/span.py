"""A figure known only as a range; arithmetic on it keeps both ends."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Self

from chemistry.science.errors import check_range


@dataclass(frozen=True, slots=True)
class Span:
    """From ``low`` to ``high``, neither negative."""

    low: Decimal
    high: Decimal

    def __post_init__(self) -> None:
        check_range("low", self.low, 0)
        check_range("high", self.high, self.low)

    @classmethod
    def exactly(cls, value: Decimal) -> Self:
        """A measured value: both ends are the same."""
        return cls(value, value)

    def times(self, factor: Decimal) -> "Span":
        """Both ends times a factor that is not negative."""
        check_range("factor", factor, 0)
        return Span(self.low * factor, self.high * factor)

    def by(self, other: "Span") -> "Span":
        """Product of two ranges."""
        return Span(self.low * other.low, self.high * other.high)

    def plus(self, other: "Span") -> "Span":
        """Sum of two ranges."""
        return Span(self.low + other.low, self.high + other.high)
