"""What the first still rinse after the fixer comes to."""

from __future__ import annotations

from typing import Any

from chemistry.bench.answers import Answer, Result, Used, entered, house_figure
from chemistry.bench.fields import MlField, NumberField
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.wording import exact_ml, plain
from chemistry.science.area import AU_MM2
from chemistry.science.carry import carry_out_ul
from chemistry.science.silver import carried_out_mg, first_rinse_mg_per_l
from chemistry.units import UL_PER_ML


class RinseForm(BenchForm):
    area_au = NumberField(
        "What was fixed", unit="AU", high=1000, help_text="1 AU: a roll, four 4×5 or one 8×10."
    )
    carry_ml_per_au = NumberField("Carry-out", unit="mL per AU", high=200)
    silver_g_per_l = NumberField(
        "Silver in the fixer", unit="g/L", high=50, help_text="By test strip or titration."
    )
    rinse_ml = MlField(label="The first rinse")

    def offer(self, bench: Bench) -> None:
        self.fields["carry_ml_per_au"].initial = bench.rules.carry_out_ml_per_au


def rinse(given: Given, bench: Bench) -> Answer:
    per_au_ul = given["carry_ml_per_au"] * UL_PER_ML
    carried_ul = carry_out_ul(given["area_au"] * AU_MM2, ul_per_au=per_au_ul)
    silver = given["silver_g_per_l"]
    carried_mg = carried_out_mg(carried_ul, fixer_g_per_l=silver)
    mg_per_l = first_rinse_mg_per_l(
        carried_ul=carried_ul, fixer_g_per_l=silver, rinse_ul=given["rinse_ml"]
    )
    return Answer(
        results=(
            Result(plain(mg_per_l, digits=1), "mg/L", "Silver in the first rinse"),
            Result(plain(carried_mg, digits=1), "mg", "Carried over"),
        ),
        sentence=f"{exact_ml(carried_ul)} of fixer go along: the first rinse of "
        f"{exact_ml(given['rinse_ml'])} comes to {plain(mg_per_l, 'mg/L', 1)} of silver.",
        formula="C rinse = C fixer × d ÷ (d + V)",
        law="Dilution, well mixed",
        steps=(
            f"d = {plain(given['area_au'], 'AU')} × {plain(given['carry_ml_per_au'], 'mL')} = "
            f"{exact_ml(carried_ul)}",
            f"{plain(silver * 1000, 'mg/L')} × {exact_ml(carried_ul)} ÷ "
            f"({exact_ml(carried_ul)} + {exact_ml(given['rinse_ml'])}) = "
            f"{plain(mg_per_l, 'mg/L', 1)}",
        ),
        used=(_carry_used(given, bench), entered(f"Silver in the fixer {plain(silver, 'g/L')}")),
        holds="For a still first rinse that takes all that is carried along. The wash after it "
        "carries the rest.",
        cautions=(
            "What may go down a drain is set by the local rules: without the house's permission "
            "in writing this rinse goes into the fixer's container.",
        ),
    )


def _carry_used(given: Given, bench: Bench) -> Used:
    carry: Any = given["carry_ml_per_au"]
    return house_figure(
        f"Carry-out {plain(carry, 'mL')} per AU (about 20 mL: Silvergrain Labs, read)",
        is_house=carry == bench.rules.carry_out_ml_per_au,
    )


SUMS = (
    Sum(
        slug="first-rinse",
        title="First rinse",
        question="How much silver does the first rinse after the fixer hold?",
        group=Group.WASHING,
        form=RinseForm,
        solve=rinse,
        example=always(
            {
                "area_au": "1",
                "carry_ml_per_au": "20",
                "silver_g_per_l": "4",
                "rinse_ml": "1000",
            }
        ),
    ),
)
