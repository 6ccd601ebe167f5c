"""One part of stock and n of water: what a volume takes, and how far a stock reaches."""

from __future__ import annotations

from decimal import Decimal

from chemistry.bench.answers import Answer, Outside, Refused, Used, standing
from chemistry.bench.fields import DilutionField, MlField
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.wording import (
    FINEST_UL,
    exact_ml,
    measurable_step_ul,
    measurable_ul,
    ml_result,
)
from chemistry.models import Standing
from chemistry.science.mixing import Dilution, mix, split_parts, total_from_stock_ul
from chemistry.science.percent import in_two_steps
from chemistry.units import UL_PER_ML

ACID = (
    "Read its safety data sheet first: the sheet has the last word. Goggles, gloves, moving air. "
    "If it is an acid: acid goes into water, never water into acid; a strong alkali likewise goes "
    "into cold water, a little at a time."
)
LEAST_ML = 1
FIRST_STEP = Dilution(Decimal(9))
PLUS = Used(
    "1+n is one part of stock plus n parts of water",
    "How photographic makers mean it, also where they print 1:n; Kodak's T-MAX sheets, read in a "
    "forum thread",
    standing(Standing.RESTATED),
)
HOLDS = (
    "For any dilution by volume. Powders and the A and B parts of a kit are not diluted so: follow "
    "their recipe."
)


class TotalForm(BenchForm):
    dilution = DilutionField()
    total_ml = MlField(label="Working solution wanted")


class StockForm(BenchForm):
    dilution = DilutionField()
    stock_ml = MlField(label="Stock at hand")


def dilute(given: Given, bench: Bench) -> Answer:
    total_ul, dilution = given["total_ml"], given["dilution"]
    exact_ul, _ = mix(total_ul, dilution)
    if exact_ul < FINEST_UL:
        raise Refused("That little stock cannot be measured; make more.", field="total_ml")
    step_ul = measurable_step_ul(exact_ul)
    stock_ul, water_ul = split_parts(total_ul, (Decimal(1), dilution.parts), step_ul=step_ul)
    total, parts = exact_ml(total_ul), f"{dilution.total_parts.normalize():f}"
    return Answer(
        results=(ml_result(stock_ul, "Stock"), ml_result(water_ul, "Water")),
        sentence=f"{exact_ml(stock_ul)} of stock and {exact_ml(water_ul)} of water make {total} "
        f"of {dilution}.",
        formula="stock = total ÷ (1 + n), water = total − stock",
        law="Parts by volume",
        steps=(
            f"1 + {dilution.parts.normalize():f} = {parts} parts",
            f"{total} ÷ {parts} = {exact_ml(stock_ul)} of stock, to what can be measured",
            f"{total} − {exact_ml(stock_ul)} = {exact_ml(water_ul)} of water",
        ),
        used=(PLUS,),
        holds=HOLDS,
        cautions=_too_little(total_ul, exact_ul, dilution),
    )


def _too_little(total_ul: int, stock_ul: int, dilution: Dilution) -> tuple[str, ...]:
    """So little stock is better measured out of a first dilution, ten times as much of it."""
    if stock_ul >= LEAST_ML * UL_PER_ML or dilution.parts < FIRST_STEP.parts:
        return ()
    steps = in_two_steps(total_ul, dilution, first=FIRST_STEP, first_total_ul=total_ul)
    taken_ul = measurable_ul(steps.taken_ul)
    return (
        f"Less than {LEAST_ML} mL is hard to measure. Dilute some of the stock {FIRST_STEP} first "
        f"and take {exact_ml(taken_ul)} of that with {exact_ml(total_ul - taken_ul)} of water.",
    )


def reach(given: Given, bench: Bench) -> Answer:
    stock_ul, dilution = given["stock_ml"], given["dilution"]
    total_ul = total_from_stock_ul(stock_ul, dilution)
    water_ul = total_ul - stock_ul
    stock, parts = exact_ml(stock_ul), f"{dilution.total_parts.normalize():f}"
    return Answer(
        results=(ml_result(total_ul, "Working solution"), ml_result(water_ul, "Water to add")),
        sentence=f"{stock} of stock and {exact_ml(water_ul)} of water make {exact_ml(total_ul)} "
        f"of {dilution}.",
        formula="total = stock × (1 + n)",
        law="Parts by volume",
        steps=(
            f"1 + {dilution.parts.normalize():f} = {parts} parts",
            f"{stock} × {parts} = {exact_ml(total_ul)}",
        ),
        used=(PLUS,),
        holds=HOLDS,
    )


SUMS = (
    Sum(
        slug="dilution",
        title="Dilute 1+n",
        question="How much stock and how much water make the volume I want?",
        group=Group.MIXING,
        form=TotalForm,
        solve=dilute,
        example=always({"dilution": "1+9", "total_ml": "500"}),
        outside={"total_ul": Outside("total_ml", "Make more of it at once.")},
        caution=ACID,
    ),
    Sum(
        slug="stock",
        title="How far the stock reaches",
        question="How much working solution does the stock that is left make?",
        group=Group.MIXING,
        form=StockForm,
        solve=reach,
        example=always({"dilution": "1+9", "stock_ml": "120"}),
        caution=ACID,
    ),
)
