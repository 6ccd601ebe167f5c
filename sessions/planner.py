"""From what the house has to a plan for one vessel or two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from chemistry.figures import bath_figures
from chemistry.models import ProcessStep, Role, Way, WayOfUse
from chemistry.passing import carried_ul
from chemistry.science.mixing import Dilution, mix
from chemistry.units import UL_PER_ML, ul_from_ml
from darkroom.models import Equipment, VesselAgitation, VesselFit
from sessions.asking import AskLine
from sessions.errors import Unsuitable
from sessions.hours import house_minutes
from sessions.means import Means, lacks_essential
from sessions.minutes import Developing, developing_of
from sessions.planning.combining import Frame
from sessions.planning.options import (
    MOST_LOADS,
    BathRule,
    CannotTake,
    Fit,
    Loading,
    Vessel,
    loading,
)
from sessions.planning.plan import Plan, PlannedBath, PlannedLine, hardest
from sessions.planning.splitting import in_turn
from sessions.planning.timeline import LoadMinutes, timeline
from sessions.warmth import Drift, drift, warm_up
from sessions.wording import vessel_sentence

ZERO = Decimal(0)


@dataclass(frozen=True)
class Part:
    """Sheets of a line in one vessel, agitated one way. ``crowded``: those beyond the advised."""

    line: AskLine
    vessel: Equipment
    agitation: VesselAgitation
    loading: Loading
    developing: Developing
    drift: Drift
    used_ul: int
    crowded: int

    @property
    def planned(self) -> PlannedLine:
        row = self.developing.row
        return PlannedLine(
            film_id=self.line.film.pk,
            index=self.line.index,
            format_id=self.line.format.pk,
            sheets=self.line.sheets,
            sheet_mm2=self.line.format.area_mm2,
            vessel_id=self.vessel.pk,
            agitation=self.agitation.agitation,
            sheets_per_load=self.loading.sheets_per_load,
            load_ml=self.loading.load_ml,
            time_row_id=row.pk if row else None,
            own_minutes=None if row else self.developing.first.base_min,
            temp_c=self.developing.temp_c,
        )


class Planner:
    """Parts and plans for what the member brings.

    Raises: Unsuitable where the house could not do it in any vessel.
    """

    def __init__(self, means: Means) -> None:
        self.means = means
        self.ways = step_ways(means)
        self.developer = next(
            self.ways[step.pk] for step in means.steps if step.role == Role.DEVELOPER
        )
        self.rules: dict[str, list[BathRule]] = {}
        self.warm_up = warm_up(means)
        house = house_minutes(means.rules)
        self.frame = Frame(
            self.warm_up.minutes * 60, house.loading_min * 60, house.cleaning_min * 60
        )

    def alone(
        self, vessel: Equipment, agitation: VesselAgitation, *, is_crowded: bool = False
    ) -> list[Part]:
        """Every line's part where one vessel takes them all.

        Raises: Unsuitable, saying why not and what would make it work.
        """
        parts: list[Part] = []
        for line in self.means.ask.lines:
            before = sum((part.line.area_mm2 for part in parts), Decimal(0))
            parts.append(self.part(line, vessel, agitation, before, is_crowded=is_crowded))
        if sum(part.loading.loads for part in parts) > MOST_LOADS:
            raise _too_many(parts, vessel)
        return parts

    def part(
        self,
        line: AskLine,
        vessel: Equipment,
        agitation: VesselAgitation,
        before_mm2: Decimal,
        *,
        is_crowded: bool = False,
        after_all: bool = False,
    ) -> Part:
        """One line's part, after ``before_mm2`` of this session.

        ``after_all``: its last load may be the very last of the session. Raises: Unsuitable.
        """
        means = self.means
        fit = next((fit for fit in vessel.fits.all() if fit.format_id == line.format.pk), None)
        loads = self._loading(line, vessel, agitation, fit, is_crowded)
        load_mm2 = loads.sheets_per_load * line.format.area_mm2
        earlier = before_mm2 + (loads.loads - 1) * load_mm2
        developing = developing_of(
            means,
            line,
            agitation,
            self.developer,
            before_first_mm2=before_mm2,
            before_last_mm2=max(earlier, means.ask.area_mm2 - load_mm2) if after_all else earlier,
        )
        minutes = developing.last.minutes
        return Part(
            line=line,
            vessel=vessel,
            agitation=agitation,
            loading=loads,
            developing=developing,
            drift=drift(means, vessel, agitation, load_ml=loads.load_ml, minutes=minutes),
            used_ul=sum(self._used_ul(step, loads, load_mm2) for step in means.steps),
            crowded=max(0, loads.sheets_per_load - fit.advised) if fit else 0,
        )

    def plan(self, parts: Sequence[Part]) -> Plan:
        """Everything that these parts would keep and take, run in turn."""
        means = self.means
        loads = in_turn(
            (part.vessel.pk, LoadMinutes(part.vessel.pk, self.steps_min(part)))
            for part in parts
            for _ in range(part.loading.loads)
        )
        line = timeline(
            [load for _, load in loads],
            house=house_minutes(means.rules),
            warm_min=self.warm_up.minutes,
        )
        return Plan(
            process_id=means.ask.process.pk,
            developer_id=self.developer.version.recipe_id,
            lines=tuple(part.planned for part in parts),
            timeline=line,
            baths=tuple(
                self._bath(step, parts, span)
                for step, span in zip(means.steps, line.baths_s, strict=True)
                if step.pk in self.ways
            ),
        )

    def steps_min(self, part: Part) -> tuple[Decimal, ...]:
        """Minutes of every step, of the developer those of the last load: they are the longest."""
        return tuple(
            part.developing.last.minutes if step.role == Role.DEVELOPER else step.minutes or ZERO
            for step in self.means.steps
        )

    def _loading(
        self,
        line: AskLine,
        vessel: Equipment,
        agitation: VesselAgitation,
        fit: VesselFit | None,
        is_crowded: bool,
    ) -> Loading:
        described = Vessel(
            max_ml=agitation.max_ml,
            fit=None if fit is None else Fit(fit.positions, fit.advised, fit.min_ml),
            holds_temperature=vessel.holds_temperature,
            is_in_service=vessel.is_in_service,
        )
        try:
            return loading(
                described,
                sheets=line.sheets,
                sheet_mm2=line.format.area_mm2,
                baths=self._rules(line.film.material),
                needs_held_temperature=self.means.ask.process.needs_held_temperature,
                is_crowded=is_crowded,
            )
        except CannotTake as refusal:
            raise Unsuitable(refusal.code, vessel_sentence(refusal, vessel, line)) from refusal

    def _rules(self, material: str) -> list[BathRule]:
        if material not in self.rules:
            self.rules[material] = [
                self.means.bath_rule(step.name, self.ways[step.pk], material)
                for step in self.means.steps
                if step.pk in self.ways
            ]
        return self.rules[material]

    def _used_ul(self, step: ProcessStep, loads: Loading, load_mm2: Decimal) -> int:
        """What these loads draw of the stock, or take along out of the bath."""
        way = self.ways.get(step.pk)
        if way is None:
            return 0
        if way.way == Way.TO_DRAW:
            dilution = Dilution(way.draw_n or ZERO)
            return loads.loads * mix(loads.load_ml * UL_PER_ML, dilution)[0]
        # Later baths are given as much by the load as it takes along; only the first one loses.
        is_first = step == self.means.steps[0]
        carry = ul_from_ml(self.means.rules.carry_out_ml_per_au) if is_first else 0
        return loads.loads * carried_ul(load_mm2, carry)

    def _bath(self, step: ProcessStep, parts: Sequence[Part], span: tuple[int, int]) -> PlannedBath:
        way = self.ways[step.pk]
        largest_ul = max(part.loading.load_ml for part in parts) * UL_PER_ML
        return PlannedBath(
            step_id=step.pk,
            name=step.name,
            way_id=way.pk,
            recipe_id=way.version.recipe_id,
            way=way.way,
            draw_n=way.draw_n,
            material=hardest(sorted(self.means.ask.materials), bath_figures(way)),
            borrowed_ul=0 if way.way == Way.TO_DRAW else largest_ul,
            consumed_ul=sum(
                self._used_ul(
                    step, part.loading, part.loading.sheets_per_load * part.line.format.area_mm2
                )
                for part in parts
            ),
            starts_s=span[0],
            ends_s=span[1],
        )


def step_ways(means: Means) -> dict[int, WayOfUse]:
    """The way of use of every step that takes more than water.

    Raises: Unsuitable where the house keeps no recipe, or has not entered what limits it.
    """
    if Role.DEVELOPER not in means.roles:
        raise Unsuitable("no_developer", f"{means.ask.process} has no developing step entered.")
    by_role: dict[str, WayOfUse] = {}
    for role in sorted(means.roles):
        way = means.way_for(role)
        if way is None:
            raise Unsuitable("no_recipe", f"This house keeps no {Role(role).label.lower()}.")
        if lacks_essential(way):
            recipe = way.version.recipe
            raise Unsuitable(
                "no_figure",
                f"How much {recipe} will bear, {way.get_way_display().lower()}, is for the house "
                "to enter, and nobody has yet. Ask a steward, or take another developer.",
            )
        by_role[role] = way
    return {step.pk: by_role[step.role] for step in means.steps if step.role in by_role}


def _too_many(parts: Sequence[Part], vessel: Equipment) -> Unsuitable:
    loads = sum(part.loading.loads for part in parts)
    refusal = CannotTake("loads", value=loads, limit=MOST_LOADS)
    return Unsuitable(refusal.code, vessel_sentence(refusal, vessel, parts[0].line))
