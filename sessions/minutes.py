"""The developer's minutes for a plan: from the printed row, the process or the member."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from chemistry.models import ProcessStep, Role, Standing, TimeRow, WayOfUse
from chemistry.science.errors import OutOfRange
from darkroom.models import VesselAgitation
from sessions.asking import AskLine
from sessions.errors import Unsuitable
from sessions.means import Means
from sessions.planning.developing import DevelopingTime, own_time, time_from_row
from sessions.runcard import reuse_rule
from sessions.timing import printed_row

DEFAULT_C = Decimal(20)
"""Where neither the member nor the process says. Standing: common practice."""


@dataclass(frozen=True)
class Developing:
    """The developer's minutes for the first load and, where reuse lengthens them, for the last."""

    first: DevelopingTime
    last: DevelopingTime
    row: TimeRow | None
    temp_c: Decimal

    @property
    def is_own(self) -> bool:
        return self.row is None

    @property
    def says(self) -> str:
        """How the first load's minutes came about."""
        time = self.first
        parts = [f"Printed {_plain(time.base_min)} min at {_plain(time.base_c)} °C"]
        if time.temperature != 1:
            parts.append(f"times {time.temperature:.2f} for {_plain(self.temp_c)} °C")
        if time.reuse != 1:
            parts.append(f"times {time.reuse:.2f} for the film the bottle has developed")
        return f"{', '.join(parts)}."


def developing_of(
    means: Means,
    line: AskLine,
    agitation: VesselAgitation,
    way: WayOfUse,
    *,
    before_first_mm2: Decimal,
    before_last_mm2: Decimal,
) -> Developing:
    """The minutes of a line in a vessel agitated like this, with ``way`` as its developer.

    The areas are what the session itself has developed before.
    Raises: Unsuitable where no printed time holds and the member gave none.
    """
    step = next(step for step in means.steps if step.role == Role.DEVELOPER)
    temp_c = means.ask.temp_c or step.temp_c or DEFAULT_C
    _check_held(step, temp_c)
    own = line.own_minutes or step.minutes
    if own is not None:
        time = own_time(own, temp_c)
        return Developing(time, time, None, temp_c)
    row = _row(means, line, way, agitation)
    try:
        first, last = (
            time_from_row(printed_row(row), temp_c, reuse=_reuse(means, way, area))
            for area in (before_first_mm2, before_last_mm2)
        )
    except OutOfRange as refusal:
        raise Unsuitable(
            "temperature_range",
            f"The printed times run from {refusal.low:.4g} to {refusal.high:.4g} °C, not to "
            f"{_plain(temp_c)} °C. Choose a temperature in between, or give your own time.",
        ) from refusal
    return Developing(first, last, row, temp_c)


def _check_held(step: ProcessStep, temp_c: Decimal) -> None:
    """A developer whose minutes the process gives is a colour one, and never re-timed."""
    if step.minutes is None or step.temp_c is None or step.tolerance_c is None:
        return
    if abs(temp_c - step.temp_c) > step.tolerance_c:
        raise Unsuitable(
            "temperature_range",
            f"{step.name} is used at {_plain(step.temp_c)} °C, {_plain(step.tolerance_c)} °C up or "
            "down. Outside that no other time makes up for it: leave the temperature empty.",
        )


def _row(means: Means, line: AskLine, way: WayOfUse, agitation: VesselAgitation) -> TimeRow:
    """Of several the house's own, the newest first: it was found with the house's vessels."""
    rows = means.rows_for(way, line)
    fitting = [r for r in rows if r.agitation == agitation.agitation and r.points.all()]
    own = [row for row in fitting if row.standing == Standing.HOUSE]
    if fitting:
        return own[-1] if own else fitting[0]
    printed = sorted({row.get_agitation_display().lower() for row in rows})
    what = f"{line.film} at {line.index} in {way.version.recipe}"
    if printed:
        said = (
            f"Printed times for {what} are for {' and '.join(printed)}, not for this vessel's way."
        )
    else:
        said = f"No printed time for {what}."
    raise Unsuitable("no_time", f"{said} Give your own time, or choose another developer.")


def _reuse(means: Means, way: WayOfUse, before_mm2: Decimal) -> float:
    """What a bottle that serves would ask for; none on the shelf: a fresh one."""
    rule = reuse_rule(way)
    supply = means.best_for(way) if rule else None
    if rule is None or supply is None:
        return 1.0
    promised = sum(promise.area_mm2 for promise in supply.promised)
    return rule.factor(
        area_before_mm2=supply.bottle.state.area_mm2 + promised + before_mm2,
        volume_ul=supply.bottle.state.volume_ul,
    )


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
