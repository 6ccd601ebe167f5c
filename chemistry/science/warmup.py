"""Warming a bath, and the bottles that stand in it."""

import math

from chemistry.science.errors import check_positive, check_range


class CannotHold(ValueError):
    """The heater's power is eaten up by losses before the bath gets there."""

    def __init__(self, target_c: float, highest_c: float) -> None:
        super().__init__(target_c, highest_c)
        self.target_c = target_c
        self.highest_c = highest_c


def highest_c(*, power_w: float, loss_w_per_c: float, room_c: float) -> float:
    """Temperature at which the loss equals the heater's power.

    Units: W, W/°C, °C.  Domain: loss above zero.  Raises: OutOfRange.
    Source: T∞ = T_room + P ÷ (h·A).
    """
    check_range("power_w", power_w, 0)
    check_positive("loss_w_per_c", loss_w_per_c)
    check_range("room_c", room_c, None)
    return room_c + power_w / loss_w_per_c


def loss_w_per_c(*, heat_j_per_c: float, tau_min: float) -> float:
    """Loss of a bath per °C above the room, from how it cools with the heater off.

    Units: J/°C, min, W/°C.  Raises: OutOfRange.  Source: h·A = m·c ÷ τ.
    """
    check_positive("heat_j_per_c", heat_j_per_c)
    check_positive("tau_min", tau_min)
    return heat_j_per_c / (tau_min * 60)


def can_hold(*, power_w: float, loss_w_per_c: float, room_c: float, target_c: float) -> bool:
    """Whether the heater can hold the target with the room as it is, with power to spare.

    Units: W, W/°C, °C.  Raises: OutOfRange.
    """
    check_range("target_c", target_c, None)
    if loss_w_per_c == 0:
        return power_w > 0
    return highest_c(power_w=power_w, loss_w_per_c=loss_w_per_c, room_c=room_c) > target_c


def warm_up_min(
    *,
    heat_j_per_c: float,
    power_w: float,
    loss_w_per_c: float,
    start_c: float,
    target_c: float,
    room_c: float,
) -> float:
    """Minutes of heating from ``start_c`` to ``target_c``; none if it is warm enough.

    ``heat_j_per_c`` is everything that has to get warm: water, vessel, bottles.
    Units: J/°C, W, W/°C, °C, min.  Raises: CannotHold, OutOfRange.
    Source: Newton's law of cooling with constant power.
    """
    check_positive("heat_j_per_c", heat_j_per_c)
    check_positive("power_w", power_w)
    check_range("loss_w_per_c", loss_w_per_c, 0)
    check_range("target_c", target_c, None)
    if start_c >= target_c:
        return 0.0
    if loss_w_per_c == 0:
        return heat_j_per_c * (target_c - start_c) / power_w / 60
    top = highest_c(power_w=power_w, loss_w_per_c=loss_w_per_c, room_c=room_c)
    if top <= target_c:
        raise CannotHold(target_c, top)
    tau_min = heat_j_per_c / loss_w_per_c / 60
    return tau_min * math.log((top - start_c) / (top - target_c))


def bottle_lag_min(*, tau_bottle_min: float, difference_c: float, tolerance_c: float) -> float:
    """Minutes for a bottle in a bath at its temperature to come within the tolerance.

    Units: min, °C.  Domain: tau and tolerance above zero.  Raises: OutOfRange.
    Source: Newton's law, τ_bottle·ln(ΔT ÷ tolerance).
    """
    check_positive("tau_bottle_min", tau_bottle_min)
    check_positive("tolerance_c", tolerance_c)
    check_range("difference_c", difference_c, None)
    away = abs(difference_c)
    return tau_bottle_min * math.log(away / tolerance_c) if away > tolerance_c else 0.0
