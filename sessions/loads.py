"""A session's loads, as planned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from darkroom.models import Equipment
from sessions.models import Session, SessionLine
from sessions.models.sessions import Phase
from sessions.planning.splitting import in_turn, split_sheets


@dataclass(frozen=True)
class Load:
    """The sheets that share a vessel once. Sheets that need different times never do."""

    number: int
    line: SessionLine
    sheets: int
    vessel: Equipment
    agitation: str
    load_ml: int

    @property
    def area_mm2(self) -> Decimal:
        return self.sheets * self.line.format.area_mm2


def planned_loads(visit: Session) -> list[Load]:
    """All loads of the session in the order they are run."""
    pairs = [
        (line.vessel_id or visit.vessel_id, (line, sheets))
        for line in visit.lines.all()
        for sheets in split_sheets(line.sheets, line.sheets_per_load or visit.sheets_per_load)
    ]
    return [
        Load(number, line, sheets, *line.seat_in(visit), line.load_ml or visit.load_ml)
        for number, (_, (line, sheets)) in enumerate(in_turn(pairs), start=1)
    ]


def was_through(load: Load, visit: Session, *, at: datetime) -> datetime:
    """When a load that is recorded at ``at`` was through its baths.

    While the session lasts that is just now; long after it, as it was planned.
    """
    if at <= visit.ends_at:
        return at
    loads = (each for each in planned_loads(visit) if each.vessel == load.vessel)
    before = sum(each.number < load.number for each in loads)
    wet = visit.holds.live().filter(equipment=load.vessel, phase=Phase.WET).order_by("period")
    ends = [hold.period.upper for hold in wet]
    return ends[before] if before < len(ends) else visit.ends_at
