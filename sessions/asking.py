"""What a member says they bring, and how they would like it done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from chemistry.models import Film, Process, WayOfUse
from darkroom.models import Format, Member


class Priority(StrEnum):
    SOLUTION = "solution"
    TIME = "time"
    STEADY = "steady"


@dataclass(frozen=True)
class AskLine:
    """Sheets of one film and format, developed alike.

    ``own_minutes`` stands in place of the printed time.
    """

    film: Film
    index: int
    format: Format
    sheets: int
    own_minutes: Decimal | None = None

    @property
    def area_mm2(self) -> Decimal:
        return self.sheets * self.format.area_mm2

    def __str__(self) -> str:
        return f"{self.format}, {self.film}"


@dataclass(frozen=True)
class Ask:
    """What goes through one process in one session: a first line, and ``more`` of them.

    ``developer`` None: the one with bottles and a printed time. ``temp_c`` None: the process's own.
    ``agitation`` empty: any. ``priority`` orders what can be had.
    """

    member: Member
    film: Film
    index: int
    format: Format
    sheets: int
    developer: WayOfUse | None = None
    agitation: str = ""
    temp_c: Decimal | None = None
    own_minutes: Decimal | None = None
    more: tuple[AskLine, ...] = ()
    priority: str = ""

    @property
    def lines(self) -> Sequence[AskLine]:
        first = AskLine(self.film, self.index, self.format, self.sheets, self.own_minutes)
        return (first, *self.more)

    @property
    def process(self) -> Process:
        return self.film.process

    @property
    def area_mm2(self) -> Decimal:
        return sum((line.area_mm2 for line in self.lines), Decimal(0))

    @property
    def materials(self) -> frozenset[str]:
        return frozenset(line.film.material for line in self.lines)
