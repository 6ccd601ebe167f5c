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
from darkroom.models import Equipment, VesselAgitation
from sessions.asking import AskLine
from sessions.errors import Unsuitable
from sessions.hours import house_minutes
from sessions.means import Means, lacks_essential
from sessions.minutes import Developing, developing_of
from sessions.planning.options import MOST_LOADS, CannotTake, Fit, Loading, Vessel, loading
from sessions.planning.plan import Plan, PlannedBath, PlannedLine, hardest
from sessions.planning.splitting import in_turn
from sessions.planning.timeline import LoadMinutes, timeline
from sessions.wording import vessel_sentence


@dataclass(frozen=True)
class Part:
    """Sheets of a line in one vessel, agitated one way."""

    line: AskLine
    vessel: Equipment
    agitation: VesselAgitation
    loading: Loading
    developing: Developing

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


def make_plan(
    means: Means, vessel: Equipment, agitation: VesselAgitation
) -> tuple[Plan, Sequence[Part]]:
    """How this vessel would take the sheets, and each line's part in it.

    Raises: Unsuitable, saying why not and what would make it work.
    """
    ways = step_ways(means)
    parts: list[Part] = []
    for line in means.ask.lines:
        before = sum((part.line.area_mm2 for part in parts), Decimal(0))
        parts.append(_part(means, line, vessel, agitation, ways, before))
    if sum(part.loading.loads for part in parts) > MOST_LOADS:
        raise _too_many(parts, vessel)
    return plan_of_parts(means, parts, ways), parts


def plan_of_parts(means: Means, parts: Sequence[Part], ways: dict[int, WayOfUse]) -> Plan:
    """Everything that these parts would keep and take, run in turn."""
    loads = in_turn(
        (part.vessel.pk, LoadMinutes(part.vessel.pk, _steps_min(means, part.developing)))
        for part in parts
        for _ in range(part.loading.loads)
    )
    line = timeline([load for _, load in loads], house=house_minutes(means.rules))
    return Plan(
        process_id=means.ask.process.pk,
        developer_id=_developer_way(means, ways).version.recipe_id,
        lines=tuple(part.planned for part in parts),
        timeline=line,
        baths=tuple(
            _bath(means, step, ways[step.pk], parts, span)
            for step, span in zip(means.steps, line.baths_s, strict=True)
            if step.pk in ways
        ),
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


def _part(
    means: Means,
    line: AskLine,
    vessel: Equipment,
    agitation: VesselAgitation,
    ways: dict[int, WayOfUse],
    before_mm2: Decimal,
) -> Part:
    loads = _loading(means, line, vessel, agitation, ways)
    earlier = (loads.loads - 1) * loads.sheets_per_load * line.format.area_mm2
    developing = developing_of(
        means,
        line,
        agitation,
        _developer_way(means, ways),
        before_first_mm2=before_mm2,
        before_last_mm2=before_mm2 + earlier,
    )
    return Part(line, vessel, agitation, loads, developing)


def _loading(
    means: Means,
    line: AskLine,
    vessel: Equipment,
    agitation: VesselAgitation,
    ways: dict[int, WayOfUse],
) -> Loading:
    fits = {fit.format_id: fit for fit in vessel.fits.all()}
    fit = fits.get(line.format.pk)
    described = Vessel(
        max_ml=agitation.max_ml,
        fit=None if fit is None else Fit(fit.positions, fit.advised, fit.min_ml),
        holds_temperature=vessel.holds_temperature,
        is_in_service=vessel.is_in_service,
    )
    material = line.film.material
    baths = [means.bath_rule(s.name, ways[s.pk], material) for s in means.steps if s.pk in ways]
    try:
        return loading(
            described,
            sheets=line.sheets,
            sheet_mm2=line.format.area_mm2,
            baths=baths,
            needs_held_temperature=means.ask.process.needs_held_temperature,
        )
    except CannotTake as refusal:
        raise Unsuitable(refusal.code, vessel_sentence(refusal, vessel, line)) from refusal


def _too_many(parts: Sequence[Part], vessel: Equipment) -> Unsuitable:
    loads = sum(part.loading.loads for part in parts)
    refusal = CannotTake("loads", value=loads, limit=MOST_LOADS)
    return Unsuitable(refusal.code, vessel_sentence(refusal, vessel, parts[0].line))


def _steps_min(means: Means, developing: Developing) -> tuple[Decimal, ...]:
    """The minutes of every step, of the developer those of its last load: they are the longest."""
    return tuple(
        developing.last.minutes if step.role == Role.DEVELOPER else step.minutes or Decimal(0)
        for step in means.steps
    )


def _developer_way(means: Means, ways: dict[int, WayOfUse]) -> WayOfUse:
    return next(ways[step.pk] for step in means.steps if step.role == Role.DEVELOPER)


def _bath(
    means: Means, step: ProcessStep, way: WayOfUse, parts: Sequence[Part], span: tuple[int, int]
) -> PlannedBath:
    largest_ul = max(part.loading.load_ml for part in parts) * UL_PER_ML
    is_first = step == means.steps[0]
    consumed = sum(_consumed_ul(means, way, part, is_first=is_first) for part in parts)
    return PlannedBath(
        step_id=step.pk,
        name=step.name,
        way_id=way.pk,
        recipe_id=way.version.recipe_id,
        way=way.way,
        draw_n=way.draw_n,
        material=hardest(sorted(means.ask.materials), bath_figures(way)),
        borrowed_ul=0 if way.way == Way.TO_DRAW else largest_ul,
        consumed_ul=consumed,
        starts_s=span[0],
        ends_s=span[1],
    )


def _consumed_ul(means: Means, way: WayOfUse, part: Part, *, is_first: bool) -> int:
    """What the loads of a part draw of the stock, or take along out of the bath."""
    loads = part.loading
    if way.way == Way.TO_DRAW:
        return loads.loads * mix(loads.load_ml * UL_PER_ML, Dilution(way.draw_n or Decimal(0)))[0]
    # Later baths are given as much by the load as it takes along; only the first one loses.
    carry = ul_from_ml(means.rules.carry_out_ml_per_au) if is_first else 0
    return loads.loads * carried_ul(loads.sheets_per_load * part.line.format.area_mm2, carry)
