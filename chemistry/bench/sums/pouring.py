"""Pouring into a vessel that has a heat of its own: how warm to pour, where it lands."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from chemistry.bench.answers import (
    Answer,
    Outside,
    Refused,
    Result,
    Used,
    entered,
    house_figure,
    standing,
)
from chemistry.bench.fields import MlField, NumberField, degrees
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.wording import degrees_result, degrees_says, exact_ml, plain
from chemistry.models import Standing
from chemistry.science.heat import pour_at_c, pour_in_c, solution_j_per_c, vessel_j_per_c
from chemistry.units import ml_from_ul

J_PER_ML_C = solution_j_per_c(1.0)
WATER = Used(
    f"{J_PER_ML_C:.3f} J warm 1 mL by 1 °C; working solutions are reckoned as water",
    "Water at 20 °C, 0.9982 g/mL and 4.184 J/(g °C): IAPWS-95",
    standing(Standing.COMPUTED),
)
HOTTEST_C = 100
LAW = "Conservation of heat: what the solution gives, the vessel takes"
HOLDS = (
    "For the moment after pouring, both well mixed, from 0 to 100 °C; within 1 % for the heat of "
    "water. What happens from then on is the drift during a run."
)
VESSEL_HELP = "Measured once for each vessel: the sum 'A vessel's own heat'. 0 leaves it out."


def vessel_field() -> NumberField:
    return NumberField("The vessel's own heat", unit="J/°C", high=100_000, help_text=VESSEL_HELP)


def heat_j_per_c(volume_ul: int) -> float:
    return solution_j_per_c(float(ml_from_ul(volume_ul)))


class VesselForm(BenchForm):
    def offer(self, bench: Bench) -> None:
        self.fields["vessel_c"].initial = bench.rules.room_c


class PourForm(VesselForm):
    wanted_c = degrees("Wanted in the vessel")
    volume_ml = MlField(label="Solution poured")
    vessel_heat = vessel_field()
    vessel_c = degrees("The vessel is at")


class LandForm(VesselForm):
    poured_c = degrees("Poured at")
    volume_ml = MlField(label="Solution poured")
    vessel_heat = vessel_field()
    vessel_c = degrees("The vessel is at")


class ReadForm(VesselForm):
    volume_ml = MlField(label="Water poured in")
    poured_c = degrees("It was at", help_text="Warmer is better: 15 °C above the vessel or more.")
    vessel_c = degrees("The vessel was at")
    read_c = degrees(
        "Half a minute later it is at", help_text="Closed and turned over a few times."
    )


def pour(given: Given, bench: Bench) -> Answer:
    solution, vessel = heat_j_per_c(given["volume_ml"]), float(given["vessel_heat"])
    wanted, vessel_c = given["wanted_c"], given["vessel_c"]
    at_c = pour_at_c(
        wanted_c=float(wanted),
        solution_j_per_c=solution,
        vessel_j_per_c=vessel,
        vessel_c=float(vessel_c),
    )
    if not 0 < at_c < HOTTEST_C:
        raise Refused(
            f"It would have to be poured at {degrees_says(at_c)}, which is no help: bring the "
            "vessel nearer to this temperature first, or fill it with more.",
            field="wanted_c",
        )
    return Answer(
        results=(degrees_result(at_c, "Pour at"),),
        sentence=f"Pour {exact_ml(given['volume_ml'])} at {degrees_says(at_c)} and it comes to "
        f"{plain(wanted, '°C')} in the vessel.",
        formula="T pour = T wanted + C vessel ÷ (m·c) × (T wanted − T vessel)",
        law=LAW,
        steps=(
            _solution_step(given, solution),
            f"{plain(wanted)} + {plain(vessel)} ÷ {plain(solution, digits=0)} × "
            f"({plain(wanted)} − {plain(vessel_c)}) = {degrees_says(at_c, 2)}",
        ),
        used=_used(given, bench),
        holds=HOLDS,
    )


def land(given: Given, bench: Bench) -> Answer:
    solution, vessel = heat_j_per_c(given["volume_ml"]), float(given["vessel_heat"])
    poured, vessel_c = given["poured_c"], given["vessel_c"]
    at_c = pour_in_c(
        solution_j_per_c=solution,
        poured_c=float(poured),
        vessel_j_per_c=vessel,
        vessel_c=float(vessel_c),
    )
    return Answer(
        results=(
            degrees_result(at_c, "In the vessel"),
            degrees_result(at_c - float(poured), "Change"),
        ),
        sentence=f"Poured at {plain(poured, '°C')}, {exact_ml(given['volume_ml'])} come to "
        f"{degrees_says(at_c)} in the vessel.",
        formula="T = (m·c·T pour + C vessel·T vessel) ÷ (m·c + C vessel)",
        law=LAW,
        steps=(
            _solution_step(given, solution),
            f"({plain(solution, digits=0)} × {plain(poured)} + {plain(vessel)} × "
            f"{plain(vessel_c)}) ÷ {plain(solution + vessel, digits=0)} = {degrees_says(at_c, 2)}",
        ),
        used=_used(given, bench),
        holds=HOLDS,
    )


def own_heat(given: Given, bench: Bench) -> Answer:
    solution = heat_j_per_c(given["volume_ml"])
    poured, vessel_c, read = given["poured_c"], given["vessel_c"], given["read_c"]
    heat = vessel_j_per_c(
        solution_j_per_c=solution,
        poured_c=float(poured),
        vessel_c=float(vessel_c),
        read_c=float(read),
    )
    return Answer(
        results=(Result(plain(heat, digits=0), "J/°C", "The vessel's own heat"),),
        sentence=f"The vessel takes {plain(heat, 'J', 0)} for each °C, as much as "
        f"{plain(heat / J_PER_ML_C, 'mL', 0)} of water would.",
        formula="C vessel = m·c × (T poured − T read) ÷ (T read − T vessel)",
        law=LAW,
        steps=(
            _solution_step(given, solution),
            f"{plain(solution, digits=0)} × {plain(poured - read)} ÷ {plain(read - vessel_c)} = "
            f"{plain(heat, 'J/°C', 0)}",
        ),
        used=(WATER,),
        holds="For a reading between the two temperatures. A thermometer that is 0.1 °C out moves "
        "the answer by a few percent: pour warm, read quickly, take the mean of three.",
        cautions=_unsure(poured, read),
    )


def _unsure(poured_c: Decimal, read_c: Decimal) -> tuple[str, ...]:
    if abs(poured_c - read_c) >= 1:
        return ()
    return ("The two readings lie less than 1 °C apart: this is mostly the thermometer's error.",)


def _solution_step(given: Given, solution: float) -> str:
    amount = exact_ml(given["volume_ml"])
    return f"m·c = {amount} × {J_PER_ML_C:.3f} J/(mL °C) = {plain(solution, 'J/°C', 0)}"


def _used(given: Given, bench: Bench) -> tuple[Used, ...]:
    at_c: Any = given["vessel_c"]
    return (
        WATER,
        entered(f"The vessel's own heat: {plain(given['vessel_heat'], 'J/°C')}"),
        house_figure(f"The vessel is at {plain(at_c, '°C')}", is_house=at_c == bench.rules.room_c),
    )


EXAMPLE = {"volume_ml": "500", "vessel_heat": "300", "vessel_c": "20"}
SUMS = (
    Sum(
        slug="pour-in",
        title="How warm to pour",
        question="At what temperature do I pour so that the vessel ends where I want it?",
        group=Group.HEAT,
        form=PourForm,
        solve=pour,
        example=always(EXAMPLE | {"wanted_c": "37.8"}),
    ),
    Sum(
        slug="lands",
        title="Where it lands",
        question="What does a solution come to in a cold vessel?",
        group=Group.HEAT,
        form=LandForm,
        solve=land,
        example=always(EXAMPLE | {"poured_c": "24"}),
    ),
    Sum(
        slug="vessel",
        title="A vessel's own heat",
        question="How much heat does my tank take, from one pour of warm water?",
        group=Group.HEAT,
        form=ReadForm,
        solve=own_heat,
        example=always({"volume_ml": "500", "poured_c": "40", "vessel_c": "20", "read_c": "37.5"}),
        outside={
            "read_c": Outside(
                "read_c", "The reading has to lie between the water's temperature and the vessel's."
            )
        },
    ),
)
