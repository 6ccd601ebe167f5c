"""The developer's minutes for a plan: from the printed row, the process or the member."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from chemistry.models import Role, TimeRow, WayOfUse
from chemistry.science.errors import OutOfRange
from darkroom.models import VesselAgitation
from sessions.errors import Unsuitable
from sessions.means import Means
from sessions.planning.developing import DevelopingTime, own_time, time_from_row
from sessions.planning.options import Loading
from sessions.runcard import reuse_rule
from sessions.supplies import best
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
    agitation: VesselAgitation,
    loads: Loading,
    ways: dict[int, WayOfUse],
) -> Developing:
    """The minutes in this vessel, agitated like this.

    Raises: Unsuitable where no printed time holds and the member gave none.
    """
    step = next(step for step in means.steps if step.role == Role.DEVELOPER)
    temp_c = means.ask.temp_c or step.temp_c or DEFAULT_C
    own = means.ask.own_minutes or step.minutes
    if own is not None:
        time = own_time(own, temp_c)
        return Developing(time, time, None, temp_c)
    row = _row(means, ways[step.pk], agitation)
    try:
        first = time_from_row(
            printed_row(row), temp_c, reuse=_reuse(means, ways[step.pk], loads, 0)
        )
        last = time_from_row(
            printed_row(row), temp_c, reuse=_reuse(means, ways[step.pk], loads, loads.loads - 1)
        )
    except OutOfRange as refusal:
        raise Unsuitable(
            "temperature_range",
            f"The printed times run from {refusal.low:.4g} to {refusal.high:.4g} °C, not to "
            f"{_plain(temp_c)} °C. Choose a temperature in between, or give your own time.",
        ) from refusal
    return Developing(first, last, row, temp_c)


def _row(means: Means, way: WayOfUse, agitation: VesselAgitation) -> TimeRow:
    rows = means.rows_for(way)
    for row in rows:
        if row.agitation == agitation.agitation:
            return row
    printed = sorted({row.get_agitation_display().lower() for row in rows})
    ask = means.ask
    what = f"{ask.film} at {ask.index} in {way.version.recipe}"
    if printed:
        said = (
            f"Printed times for {what} are for {' and '.join(printed)}, not for this vessel's way."
        )
    else:
        said = f"No printed time for {what}."
    raise Unsuitable("no_time", f"{said} Give your own time, or choose another developer.")


def _reuse(means: Means, way: WayOfUse, loads: Loading, loads_before: int) -> float:
    """What a bottle that serves would ask for; none on the shelf: a fresh one."""
    rule = reuse_rule(way)
    supply = best(means.fitting(way), means.trial()) if rule else None
    if rule is None or supply is None:
        return 1.0
    promised = sum(promise.area_mm2 for promise in supply.promised)
    own = loads_before * loads.sheets_per_load * means.ask.format.area_mm2
    return rule.factor(
        area_before_mm2=supply.bottle.state.area_mm2 + promised + own,
        volume_ul=supply.bottle.state.volume_ul,
    )


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
