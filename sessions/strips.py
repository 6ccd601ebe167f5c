"""A session drawn along its own hours: what is kept, from when to when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from darkroom.drawing import Lane, Phase
from darkroom.models import EquipmentKind
from sessions.day import DRAWN_AS
from sessions.models import Session
from sessions.models.sessions import Phase as HeldFor
from sessions.pieces import KINDS
from sessions.planning.timeline import Timeline


@dataclass(frozen=True)
class Strip:
    """Lanes between two moments, as the day strip takes them."""

    lanes: Sequence[Lane]
    starts_at: datetime
    ends_at: datetime


def strip_of_plan(line: Timeline, names: Mapping[int, str], starts_at: datetime) -> Strip:
    """What would be kept: vessels by their ``names``, of the other kinds any piece."""
    lanes = [
        Lane(
            names[need.piece] if need.piece else EquipmentKind(KINDS[need.kind]).label,
            tuple(
                _phase(
                    span.phase,
                    starts_at + timedelta(seconds=span.starts_s),
                    starts_at + timedelta(seconds=span.ends_s),
                )
                for span in need.spans
            ),
        )
        for need in line.needs
    ]
    return Strip(lanes, starts_at, starts_at + timedelta(seconds=line.ends_s))


def strip_of_session(visit: Session, zone: ZoneInfo) -> Strip | None:
    """What the session keeps; None once it keeps nothing any more."""
    kept: dict[str, list[Phase]] = defaultdict(list)
    holds = visit.holds.live().select_related("equipment")
    for hold in holds.order_by("period", "equipment"):
        lower, upper = (end.astimezone(zone) for end in (hold.period.lower, hold.period.upper))
        kept[str(hold.equipment)].append(_phase(hold.phase, lower, upper))
    return _around([Lane(name, tuple(phases)) for name, phases in kept.items()])


def _around(lanes: Sequence[Lane]) -> Strip | None:
    phases: Iterable[Phase] = [phase for lane in lanes for phase in lane.phases]
    if not phases:
        return None
    starts_at = min(phase.starts_at for phase in phases)
    return Strip(lanes, starts_at, max(phase.ends_at for phase in phases))


def _phase(held_for: str, starts_at: datetime, ends_at: datetime) -> Phase:
    said = HeldFor(held_for)
    return Phase(DRAWN_AS.get(said, held_for), starts_at, ends_at, says=str(said.label))
