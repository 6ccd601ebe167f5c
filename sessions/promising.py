"""Which bottle serves each step of a session, and what to do where none does."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import ROUND_FLOOR, Decimal

from psycopg.types.range import TimestamptzRange


from chemistry.models import Batch
from darkroom.errors import DomainError
from sessions.models import Allotment, Session
from sessions.planning.plan import Plan, PlannedBath
from sessions.planning.promises import Failure
from sessions.supplies import Supply, best, promise_for
from sessions.wording import failure_sentence

MOST_TRIED = 96
"""Later starts tried for a nearest one that works; a day has no more on the grid."""


class BottleRefused(DomainError):
    """No bottle keeps a step's promise; the sentence says why and what would work."""

    code = "bottle_refused"


@dataclass(frozen=True)
class Pour:
    """A step with the bottle it is promised; None: one that is still to be mixed."""

    bath: PlannedBath
    batch: Batch | None


def choose_bottles(
    plan: Plan,
    supplies: Sequence[Supply],
    starts_at: datetime,
    member: int,
    *,
    later: Callable[[], Iterable[datetime]] = tuple,
) -> list[Pour]:
    """For each step the bottle wished for, or else the best one that serves.

    ``later`` gives other starts, asked for only when something is refused.
    Raises: BottleRefused.
    """
    pours, shelf = [], list(supplies)
    for bath in plan.baths:
        pour = _pour(plan, bath, shelf, starts_at, member, later)
        new = promise_for(plan, bath, starts_at, member)
        shelf = [s.with_promise(new) if s.batch == pour.batch else s for s in shelf]
        pours.append(pour)
    return pours


def insert_allotments(visit: Session, plan: Plan, pours: Iterable[Pour]) -> None:
    allotments = []
    for pour in pours:
        new = promise_for(plan, pour.bath, visit.starts_at, visit.member_id)
        allotments.append(
            Allotment(
                session=visit,
                step_id=pour.bath.step_id,
                way_id=pour.bath.way_id if pour.batch is None else pour.batch.way_id,
                batch=pour.batch,
                period=TimestamptzRange(new.starts_at, new.ends_at),
                material=plan.material,
                area_mm2=new.area_mm2,
                loads=plan.loads,
                borrowed_ul=new.borrowed_ul,
                consumed_ul=new.consumed_ul,
            )
        )
    Allotment.objects.bulk_create(allotments)


def _pour(
    plan: Plan,
    bath: PlannedBath,
    supplies: Sequence[Supply],
    starts_at: datetime,
    member: int,
    later: Callable[[], Iterable[datetime]],
) -> Pour:
    fitting = [supply for supply in supplies if supply.is_for(bath)]
    wished = [s for s in fitting if s.batch.pk == bath.batch_id]
    if bath.batch_id is not None and not wished:
        raise BottleRefused(
            f"That bottle is not one for the {bath.name.lower()} of this plan.",
            field=bath.field,
        )
    chosen = best(wished or fitting, promise_for(plan, bath, starts_at, member))
    if chosen is not None:
        return Pour(bath, chosen.batch)
    if bath.batch_id is None and plan.accepts_mixing:
        return Pour(bath, None)
    raise _refusal(plan, bath, fitting, wished, starts_at, member, later)


def _refusal(
    plan: Plan,
    bath: PlannedBath,
    fitting: Sequence[Supply],
    wished: Sequence[Supply],
    starts_at: datetime,
    member: int,
    later: Callable[[], Iterable[datetime]],
) -> BottleRefused:
    new = promise_for(plan, bath, starts_at, member)
    tried = wished or fitting
    reasons = [(supply, supply.would_break(new)[0]) for supply in tried]
    why = (
        " ".join(failure_sentence(s.batch.code, f, is_own=f.key == new.key) for s, f in reasons)
        or f"There is no bottle for the {bath.name.lower()} on the shelf."
    )
    instead = _instead(plan, bath, fitting, starts_at, member, later, [f for _, f in reasons])
    return BottleRefused(f"{why} {instead}".strip(), field=bath.field, step=bath.step_id)


def _instead(
    plan: Plan,
    bath: PlannedBath,
    fitting: Sequence[Supply],
    starts_at: datetime,
    member: int,
    later: Callable[[], Iterable[datetime]],
    reasons: Sequence[Failure],
) -> str:
    """The nearest thing that works, in one sentence."""
    other = best(fitting, promise_for(plan, bath, starts_at, member))
    if other is not None:
        return f"{other.batch.code} would serve."
    fewer = _fewer_sheets(plan, bath, fitting, starts_at, member)
    if fewer:
        return f"{fewer} sheet{'s' if fewer > 1 else ''} would go."
    for count, start in enumerate(later()):
        if count == MOST_TRIED:
            break
        if best(fitting, promise_for(plan, bath, start, member)) is not None:
            return f"It would go on {start.astimezone(starts_at.tzinfo):%A %-d %B at %H:%M}."
    if any(failure.code == "arrears" for failure in reasons):
        return "It serves again once a steward has topped it up."
    return "Or book it with a bottle that is still to be mixed."


def _fewer_sheets(
    plan: Plan, bath: PlannedBath, fitting: Sequence[Supply], starts_at: datetime, member: int
) -> int:
    """Most sheets below the planned ones for which some bottle serves; 0 for none."""
    low, high = 0, plan.sheets - 1
    while low < high:
        middle = (low + high + 1) // 2
        part = _part(plan, bath, middle)
        if best(fitting, promise_for(*part, starts_at, member)) is not None:
            low = middle
        else:
            high = middle - 1
    return low


def _part(plan: Plan, bath: PlannedBath, sheets: int) -> tuple[Plan, PlannedBath]:
    """The plan and its bath for fewer sheets in as full loads; a load keeps its volume."""
    loads = -(-sheets // plan.sheets_per_load)
    share = Decimal(bath.consumed_ul) * loads / plan.loads
    consumed = int(share.to_integral_value(rounding=ROUND_FLOOR))
    return replace(plan, sheets=sheets, loads=loads), replace(bath, consumed_ul=consumed)
