"""Two waters that make a temperature, and water that brings a bath to one."""

from __future__ import annotations

from decimal import Decimal

from chemistry.bench.answers import Answer, Outside, Refused, entered
from chemistry.bench.fields import MlField, degrees
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.sums.pouring import J_PER_ML_C, WATER, vessel_field
from chemistry.bench.wording import exact_ml, measurable_ul, ml_result, plain
from chemistry.science.heat import hot_and_cold_ml, water_to_temper_ml
from chemistry.units import ml_from_ul, ul_from_ml

LAW = "Conservation of heat, nothing lost; a mL of either water takes the same heat, within 1 %"
HOLDS = "From 0 to 100 °C, the wanted temperature between the two. Stir, wait, read again."
HOT = "Hot water scalds: pour the hot into the cold, away from your face."
SCALDS_C = 50


class TwoWatersForm(BenchForm):
    total_ml = MlField(label="Water wanted")
    wanted_c = degrees("Temperature wanted")
    hot_c = degrees("The hot water is at")
    cold_c = degrees("The cold water is at")


class TemperForm(BenchForm):
    bath_ml = MlField(label="Water in the bath")
    bath_c = degrees("The bath is at")
    wanted_c = degrees("Temperature wanted")
    water_c = degrees("Water to add is at", help_text="Hot water to warm it, cold to cool it.")
    vessel_heat = vessel_field()

    def offer(self, bench: Bench) -> None:
        self.fields["vessel_heat"].initial = "0"


def two_waters(given: Given, bench: Bench) -> Answer:
    wanted, hot, cold = given["wanted_c"], given["hot_c"], given["cold_c"]
    total_ul = given["total_ml"]
    hot_ml, _ = hot_and_cold_ml(
        total_ml=float(ml_from_ul(total_ul)),
        wanted_c=float(wanted),
        hot_c=float(hot),
        cold_c=float(cold),
    )
    hot_ul = min(total_ul, _poured_ul(hot_ml))
    cold_ul = total_ul - hot_ul
    return Answer(
        results=(
            ml_result(hot_ul, f"Hot, {plain(hot, '°C')}"),
            ml_result(cold_ul, f"Cold, {plain(cold, '°C')}"),
        ),
        sentence=f"{exact_ml(hot_ul)} of the hot and {exact_ml(cold_ul)} of the cold make "
        f"{exact_ml(total_ul)} at {plain(wanted, '°C')}.",
        formula="hot = total × (T wanted − T cold) ÷ (T hot − T cold)",
        law=LAW,
        steps=(
            f"({plain(wanted)} − {plain(cold)}) ÷ ({plain(hot)} − {plain(cold)}) = "
            f"{plain((wanted - cold) / (hot - cold), digits=3)} of the whole",
            f"{exact_ml(total_ul)} × {plain((wanted - cold) / (hot - cold), digits=3)} = "
            f"{exact_ml(hot_ul)}, the rest is cold",
        ),
        used=(entered(f"Hot {plain(hot, '°C')}, cold {plain(cold, '°C')}, as read"),),
        holds=HOLDS,
        cautions=(HOT,) if hot >= SCALDS_C else (),
    )


def temper(given: Given, bench: Bench) -> Answer:
    bath_ul, bath, wanted = given["bath_ml"], given["bath_c"], given["wanted_c"]
    water, vessel = given["water_c"], given["vessel_heat"]
    if water == wanted != bath:
        raise Refused(
            "Water at the very temperature wanted never brings the bath there; take "
            f"{'hotter' if wanted > bath else 'colder'} water.",
            field="water_c",
        )
    added_ul = _poured_ul(
        water_to_temper_ml(
            bath_ml=float(ml_from_ul(bath_ul)),
            bath_c=float(bath),
            wanted_c=float(wanted),
            water_c=float(water),
            vessel_j_per_c=float(vessel),
        )
    )
    return Answer(
        results=(ml_result(added_ul, f"Add, at {plain(water, '°C')}"),),
        sentence=f"{exact_ml(added_ul)} at {plain(water, '°C')} bring the bath from "
        f"{plain(bath, '°C')} to {plain(wanted, '°C')}; it holds "
        f"{exact_ml(bath_ul + added_ul)} then.",
        formula="water = (bath + C vessel ÷ c) × (T wanted − T bath) ÷ (T water − T wanted)",
        law=LAW,
        steps=(
            f"the vessel counts as {plain(float(vessel) / J_PER_ML_C, 'mL', 0)} of water",
            f"({exact_ml(bath_ul)} + {plain(float(vessel) / J_PER_ML_C, 'mL', 0)}) × "
            f"{plain(abs(wanted - bath))} ÷ {plain(abs(water - wanted))} = {exact_ml(added_ul)}",
        ),
        used=(WATER, entered(f"The vessel's own heat: {plain(vessel, 'J/°C')}")),
        holds=f"{HOLDS} Take out first what would not fit.",
        cautions=(HOT,) if water >= SCALDS_C else (),
    )


def _poured_ul(ml: float) -> int:
    return measurable_ul(ul_from_ml(Decimal(str(ml))))


BETWEEN = Outside("wanted_c", "Two waters only make what lies between them.")
SUMS = (
    Sum(
        slug="two-waters",
        title="Two waters",
        question="How much hot and how much cold water make a temperature?",
        group=Group.HEAT,
        form=TwoWatersForm,
        solve=two_waters,
        example=always({"total_ml": "5000", "wanted_c": "38", "hot_c": "55", "cold_c": "14"}),
        outside={
            "wanted_c": BETWEEN,
            "hot_c - cold_c": Outside("hot_c", "The hot one has to be the hotter."),
        },
    ),
    Sum(
        slug="temper",
        title="Temper a bath",
        question="How much hot or cold water brings a bath to its temperature?",
        group=Group.HEAT,
        form=TemperForm,
        solve=temper,
        example=always(
            {
                "bath_ml": "8000",
                "bath_c": "33",
                "wanted_c": "38",
                "water_c": "60",
                "vessel_heat": "0",
            }
        ),
        outside={
            "wanted_c": Outside(
                "wanted_c", "It has to lie between the bath and the water that is added."
            )
        },
    ),
)
