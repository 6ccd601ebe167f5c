"""Dilutions and parts, in whole microlitres that always sum to the whole."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Self

from chemistry.science.errors import OutOfRange, check_positive, check_range
from chemistry.units import whole_half_up


class AmbiguousRatio(ValueError):
    """``1:n`` means 1+n to one maker and 1 in n to another; it is not accepted."""


@dataclass(frozen=True, slots=True)
class Dilution:
    """One part of stock and ``parts`` parts of water: 1+n, and never anything else.

    Example:
    >>> Dilution.parse("1+50").total_parts
    Decimal('51')
    """

    parts: Decimal

    def __post_init__(self) -> None:
        check_range("parts", self.parts, 0)

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``1+n``; ``stock`` and ``undiluted`` are 1+0.

        Raises: AmbiguousRatio for ``1:n`` and ``1/n``, ValueError for anything else.
        """
        plain = text.strip().lower().replace(" ", "").replace(",", ".")
        if plain in {"stock", "undiluted"}:
            return cls(Decimal(0))
        if re.fullmatch(r"1[:/][0-9.]+", plain):
            raise AmbiguousRatio(f"{text}: write 1+n, one part of stock plus n parts of water")
        found = re.fullmatch(r"1\+(\d+(?:\.\d+)?)", plain)
        if found is None:
            raise ValueError(f"not a dilution of the form 1+n: {text}")
        return cls(Decimal(found[1]))

    @classmethod
    def one_in(cls, whole: Decimal) -> Self:
        """The dilution in which stock is one part of ``whole``: 1 in 5 is 1+4.

        Domain: whole >= 1.  Raises: OutOfRange.
        """
        check_range("whole", whole, 1)
        return cls(whole - 1)

    @property
    def total_parts(self) -> Decimal:
        return 1 + self.parts

    def then(self, further: Self) -> "Dilution":
        """The dilution that results when this one is diluted once more."""
        return Dilution(self.total_parts * further.total_parts - 1)

    def __str__(self) -> str:
        return f"1+{self.parts.normalize():f}"


def mix(total_ul: int, dilution: Dilution) -> tuple[int, int]:
    """Stock and water for ``total_ul`` of working solution; they sum to it exactly.

    The stock is rounded half up, the water is the rest.
    Units: µL.  Domain: total_ul >= 0.  Raises: OutOfRange.
    """
    check_range("total_ul", total_ul, 0)
    stock_ul = whole_half_up(total_ul / dilution.total_parts)
    return stock_ul, total_ul - stock_ul


def total_from_stock_ul(stock_ul: int, dilution: Dilution) -> int:
    """Working solution that an amount of stock makes.

    Units: µL.  Domain: stock_ul >= 0.  Raises: OutOfRange.
    """
    check_range("stock_ul", stock_ul, 0)
    return whole_half_up(stock_ul * dilution.total_parts)


def split_parts(total_ul: int, parts: Sequence[Decimal], *, step_ul: int = 1) -> tuple[int, ...]:
    """A total in the given proportions (a + b + water); the amounts sum to it exactly.

    Each is rounded half up to ``step_ul``; the largest, ordinarily the water, takes what
    rounding leaves.
    Units: µL.  Domain: no part negative, not all zero; the total large enough to be split.
    Raises: OutOfRange.
    """
    check_positive("step_ul", step_ul)
    check_range("total_ul", total_ul, 0)
    for part in parts:
        check_range("parts", part, 0)
    whole = sum(parts, Decimal(0))
    check_positive("parts", whole)
    amounts = [whole_half_up(total_ul * part / whole / step_ul) * step_ul for part in parts]
    largest = parts.index(max(parts))
    amounts[largest] = total_ul - (sum(amounts) - amounts[largest])
    if amounts[largest] < 0:
        raise OutOfRange("total_ul", total_ul, step_ul * len(parts) ** 2, None)
    return tuple(amounts)
