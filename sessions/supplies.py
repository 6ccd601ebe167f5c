"""Bottles on the shelf with everything they are promised to, ready for the sums of planning."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.db.models import QuerySet

from chemistry import accounts
from chemistry.figures import bath_figures
from chemistry.models import Batch, BatchStop
from chemistry.science.area import remaining_sheets
from chemistry.science.errors import UnknownClass
from chemistry.science.wear import BathState, remaining_mm2
from darkroom.models import Member
from sessions.models import Allotment
from sessions.planning import promises
from sessions.planning.plan import Plan, PlannedBath

NEW = 2**62
"""From here on keys are of promises asked for; of two at once the one that stands goes first."""


@dataclass(frozen=True, slots=True)
class Left:
    """What a bottle still does once every promise is kept; ``sheets`` None: area is no limit."""

    volume_ul: int
    sheets: int | None


@dataclass(frozen=True)
class Supply:
    batch: Batch
    bottle: promises.Bottle
    promised: tuple[promises.Promise, ...]

    def would_break(self, new: promises.Promise) -> tuple[promises.Failure, ...]:
        return promises.newly_failing(self.bottle, self.promised, new)

    def serves(self, new: promises.Promise) -> bool:
        return not self.would_break(new)

    def state_after(self, new: promises.Promise) -> BathState:
        return promises.after_all(self.bottle, [*self.promised, new])

    def left_after(self, new: promises.Promise, sheet_mm2: Decimal) -> Left:
        state = self.state_after(new)
        try:
            area = remaining_mm2(state, new.material, self.bottle.figures)
        except UnknownClass:
            area = Decimal(0)
        sheets = None if area is None else remaining_sheets(area, sheet_mm2)
        return Left(state.volume_ul, sheets)

    def with_promise(self, new: promises.Promise) -> Supply:
        return Supply(self.batch, self.bottle, (*self.promised, new))

    def without(self, session_id: int) -> Supply:
        """The bottle as if this session had been promised nothing."""
        kept = tuple(p for p in self.promised if p.session != session_id)
        return Supply(self.batch, self.bottle, kept)

    def is_for(self, bath: PlannedBath) -> bool:
        way = self.batch.way
        return (way.way, way.draw_n, way.version.recipe_id) == (
            bath.way,
            bath.draw_n,
            bath.recipe_id,
        )


def load_supplies(batches: Iterable[Batch]) -> list[Supply]:
    """The bottles as they stand, by code."""
    return _loaded(Batch.objects.filter(pk__in=[batch.pk for batch in batches]))


def _loaded(batches: QuerySet[Batch]) -> list[Supply]:
    """In a number of queries that does not grow with the bottles."""
    rows = list(
        batches.select_related("account", "way__version__recipe")
        .prefetch_related("way__figures")
        .order_by("code")
    )
    promised = _promised([batch.pk for batch in rows])
    stopped = set(
        BatchStop.objects.filter(batch__in=rows, released_at=None).values_list("batch", flat=True)
    )
    return [
        Supply(batch, _bottle(batch, batch.pk in stopped), tuple(promised[batch.pk]))
        for batch in rows
    ]


def on_shelf(roles: Collection[str], member: Member) -> list[Supply]:
    """Everything of these roles that this member may use, whatever state it is in."""
    found = Batch.objects.open().filter(way__version__recipe__role__in=roles)
    return _loaded(found.filter(owner=None) | found.filter(owner=member))


def locked_for(baths: Iterable[PlannedBath], member: Member, also: Iterable[int]) -> list[Supply]:
    """Every bottle that may be chosen for the baths, and these besides, locked until the end.

    Bottles are read only once all their accounts are held.
    """
    open_to = Batch.objects.open().filter(owner=None) | Batch.objects.open().filter(owner=member)
    wanted: set[int] = set(also)
    recipes = {(bath.recipe_id, bath.way) for bath in baths}
    pairs = open_to.filter(way__version__recipe__in={recipe for recipe, _ in recipes})
    for pk, recipe, way in pairs.values_list("pk", "way__version__recipe", "way__way"):
        if (recipe, way) in recipes:
            wanted.add(pk)
    accounts.lock(batch_ids=wanted)
    return _loaded(Batch.objects.filter(pk__in=wanted))


def promise_for(
    plan: Plan, bath: PlannedBath, starts_at: datetime, member: int
) -> promises.Promise:
    """What the bottle of this step would be asked for."""
    return promises.Promise(
        key=NEW + bath.step_id,
        session=None,
        member=member,
        starts_at=starts_at + timedelta(seconds=bath.starts_s),
        ends_at=starts_at + timedelta(seconds=bath.ends_s),
        material=bath.material,
        area_mm2=plan.area_mm2,
        borrowed_ul=bath.borrowed_ul,
        consumed_ul=bath.consumed_ul,
    )


def best(supplies: Iterable[Supply], new: promises.Promise) -> Supply | None:
    """Of the bottles that serve, the one with least left afterwards: what is begun is used up."""
    serving = [supply for supply in supplies if supply.serves(new)]
    return min(serving, key=lambda supply: _rank(supply, new), default=None)


def _rank(supply: Supply, new: promises.Promise) -> tuple[Decimal, int, str]:
    state = supply.state_after(new)
    area = remaining_mm2(state, new.material, supply.bottle.figures)
    return (Decimal("Infinity") if area is None else area, state.volume_ul, supply.batch.code)


def _bottle(batch: Batch, is_stopped: bool) -> promises.Bottle:
    return promises.Bottle(
        state=BathState(
            volume_ul=batch.account.balance,
            wear=batch.wear,
            arrears_mm2=batch.arrears_mm2,
            turnover=batch.turnover,
            area_mm2=batch.used_mm2,
        ),
        figures=bath_figures(batch.way),
        full_ul=batch.full_ul,
        usable_from=batch.usable_from,
        good_until=batch.good_until,
        is_stopped=is_stopped,
        is_discarded=batch.discarded_at is not None,
        owner=batch.owner_id,
    )


def _promised(batch_ids: list[int]) -> dict[int, list[promises.Promise]]:
    found: dict[int, list[promises.Promise]] = defaultdict(list)
    rows = Allotment.objects.open().filter(batch__in=batch_ids).select_related("session")
    for row in rows:
        assert row.batch_id is not None
        found[row.batch_id].append(
            promises.Promise(
                key=row.pk,
                session=row.session_id,
                member=row.session.member_id,
                starts_at=row.period.lower,
                ends_at=row.period.upper,
                material=row.material,
                area_mm2=row.area_mm2,
                borrowed_ul=row.borrowed_ul,
                consumed_ul=row.consumed_ul,
            )
        )
    return found
