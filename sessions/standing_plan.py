"""The plan of a session that stands, read back from what it keeps."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime

from chemistry.models import Role
from sessions.models import Allotment, Hold, Session
from sessions.pieces import KINDS
from sessions.planning.plan import Plan, PlannedBath
from sessions.planning.timeline import VESSEL, Need, Span, Timeline

NEED_OF_KIND = {str(kind): need for need, kind in KINDS.items()}


def plan_of(visit: Session) -> Plan:
    """What the session would ask for at any other time: the same phases, the same baths.

    Steps keep the bottles they are promised.
    """
    line = visit.lines.select_related("film", "format").get()
    allotments = visit.allotments.open().select_related("step", "way__version").order_by("step")
    found = list(allotments)
    developer = next((a for a in found if a.step.role == Role.DEVELOPER), None)
    return Plan(
        process_id=visit.process_id,
        vessel_id=visit.vessel_id,
        agitation=visit.agitation,
        film_id=line.film_id,
        material=line.film.material,
        index=line.index,
        format_id=line.format_id,
        sheets=line.sheets,
        sheet_mm2=line.format.area_mm2,
        sheets_per_load=visit.sheets_per_load,
        loads=-(-line.sheets // visit.sheets_per_load),
        load_ml=visit.load_ml,
        developer_id=developer.way.version.recipe_id if developer else 0,
        time_row_id=line.time_row_id,
        own_minutes=line.own_minutes,
        temp_c=line.temp_c,
        timeline=timeline_of(visit),
        baths=tuple(_bath(visit, allotment) for allotment in found),
    )


def timeline_of(visit: Session) -> Timeline:
    """The phases for which the session keeps something, in seconds from its start."""
    spans: dict[str, list[Span]] = defaultdict(list)
    for hold in visit.holds.live().select_related("equipment").order_by("period"):
        spans[_need_kind(visit, hold)].append(_span(visit, hold))
    needs = tuple(Need(kind, tuple(found)) for kind, found in spans.items())
    attended_s = _seconds(visit, visit.ends_at)
    last_s = max((span.ends_s for need in needs for span in need.spans), default=attended_s)
    return Timeline(needs, (), attended_s, max(attended_s, last_s))


def _need_kind(visit: Session, hold: Hold) -> str:
    if hold.equipment_id == visit.vessel_id:
        return VESSEL
    return NEED_OF_KIND[hold.equipment.kind]


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
        borrowed_ul=allotment.borrowed_ul,
        consumed_ul=allotment.consumed_ul,
        starts_s=_seconds(visit, allotment.period.lower),
        ends_s=_seconds(visit, allotment.period.upper),
        batch_id=allotment.batch_id,
    )


def _seconds(visit: Session, at: datetime) -> int:
    return round((at - visit.starts_at).total_seconds())
