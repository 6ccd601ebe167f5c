"""What a member says they bring, and how they would like it done."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from chemistry.models import Film, Process, WayOfUse
from darkroom.models import Format, Member


@dataclass(frozen=True)
class Ask:
    """Sheets of one film and format, developed alike.

    ``developer`` None: the one with bottles and a printed time. ``temp_c`` None: the process's own.
    ``own_minutes`` stands in place of the printed time. ``agitation`` empty: any.
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

    @property
    def process(self) -> Process:
        return self.film.process

    @property
    def area_mm2(self) -> Decimal:
        return self.sheets * self.format.area_mm2
