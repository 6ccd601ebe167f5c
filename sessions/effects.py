"""What a run did to each bottle, as it stands now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from chemistry.models import Batch, Movement, MovementKind
from chemistry.volumes import ml_text
from darkroom.models import HouseRules
from sessions import bottles
from sessions.bottles import Bottle
from sessions.models import Run, RunBath


@dataclass(frozen=True)
class Effect:
    bath: RunBath
    bottle: Bottle
    says: str


def told(runs: QuerySet[Run]) -> QuerySet[Run]:
    """The runs with all that their pages show."""
    baths = RunBath.objects.select_related("step", "batch").order_by("step__order")
    return runs.select_related(
        "film", "format", "vessel", "member", "voided_by", "session__member", "process"
    ).prefetch_related(Prefetch("baths", baths))


def effects(runs: Sequence[Run], *, at: datetime, rules: HouseRules) -> dict[int, list[Effect]]:
    """By run: its bottles, what is left in them, what they owe. A fixed number of queries."""
    ids = {bath.batch_id for run in runs for bath in run.baths.all() if bath.batch_id is not None}
    found = bottles.by_id(ids, at=at, rules=rules)
    return {
        run.pk: [
            Effect(bath, found[bath.batch_id], _says(run, found[bath.batch_id]))
            for bath in run.baths.all()
            if bath.batch_id is not None
        ]
        for run in runs
    }


def short_of(run: Run) -> list[tuple[Batch, int]]:
    """The bottles that were thought to hold less than was taken, and by how much. Units: µL."""
    found = Movement.objects.filter(
        operation=run.operation, kind=MovementKind.SHORTFALL, target__batch__isnull=False
    )
    rows = found.select_related("target__batch").order_by("pk")
    return [(row.target.batch, row.quantity) for row in rows if row.target.batch is not None]


def _says(run: Run, bottle: Bottle) -> str:
    left = bottle.left_in(run.format, run.film.material)
    owed = f"It owes {ml_text(bottle.owed_ul)} of replenisher." if bottle.owed_ul else ""
    return " ".join(filter(None, (left, owed))) or bottle.verdict.sentence
