"""What a bench sum is made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from chemistry.bench.answers import Answer, Outside
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench

Given = Mapping[str, Any]


class Group(StrEnum):
    """Heads on the page of all sums, in their order."""

    MIXING = "Mixing"
    HEAT = "Warm and cold"
    MINUTES = "Minutes"
    WASHING = "Washing"
    LEFT = "How much is left"


@dataclass(frozen=True)
class Sum:
    """One everyday sum: its form, how it is solved, and how its refusals are put.

    ``outside`` goes by the name that the pure sum gives to the figure out of range; ``place``
    orders the sums of a group.
    """

    slug: str
    title: str
    question: str
    group: Group
    form: type[BenchForm]
    solve: Callable[[Given, Bench], Answer]
    example: Callable[[Bench], Mapping[str, str]]
    outside: Mapping[str, Outside] = field(default_factory=dict)
    caution: str = ""
    place: int = 9


def always(figures: Mapping[str, str]) -> Callable[[Bench], Mapping[str, str]]:
    """The same example in every house."""
    return lambda bench: figures
