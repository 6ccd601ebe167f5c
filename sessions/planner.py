"""From what the house has to a plan for one vessel."""

from __future__ import annotations

from decimal import Decimal

from chemistry.models import ProcessStep, Role, Way, WayOfUse
from chemistry.passing import carried_ul
from chemistry.science.mixing import Dilution, mix
from chemistry.units import UL_PER_ML, ul_from_ml
from darkroom.models import Equipment, VesselAgitation
from sessions.errors import Unsuitable
from sessions.hours import house_minutes
from sessions.means import Means, lacks_essential
from sessions.minutes import Developing, developing_of
from sessions.planning.options import CannotTake, Fit, Loading, Vessel, loading
from sessions.planning.plan import Plan, PlannedBath
from sessions.planning.timeline import timeline
from sessions.wording import vessel_sentence


def make_plan(
    means: Means, vessel: Equipment, agitation: VesselAgitation
) -> tuple[Plan, Developing]:
    """How this vessel would take the sheets.

    Raises: Unsuitable, saying why not and what would make it work.
    """
    ways = step_ways(means)
    loads = _loading(means, vessel, agitation, ways)
    developing = developing_of(means, agitation, loads, ways)
    minutes = [
        developing.last.minutes if step.role == Role.DEVELOPER else step.minutes or Decimal(0)
        for step in means.steps
    ]
    line = timeline(loads=loads.loads, steps_min=minutes, house=house_minutes(means.rules))
    ask = means.ask
    plan = Plan(
        process_id=ask.process.pk,
        vessel_id=vessel.pk,
        agitation=agitation.agitation,
        film_id=ask.film.pk,
        material=ask.film.material,
        index=ask.index,
        format_id=ask.format.pk,
        sheets=ask.sheets,
        sheet_mm2=ask.format.area_mm2,
        sheets_per_load=loads.sheets_per_load,
        loads=loads.loads,
        load_ml=loads.load_ml,
        developer_id=_developer_step(means, ways).version.recipe_id,
        time_row_id=developing.row.pk if developing.row else None,
        own_minutes=None if developing.row else developing.first.base_min,
        temp_c=developing.temp_c,
        timeline=line,
        baths=tuple(
            _bath(means, step, ways[step.pk], loads, span, is_first=step == means.steps[0])
            for step, span in zip(means.steps, line.baths_s, strict=True)
            if step.pk in ways
        ),
    )
    return plan, developing


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


def _loading(
    means: Means, vessel: Equipment, agitation: VesselAgitation, ways: dict[int, WayOfUse]
) -> Loading:
    fits = {fit.format_id: fit for fit in vessel.fits.all()}
    fit = fits.get(means.ask.format.pk)
    described = Vessel(
        max_ml=agitation.max_ml,
        fit=None if fit is None else Fit(fit.positions, fit.advised, fit.min_ml),
        holds_temperature=vessel.holds_temperature,
        is_in_service=vessel.is_in_service,
    )
    baths = [means.bath_rule(s.name, ways[s.pk]) for s in means.steps if s.pk in ways]
    try:
        return loading(
            described,
            sheets=means.ask.sheets,
            sheet_mm2=means.ask.format.area_mm2,
            baths=baths,
            needs_held_temperature=means.ask.process.needs_held_temperature,
        )
    except CannotTake as refusal:
        said = vessel_sentence(refusal, vessel, means.ask)
        raise Unsuitable(refusal.code, said) from refusal


def _developer_step(means: Means, ways: dict[int, WayOfUse]) -> WayOfUse:
    return next(ways[step.pk] for step in means.steps if step.role == Role.DEVELOPER)


def _bath(
    means: Means,
    step: ProcessStep,
    way: WayOfUse,
    loads: Loading,
    span: tuple[int, int],
    *,
    is_first: bool,
) -> PlannedBath:
    load_ul = loads.load_ml * UL_PER_ML
    if way.way == Way.TO_DRAW:
        borrowed, consumed = 0, mix(load_ul, Dilution(way.draw_n or Decimal(0)))[0]
    else:
        # Later baths are given as much by the load as it takes along; only the first one loses.
        carry = ul_from_ml(means.rules.carry_out_ml_per_au) if is_first else 0
        area = loads.sheets_per_load * means.ask.format.area_mm2
        borrowed, consumed = load_ul, carried_ul(area, carry)
    return PlannedBath(
        step_id=step.pk,
        name=step.name,
        way_id=way.pk,
        recipe_id=way.version.recipe_id,
        way=way.way,
        draw_n=way.draw_n,
        borrowed_ul=borrowed,
        consumed_ul=consumed * loads.loads,
        starts_s=span[0],
        ends_s=span[1],
    )
