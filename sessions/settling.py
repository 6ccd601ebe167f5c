"""What a session still takes, as its loads are recorded and voided.

1. An open allotment says what is still to come, never what was planned at first.
2. A recorded run takes one load out of each: its own area, one load, one load's consumption.
3. With the last load, or once no area is left, an allotment is *used* and keeps the figures of
   that last share; with the last load the session ends and what it still holds is released. The
   drying pegs stay, for the film hangs there, and so does cleaning that has begun.
   A session that the member ends without another load gives back what is left likewise.
4. The last load is what the member says; unasked, the one that completes the planned sheets or
   the planned number of loads.
5. A voided run gives its share back while the session's time is not over, and reopens a session
   that had ended. Once it is over nothing is promised any more: what was run then is recorded as
   it is. Equipment that was released stays released, for somebody else may have it by now.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from darkroom.models import Equipment
from sessions.loads import planned_loads
from sessions.models import Allotment, Hold, Phase, Session


def lock(visit: Session) -> Session:
    """The session as it stands, locked, and then the equipment it still holds."""
    locked = Session.objects.select_for_update(no_key=True).get(pk=visit.pk)
    held = Equipment.objects.filter(pk__in=locked.holds.live().values("equipment"))
    list(held.select_for_update(no_key=True).order_by("pk").values_list("pk"))
    return locked


def promised_batches(visit: Session) -> set[int]:
    """The bottles that the session may still take from, or be promised again."""
    promised = visit.allotments.values_list("batch", flat=True)
    return {pk for pk in promised if pk is not None}


def take_share(visit: Session, *, area_mm2: Decimal, is_last: bool | None, at: datetime) -> None:
    """Take one recorded load out of what the session still takes; the run is already inserted."""
    ends = completes_plan(visit) if is_last is None else is_last
    touched = list(Allotment.objects.open().filter(session=visit))
    for allotment in touched:
        _take(allotment, area_mm2, ends=ends)
    _save(touched)
    if ends and visit.ended_at is None:
        end(visit, at=at)


def end(visit: Session, *, at: datetime) -> None:
    """Nothing more is run: what is still promised and held is given back."""
    visit.allotments.open().update(state=Allotment.State.RELEASED)
    visit.ended_at = at
    visit.save(update_fields=["ended_at"])
    _release(visit, at=at)


def give_back(visit: Session, *, area_mm2: Decimal, at: datetime) -> None:
    """Promise the share of a voided run again, if the session can still run it."""
    if visit.cancelled_at is not None or at >= visit.ends_at:
        return
    latest = {row.step_id: row for row in visit.allotments.order_by("pk")}
    for allotment in latest.values():
        _give_back(allotment, area_mm2)
    _save(list(latest.values()))
    if visit.ended_at is not None:
        visit.ended_at = None
        visit.save(update_fields=["ended_at"])


def completes_plan(visit: Session) -> bool:
    """Whether the runs that stand cover the planned sheets, or the planned number of loads."""
    done = list(visit.runs.standing().values_list("sheets", flat=True))
    loads = planned_loads(visit)
    return len(done) >= len(loads) or sum(done) >= sum(load.sheets for load in loads)


def _take(allotment: Allotment, area_mm2: Decimal, *, ends: bool) -> None:
    share_ul = allotment.consumed_ul // allotment.loads
    if ends or allotment.area_mm2 <= area_mm2:
        allotment.state = Allotment.State.USED
        allotment.area_mm2, allotment.loads, allotment.consumed_ul = area_mm2, 1, share_ul
    else:
        allotment.area_mm2 -= area_mm2
        allotment.consumed_ul -= share_ul if allotment.loads > 1 else 0
        allotment.loads = max(1, allotment.loads - 1)


def _give_back(allotment: Allotment, area_mm2: Decimal) -> None:
    share_ul = allotment.consumed_ul // allotment.loads
    if allotment.state == Allotment.State.OPEN:
        allotment.area_mm2 += area_mm2
        allotment.consumed_ul += share_ul
        allotment.loads += 1
    else:
        allotment.state = Allotment.State.OPEN
        allotment.area_mm2, allotment.loads, allotment.consumed_ul = area_mm2, 1, share_ul


def _save(allotments: list[Allotment]) -> None:
    Allotment.objects.bulk_update(allotments, ["state", "area_mm2", "loads", "consumed_ul"])


def _release(visit: Session, *, at: datetime) -> None:
    ahead = visit.holds.live().filter(period__endswith__gt=at).exclude(phase=Phase.DRY)
    cleaning = Hold.objects.filter(phase=Phase.CLEAN, period__contains=at)
    ahead.exclude(pk__in=cleaning).update(released_at=at)
