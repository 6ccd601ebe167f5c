"""What the house lends to a sum: its rules, printed times, formats and bottles.

Each is fetched once, and only if a sum looks at it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.db.models import Prefetch, Q

from chemistry.bench.fields import Offer
from chemistry.models import Batch, ProcessStep, Role, TimePoint, TimeRow, Way
from chemistry.science.mixing import Dilution
from darkroom.models import Format, HouseRules, Material, Member
from darkroom.templatetags.look import clock, number


@dataclass
class Bench:
    """Who asks, in which house, when."""

    member: Member
    rules: HouseRules
    at: datetime

    @cached_property
    def formats(self) -> list[Format]:
        return list(Format.objects.all())

    @cached_property
    def time_rows(self) -> Mapping[str, Offer]:
        points = Prefetch("points", TimePoint.objects.order_by("temp_c"))
        rows = (
            TimeRow.objects.filter(points__isnull=False)
            .distinct()
            .select_related("film", "developer")
            .prefetch_related(points)
            .order_by("film__name", "developer__name", "dilution_n", "index", "agitation", "pk")
        )
        return {str(row.pk): Offer(row.film.name, _row_label(row), row) for row in rows}

    @cached_property
    def colour_steps(self) -> Mapping[str, Offer]:
        """Colour developers whose manual gives one time, a temperature and a tolerance."""
        steps = (
            ProcessStep.objects.filter(
                role=Role.DEVELOPER,
                minutes__isnull=False,
                temp_c__isnull=False,
                tolerance_c__gt=0,
                process__films__material=Material.COLOUR,
            )
            .distinct()
            .select_related("process")
            .order_by("process__name", "order")
        )
        return {str(step.pk): Offer(step.process.name, _step_label(step), step) for step in steps}

    @cached_property
    def baths(self) -> Mapping[str, Offer]:
        """Reused and replenished bottles on the shelf that this member may know of."""
        found = Batch.objects.open().for_verdict().exclude(way__way=Way.TO_DRAW)
        if not self.member.may_audit:
            found = found.filter(Q(owner__isnull=True) | Q(owner=self.member))
        return {batch.code: _bottle(batch) for batch in found}


def _row_label(row: TimeRow) -> str:
    first = row.points.all()[0]
    dilution = str(Dilution(row.dilution_n)) if row.dilution_n else "undiluted"
    return (
        f"{row.developer} {dilution}, at {row.index}, {row.get_agitation_display().lower()}: "
        f"{clock(first.minutes)} at {number(first.temp_c)} °C"
    )


def _step_label(step: ProcessStep) -> str:
    return (
        f"{step.name}: {clock(step.minutes or 0)} at {number(step.temp_c)} "
        f"± {number(step.tolerance_c)} °C"
    )


def _bottle(batch: Batch) -> Offer:
    recipe = batch.way.version.recipe
    return Offer(recipe.get_role_display(), f"{batch.code}, {recipe.name}", batch)
