"""What the room does to a session: how long bottles take to get warm, how far a vessel drifts."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from chemistry.models import Role
from chemistry.science.drift import Course, rescaled_tau_min
from chemistry.science.errors import OutOfRange
from chemistry.science.heat import solution_j_per_c
from chemistry.science.warmup import bottle_lag_min
from darkroom.models import Equipment, EquipmentKind, VesselAgitation
from darkroom.templatetags.look import number
from sessions.means import Means
from sessions.minutes import DEFAULT_C
from sessions.models import HeatConstant

UNKNOWN = math.inf


@dataclass(frozen=True)
class Drift:
    """How far the developer strays at worst; ``worst_c`` infinite where nobody knows."""

    worst_c: float
    says: str

    @property
    def is_known(self) -> bool:
        return self.worst_c < UNKNOWN


@dataclass(frozen=True)
class WarmUp:
    """Minutes in the tempering bath before the first load; ``says`` why, or what is not known."""

    minutes: int
    says: str = ""


def developing_c(means: Means) -> Decimal:
    step = next(step for step in means.steps if step.role == Role.DEVELOPER)
    return means.ask.temp_c or step.temp_c or DEFAULT_C


def tolerance_c(means: Means) -> Decimal | None:
    step = next(step for step in means.steps if step.role == Role.DEVELOPER)
    return step.tolerance_c


def warm_up(means: Means) -> WarmUp:
    """How long the bottles have to stand in the tempering bath, from the slowest bath's log."""
    aim, room, within = developing_c(means), means.rules.room_c, tolerance_c(means)
    if aim - room <= (within or Decimal(0)):
        return WarmUp(0)
    slowest = max((bath.tau_min for bath in _bath_constants(means)), default=None)
    if within is None or slowest is None:
        return WarmUp(
            0,
            f"Bottles have to get from {number(room)} to {number(aim)} °C first. How long that "
            "takes is not logged in this house, so it is not in the plan: come early enough.",
        )
    lag = bottle_lag_min(
        tau_bottle_min=float(slowest),
        difference_c=float(aim - room),
        tolerance_c=float(within),
    )
    minutes = math.ceil(lag)
    return WarmUp(
        minutes,
        f"{minutes} minutes for the bottles to get from {number(room)} to within "
        f"{number(within)} °C of {number(aim)} °C; stay with them.",
    )


def drift(
    means: Means, vessel: Equipment, agitation: VesselAgitation, *, load_ml: int, minutes: Decimal
) -> Drift:
    """How far the developer strays from its temperature in this vessel until it is poured out."""
    aim, room = developing_c(means), means.rules.room_c
    if vessel.holds_temperature:
        return Drift(0.0, "It holds its temperature by itself.")
    if aim == room:
        return Drift(0.0, f"The room is at {number(room)} °C as well, so it stays there.")
    tau = _tau_min(means, vessel, agitation, load_ml, aim)
    if tau is None:
        return Drift(
            UNKNOWN,
            f"How fast it takes on the {number(room)} °C of the room has not been logged for this "
            "volume, so the drift is not known.",
        )
    course = Course(start_c=float(aim), surroundings_c=float(room), tau_min=tau)
    worst = course.worst_c(float(minutes), aim_c=float(aim))
    within = tolerance_c(means)
    allowed = f"; ± {number(within)} °C is allowed" if within is not None else ""
    said = f"{worst:.1f} °C off at worst, in a room of {number(room)} °C{allowed}."
    return Drift(round(worst, 3), said)


def _tau_min(
    means: Means, vessel: Equipment, agitation: VesselAgitation, load_ml: int, at_c: Decimal
) -> float | None:
    """The newest constant logged that still holds for this volume."""
    for logged in means.heat_constants.get(vessel.pk, ()):
        if logged.agitation == agitation.agitation:
            try:
                return rescaled_tau_min(
                    float(logged.tau_min),
                    logged_j_per_c=solution_j_per_c(logged.volume_ml, float(at_c)),
                    actual_j_per_c=solution_j_per_c(load_ml, float(at_c)),
                    vessel_j_per_c=float(logged.vessel_j_per_c),
                )
            except OutOfRange:
                continue
    return None


def _bath_constants(means: Means) -> Iterable[HeatConstant]:
    """The newest of each tempering bath in service."""
    for piece in means.equipment:
        if piece.kind == EquipmentKind.BATH and piece.is_in_service:
            yield from means.heat_constants.get(piece.pk, ())[:1]
