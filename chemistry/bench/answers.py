"""What a bench sum gives back, and how it refuses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chemistry.models import Standing
from chemistry.science.errors import OutOfRange
from darkroom.errors import DomainError
from darkroom.templatetags.look import SPACE, number


@dataclass(frozen=True, slots=True)
class Result:
    """One number of an answer, never without its unit."""

    value: str
    unit: str
    label: str


@dataclass(frozen=True, slots=True)
class Used:
    """A figure that went in, where it comes from and how sure that is."""

    says: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class Table:
    """Several answers at once; ``#`` before a head marks a column of numbers."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """Numbers and a sentence; then the formula, its source, what was put in, where it holds.

    ``is_refusal``: the sum came out, and what it says is: do not. ``more``: a page and its name.
    """

    results: tuple[Result, ...]
    sentence: str
    formula: str
    law: str
    steps: tuple[str, ...]
    used: tuple[Used, ...]
    holds: str
    cautions: tuple[str, ...] = ()
    table: Table | None = None
    more: tuple[str, str] | None = None
    is_refusal: bool = False


class Refused(DomainError):
    """The sum does not answer this; ``field`` is the figure to look at."""

    code = "bench_refused"


@dataclass(frozen=True, slots=True)
class Outside:
    """Beside which field a figure out of range is told, and what to do instead."""

    field: str
    instead: str


def standing(of: Standing) -> str:
    return str(of.label)


def entered(says: str) -> Used:
    """A figure that the reader brought along."""
    return Used(says, "Entered on this page", "the reader's own figure")


def house_figure(says: str, *, is_house: bool) -> Used:
    """One that the house rules suggest: theirs, as long as it is left as it came."""
    if not is_house:
        return entered(says)
    return Used(says, "House rules", standing(Standing.HOUSE))


def outside_says(error: OutOfRange, unit: str) -> str:
    """What is wrong with the value, with the bounds that the sum named."""
    value, low, high = (_plain(one) for one in (error.value, error.low, error.high))
    tail = f"{SPACE}{unit}" if unit else ""
    if low and high:
        return f"{value}{tail} lies outside {low} to {high}{tail}."
    if low:
        more = "more than" if value == low else "at least"
        return f"It has to be {more} {low}{tail}."
    if high:
        return f"It may be {high}{tail} at most."
    return f"With {value}{tail} this cannot be reckoned."


def _plain(value: object) -> str:
    return "" if value is None else number(round(float(str(value)), 2))


def joined(words: Sequence[str]) -> str:
    """``a, b and c``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
