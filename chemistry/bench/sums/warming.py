"""Warming a bath and a bottle in it; and whether the heater can hold the bath at all."""

from __future__ import annotations

import math
from typing import Any

from chemistry.bench.answers import Answer, Outside, Refused, Result, Used, entered, house_figure
from chemistry.bench.fields import MlField, NumberField, degrees
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.sums.pouring import WATER, heat_j_per_c, vessel_field
from chemistry.bench.wording import (
    degrees_result,
    degrees_says,
    plain,
)
from chemistry.science.warmup import CannotHold, bottle_lag_min, highest_c, warm_up_min

LONGEST_MIN = 24 * 60


class WarmUpForm(BenchForm):
    power_w = NumberField("Heater", unit="W", high=20_000)
    bath_ml = MlField(
        label="To be warmed",
        help_text="Water of the bath with the bottles in it, counted as water.",
    )
    vessel_heat = vessel_field()
    start_c = degrees("It starts at")
    target_c = degrees("It has to reach")
    room_c = degrees("The room is at")
    loss_w_per_c = NumberField(
        "Loss",
        unit="W/°C",
        high=1000,
        help_text="The watts that just hold it ÷ the °C it is above the room. 0: none reckoned.",
    )
    bottle_tau_min = NumberField(
        "Time constant of a bottle",
        unit="min",
        high=LONGEST_MIN,
        required=False,
        help_text="Until 63 % of the difference is made up, as logged. Empty: no bottle waits.",
    )
    tolerance_c = NumberField(
        "The bottle may be off by", unit="°C", high=20, required=False, help_text="As ± 0.15."
    )

    def offer(self, bench: Bench) -> None:
        for name in ("start_c", "room_c"):
            self.fields[name].initial = bench.rules.room_c
        self.fields["vessel_heat"].initial = "0"

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("bottle_tau_min") and "tolerance_c" in given and not given["tolerance_c"]:
            self.add_error(
                "tolerance_c", "Say how near is near enough: a bottle never quite gets there."
            )
        return given


def warm_up(given: Given, bench: Bench) -> Answer:
    heat = heat_j_per_c(given["bath_ml"]) + float(given["vessel_heat"])
    bath_min = _heating_min(given, heat)
    lag_min = _lag_min(given)
    total_min = bath_min + lag_min
    if total_min > LONGEST_MIN:
        raise Refused("That takes longer than a day: fill in warmer water.", field="power_w")
    return Answer(
        results=(
            Result(plain(math.ceil(total_min)), "min", "Switch on before"),
            Result(plain(bath_min, digits=1), "min", "The bath"),
            Result(plain(lag_min, digits=1), "min", "The bottle, after it"),
        )
        + _top_result(given),
        sentence=f"Switch the heater on {plain(math.ceil(total_min), 'min')} before the solution "
        f"is needed. {_hold_says(given)}",
        formula="t = C ÷ K × ln((T∞ − T start) ÷ (T∞ − T target)) + τ bottle × ln(ΔT ÷ tolerance), "
        "with T∞ = T room + P ÷ K",
        law="Newton's law of cooling with constant power; without loss t = C·ΔT ÷ P",
        steps=_steps(given, heat, bath_min, lag_min),
        used=_used(given, bench),
        holds="For a stirred bath and a steady room. Bath and bottle are taken one after the "
        "other, which is on the safe side.",
        cautions=(
            "Stay with it: never heat unattended, and never a heater that is not covered by water.",
        ),
    )


def _heating_min(given: Given, heat: float) -> float:
    try:
        return warm_up_min(
            heat_j_per_c=heat,
            power_w=float(given["power_w"]),
            loss_w_per_c=float(given["loss_w_per_c"]),
            start_c=float(given["start_c"]),
            target_c=float(given["target_c"]),
            room_c=float(given["room_c"]),
        )
    except CannotHold as error:
        raise Refused(
            f"It never gets there: with this loss it comes to rest at "
            f"{degrees_says(error.highest_c)}. A lid, a lagged bath, a stronger heater or a warmer "
            "room helps.",
            field="power_w",
        ) from error


def _lag_min(given: Given) -> float:
    if not given["bottle_tau_min"]:
        return 0.0
    return bottle_lag_min(
        tau_bottle_min=float(given["bottle_tau_min"]),
        difference_c=float(given["target_c"] - given["start_c"]),
        tolerance_c=float(given["tolerance_c"]),
    )


def _top_c(given: Given) -> float | None:
    if not given["loss_w_per_c"]:
        return None
    return highest_c(
        power_w=float(given["power_w"]),
        loss_w_per_c=float(given["loss_w_per_c"]),
        room_c=float(given["room_c"]),
    )


def _top_result(given: Given) -> tuple[Result, ...]:
    top = _top_c(given)
    return () if top is None else (degrees_result(top, "It could hold up to"),)


def _hold_says(given: Given) -> str:
    top = _top_c(given)
    if top is None:
        return "Whether it holds the temperature cannot be told without the loss."
    if top <= given["target_c"]:
        return (
            f"It is warm enough already, but the heater cannot hold it: it would sink to "
            f"{degrees_says(top)}."
        )
    needed = given["loss_w_per_c"] * max(0, given["target_c"] - given["room_c"])
    return (
        f"It can hold {plain(given['target_c'], '°C')}: that takes {plain(needed, 'W', 0)} of its "
        f"{plain(given['power_w'], 'W')}."
    )


def _steps(given: Given, heat: float, bath_min: float, lag_min: float) -> tuple[str, ...]:
    rise = given["target_c"] - given["start_c"]
    steps = [f"C = water + vessel = {plain(heat / 1000, 'kJ/°C', 2)}"]
    top = _top_c(given)
    if top is not None:
        steps.append(
            f"T∞ = {plain(given['room_c'])} + {plain(given['power_w'])} ÷ "
            f"{plain(given['loss_w_per_c'])} = {degrees_says(top)}"
        )
    steps.append(f"the bath, {plain(max(0, rise), '°C')} up: {plain(bath_min, 'min', 1)}")
    if given["bottle_tau_min"]:
        steps.append(
            f"the bottle, {plain(given['bottle_tau_min'], 'min')} × ln({plain(abs(rise))} ÷ "
            f"{plain(given['tolerance_c'])}): {plain(lag_min, 'min', 1)}"
        )
    return tuple(steps)


def _used(given: Given, bench: Bench) -> tuple[Used, ...]:
    room = given["room_c"]
    return (
        WATER,
        house_figure(f"The room is at {plain(room, '°C')}", is_house=room == bench.rules.room_c),
        entered(f"Loss {plain(given['loss_w_per_c'], 'W/°C')}, as measured on this bath"),
    )


SUMS = (
    Sum(
        slug="warm-up",
        title="Warm-up",
        question="When do I switch the heater on, and can it hold the bath at all?",
        group=Group.HEAT,
        form=WarmUpForm,
        solve=warm_up,
        example=always(
            {
                "power_w": "300",
                "bath_ml": "8000",
                "vessel_heat": "0",
                "start_c": "20",
                "target_c": "38",
                "room_c": "20",
                "loss_w_per_c": "4",
                "bottle_tau_min": "6",
                "tolerance_c": "0.15",
            }
        ),
        outside={
            "power_w": Outside("power_w", "A heater that is off warms nothing."),
            "tolerance_c": Outside("tolerance_c", "Say how near is near enough."),
        },
    ),
)
