"""Which bottle serves each step of a session, and what to do where none does."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice

from psycopg.types.range import TimestamptzRange

from chemistry.models import Batch
from darkroom.errors import DomainError
from sessions.models import Allotment, Session
from sessions.planning.plan import Plan, PlannedBath
from sessions.planning.promises import Promise
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


@dataclass(frozen=True)
class Asked:
    """Who asks for which plan at what time, local to the house.

    ``may_lack`` are steps that may go without a bottle for now. ``later`` gives other starts; it
    is asked only when something is refused.
    """

    plan: Plan
    starts_at: datetime
    member: int
    may_lack: Collection[int] = ()
    later: Callable[[], Iterable[datetime]] = tuple

    def promise(self, bath: PlannedBath) -> Promise:
        return promise_for(self.plan, bath, self.starts_at, self.member)


def choose_bottles(asked: Asked, supplies: Iterable[Supply]) -> list[Pour]:
    """For each step the bottle wished for, or else the best one that serves.

    Raises: BottleRefused.
    """
    pours, shelf = [], list(supplies)
    for bath in asked.plan.baths:
        pour = _pour(asked, bath, [supply for supply in shelf if supply.is_for(bath)])
        new = asked.promise(bath)
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
                material=new.material,
                area_mm2=new.area_mm2,
                loads=plan.loads,
                borrowed_ul=new.borrowed_ul,
                consumed_ul=new.consumed_ul,
            )
        )
    Allotment.objects.bulk_create(allotments)


def _pour(asked: Asked, bath: PlannedBath, fitting: Sequence[Supply]) -> Pour:
    tried = fitting
    if bath.batch_id is not None:
        tried = [supply for supply in fitting if supply.batch.pk == bath.batch_id]
        if not tried:
            said = f"That is not a bottle for the {bath.name.lower()} of this plan."
            raise BottleRefused(said, field=bath.field)
    chosen = best(tried, asked.promise(bath))
    if chosen is not None:
        return Pour(bath, chosen.batch)
    if bath.batch_id is None and bath.step_id in asked.may_lack:
        return Pour(bath, None)
    raise _refusal(asked, bath, fitting, tried)


def _refusal(
    asked: Asked, bath: PlannedBath, fitting: Sequence[Supply], tried: Sequence[Supply]
) -> BottleRefused:
    new = asked.promise(bath)
    reasons = [(supply.batch.code, supply.would_break(new)[0]) for supply in tried]
    said = [failure_sentence(code, f, is_own=f.key == new.key) for code, f in reasons]
    if not said:
        said = [f"There is no bottle for the {bath.name.lower()} on the shelf."]
    said.append(_instead(asked, bath, fitting, {failure.code for _, failure in reasons}))
    return BottleRefused(" ".join(said), field=bath.field, step=bath.step_id)


def _instead(
    asked: Asked, bath: PlannedBath, fitting: Sequence[Supply], codes: Collection[str]
) -> str:
    """The nearest thing that works, in one sentence."""
    other = best(fitting, asked.promise(bath))
    if other is not None:
        return f"{other.batch.code} would serve."
    fewer = _fewer_sheets(asked, bath, fitting)
    if fewer:
        return f"{fewer} sheet{'s' if fewer > 1 else ''} would go."
    for start in islice(asked.later(), MOST_TRIED):
        if best(fitting, replace(asked, starts_at=start).promise(bath)) is not None:
            local = start.astimezone(asked.starts_at.tzinfo)
            return f"It would go on {local:%A %-d %B at %H:%M}."
    if "arrears" in codes:
        return "It serves again once a steward has topped it up."
    return "Or book it with a bottle that is still to be mixed."


def _fewer_sheets(asked: Asked, bath: PlannedBath, fitting: Sequence[Supply]) -> int:
    """Most sheets below the planned ones for which some bottle serves; 0 for none."""
    low, high = 0, asked.plan.sheets - 1
    while low < high:
        middle = (low + high + 1) // 2
        if best(fitting, _part(asked, bath, middle)) is not None:
            low = middle
        else:
            high = middle - 1
    return low


def _part(asked: Asked, bath: PlannedBath, sheets: int) -> Promise:
    """What fewer sheets would ask for, in loads as full as planned; a load keeps its volume."""
    fewer = asked.plan.with_fewer(sheets)
    part = replace(bath, consumed_ul=bath.consumed_ul * fewer.loads // asked.plan.loads)
    return replace(asked, plan=fewer).promise(part)
