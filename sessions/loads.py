"""A session's loads, as planned."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from sessions.models import Session, SessionLine
from sessions.planning.splitting import split_sheets


@dataclass(frozen=True)
class Load:
    """The sheets that share the vessel once. Sheets that need different times never do."""

    number: int
    line: SessionLine
    sheets: int

    @property
    def area_mm2(self) -> Decimal:
        return self.sheets * self.line.format.area_mm2


def planned_loads(visit: Session) -> list[Load]:
    """All loads of the session in the order they are run, line by line."""
    pairs = [
        (line, sheets)
        for line in visit.lines.all()
        for sheets in split_sheets(line.sheets, visit.sheets_per_load)
    ]
    return [Load(number, line, sheets) for number, (line, sheets) in enumerate(pairs, start=1)]
