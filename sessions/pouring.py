"""For each step of a plan: the bottles that would serve, what they have left then, what to mix."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import ROUND_CEILING, Decimal

from chemistry.figures import bath_figures, value
from chemistry.models import FigureName, Recipe, Way
from chemistry.science.wear import UL_PER_L
from chemistry.volumes import ml_text
from sessions.means import Means
from sessions.planning.plan import Plan, PlannedBath
from sessions.supplies import Left, Supply, best, promise_for
from sessions.wording import failure_sentence


@dataclass(frozen=True)
class Serving:
    """A bottle that serves, and what it still does afterwards."""

    supply: Supply
    left: Left

    @property
    def code(self) -> str:
        return self.supply.batch.code

    @property
    def words(self) -> str:
        """The bottle and what it still does once everybody has had theirs."""
        if self.left.sheets is None:
            return f"{self.code}, {ml_text(self.left.volume_ul)} left afterwards"
        sheets = "sheet" if self.left.sheets == 1 else "sheets"
        return f"{self.code}, {self.left.sheets} {sheets} left afterwards"


@dataclass(frozen=True)
class Mixing:
    """What somebody has to mix, how much at least, and until when."""

    recipe: Recipe
    volume_ul: int
    by: datetime


@dataclass(frozen=True)
class BathChoice:
    """The best bottle first; without one, ``mixing`` says what is to be done."""

    bath: PlannedBath
    serving: Sequence[Serving]
    failing: Sequence[str]
    mixing: Mixing

    @property
    def best(self) -> Serving | None:
        return self.serving[0] if self.serving else None

    @property
    def mixing_words(self) -> str:
        return f"{ml_text(self.mixing.volume_ul)} of {self.mixing.recipe}"


def bath_choices(means: Means, plan: Plan, starts_at: datetime) -> list[BathChoice]:
    """What the shelf can do for each step of a session that starts then."""
    return [_choice(means, plan, bath, starts_at) for bath in plan.baths]


def _choice(means: Means, plan: Plan, bath: PlannedBath, starts_at: datetime) -> BathChoice:
    new = promise_for(plan, bath, starts_at, means.ask.member.pk)
    fitting = [supply for supply in means.supplies if supply.is_for(bath)]
    first = best(fitting, new)
    serving, failing = [], []
    for supply in sorted(fitting, key=lambda s: s is not first):
        broken = supply.would_break(new)
        if broken:
            is_own = broken[0].key == new.key
            failing.append(failure_sentence(supply.batch.code, broken[0], is_own=is_own))
        else:
            serving.append(Serving(supply, supply.left_after(new, plan.lines[0].sheet_mm2)))
    return BathChoice(bath, serving, failing, mixing(means, plan, bath, starts_at))


def mixing(means: Means, plan: Plan, bath: PlannedBath, starts_at: datetime) -> Mixing:
    """The least that serves the whole session: enough to pour, and enough to bear the area."""
    way = next(way for way in means.ways if way.pk == bath.way_id)
    volume = max(bath.borrowed_ul, bath.consumed_ul)
    capacity = bath_figures(way).capacity_mm2_per_l.get(bath.material)
    if way.way == Way.REUSED and capacity:
        asked = plan.area_mm2 * UL_PER_L / capacity
        volume = max(volume, int(asked.to_integral_value(rounding=ROUND_CEILING)))
    ripens_h = value(way, FigureName.USABLE_AFTER) or Decimal(0)
    by = starts_at + timedelta(seconds=bath.starts_s) - timedelta(hours=float(ripens_h))
    return Mixing(way.version.recipe, volume, by)
