"""The plan of a session that stands, read back from what it keeps."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from chemistry.models import Role
from darkroom.models import Equipment
from sessions.models import Allotment, Hold, Session, SessionLine
from sessions.pieces import KINDS
from sessions.planning.plan import Plan, PlannedBath, PlannedLine
from sessions.planning.timeline import VESSEL, Need, Span, Timeline

NEED_OF_KIND = {str(kind): need for need, kind in KINDS.items()}


def plan_of(visit: Session) -> Plan:
    """What the session would ask for at any other time: the same phases, the same baths.

    Steps keep the bottles they are promised.
    """
    lines = visit.lines.select_related("format")
    allotments = visit.allotments.open().select_related("step", "way__version").order_by("step")
    found = list(allotments)
    developer = next((a for a in found if a.step.role == Role.DEVELOPER), None)
    return Plan(
        process_id=visit.process_id,
        developer_id=developer.way.version.recipe_id if developer else 0,
        lines=tuple(_line(visit, line) for line in lines),
        timeline=timeline_of(visit),
        baths=tuple(_bath(visit, allotment) for allotment in found),
    )


def timeline_of(visit: Session) -> Timeline:
    """The phases for which the session keeps or lost something, in seconds from its start."""
    spans: dict[tuple[str, int | None], list[Span]] = defaultdict(list)
    for hold in visit.holds.wanted().select_related("equipment").order_by("period"):
        spans[_need_of(hold.equipment)].append(_span(visit, hold))
    needs = tuple(Need(kind, tuple(found), piece) for (kind, piece), found in spans.items())
    attended_s = _seconds(visit, visit.ends_at)
    last_s = max((span.ends_s for need in needs for span in need.spans), default=attended_s)
    return Timeline(needs, (), attended_s, max(attended_s, last_s))


def _line(visit: Session, line: SessionLine) -> PlannedLine:
    return PlannedLine(
        film_id=line.film_id,
        index=line.index,
        format_id=line.format_id,
        sheets=line.sheets,
        sheet_mm2=line.format.area_mm2,
        vessel_id=line.vessel_id or visit.vessel_id,
        agitation=line.agitation or visit.agitation,
        sheets_per_load=line.sheets_per_load or visit.sheets_per_load,
        load_ml=line.load_ml or visit.load_ml,
        time_row_id=line.time_row_id,
        own_minutes=line.own_minutes,
        temp_c=line.temp_c,
    )


def _need_of(piece: Equipment) -> tuple[str, int | None]:
    """Vessels stay what they are; of everything else any piece of the kind will do."""
    return (VESSEL, piece.pk) if piece.is_vessel else (NEED_OF_KIND[piece.kind], None)


def _span(visit: Session, hold: Hold) -> Span:
    return Span(hold.phase, _seconds(visit, hold.period.lower), _seconds(visit, hold.period.upper))


def _bath(visit: Session, allotment: Allotment) -> PlannedBath:
    way = allotment.way
    return PlannedBath(
        step_id=allotment.step_id,
        name=allotment.step.name,
        way_id=way.pk,
        recipe_id=way.version.recipe_id,
        way=way.way,
        draw_n=way.draw_n,
        material=allotment.material,
        borrowed_ul=allotment.borrowed_ul,
        consumed_ul=allotment.consumed_ul,
        starts_s=_seconds(visit, allotment.period.lower),
        ends_s=_seconds(visit, allotment.period.upper),
        batch_id=allotment.batch_id,
    )


def _seconds(visit: Session, at: datetime) -> int:
    return round((at - visit.starts_at).total_seconds())
