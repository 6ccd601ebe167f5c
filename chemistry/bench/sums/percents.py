"""Percent solutions: between two strengths, weakened with water, made from a dry chemical."""

from __future__ import annotations

from chemistry.bench.answers import Answer, Outside, Refused, Result, Used, entered, standing
from chemistry.bench.fields import MlField, percent
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.sums.dilutions import ACID
from chemistry.bench.wording import exact_ml, measurable_step_ul, measurable_ul, ml_result, plain
from chemistry.models import Standing
from chemistry.science.mixing import split_parts
from chemistry.science.percent import criss_cross, solid_g, to_strength_ul, water_to_weaken_ul
from chemistry.units import ml_from_ul

CROSS = Used(
    "C − B parts of the strong one (A), A − C parts of the weak one (B)",
    "The criss-cross rule, as in JBH Photo, Diluting percent solutions, 2013",
    standing(Standing.READ),
)
HOLDS = (
    "From 0 to 100 %, both strengths counted the same way. Volumes are taken to add up: dilute "
    "solutions do, concentrated acids shrink a little. Three parts of glacial acetic acid and "
    "eight of water are 27.3 % by volume and 28.2 % by weight."
)


class BetweenForm(BenchForm):
    strong_pct = percent("The strong one")
    weak_pct = percent("The weak one", help_text="0 for water.")
    wanted_pct = percent("Strength wanted")
    total_ml = MlField(label="Volume wanted")

    def offer(self, bench: Bench) -> None:
        self.fields["weak_pct"].initial = "0"


class WeakenForm(BenchForm):
    have_ml = MlField(label="Solution at hand")
    have_pct = percent("Its strength")
    wanted_pct = percent("Strength wanted")


class SolidForm(BenchForm):
    strength_pct = percent("Strength wanted", help_text="Grams in 100 mL of the finished solution.")
    volume_ml = MlField(label="Volume to make up")


def between(given: Given, bench: Bench) -> Answer:
    strong, weak, wanted = given["strong_pct"], given["weak_pct"], given["wanted_pct"]
    total_ul = given["total_ml"]
    parts = criss_cross(strong_pct=strong, weak_pct=weak, wanted_pct=wanted)
    exact = to_strength_ul(total_ul, strong_pct=strong, weak_pct=weak, wanted_pct=wanted)
    step_ul = measurable_step_ul(min(filter(None, exact), default=0))
    strong_ul, weak_ul = split_parts(total_ul, parts, step_ul=step_ul)
    other = f"of {plain(weak, '%')}" if weak else "of water"
    return Answer(
        results=(
            ml_result(strong_ul, f"Of the {plain(strong, '%')}"),
            ml_result(weak_ul, f"Of the {plain(weak, '%')}" if weak else "Water"),
        ),
        sentence=f"{exact_ml(strong_ul)} of {plain(strong, '%')} and {exact_ml(weak_ul)} {other} "
        f"make {exact_ml(total_ul)} of {plain(wanted, '%')}.",
        formula="strong : weak = (C − B) : (A − C)",
        law="Criss-cross, which is C₁·V₁ + C₂·V₂ = C·V",
        steps=(
            f"{plain(wanted)} − {plain(weak)} = {plain(parts[0])} parts of the strong one",
            f"{plain(strong)} − {plain(wanted)} = {plain(parts[1])} parts of the weak one",
            f"{exact_ml(total_ul)} in {plain(parts[0] + parts[1])} parts, to what can be measured; "
            "the larger takes what rounding leaves, so both make the whole",
        ),
        used=(CROSS, _strengths(given)),
        holds=HOLDS,
    )


def _strengths(given: Given) -> Used:
    strong, weak = plain(given["strong_pct"], "%"), plain(given["weak_pct"], "%")
    return entered(f"A = {strong}, B = {weak}, C = {plain(given['wanted_pct'], '%')}")


def weaken(given: Given, bench: Bench) -> Answer:
    have_ul, have, wanted = given["have_ml"], given["have_pct"], given["wanted_pct"]
    water_ul = measurable_ul(water_to_weaken_ul(have_ul, have_pct=have, wanted_pct=wanted))
    total = exact_ml(have_ul + water_ul)
    return Answer(
        results=(ml_result(water_ul, "Water to add"), ml_result(have_ul + water_ul, "Together")),
        sentence=f"{exact_ml(water_ul)} of water bring {exact_ml(have_ul)} of {plain(have, '%')} "
        f"down to {plain(wanted, '%')}: {total} in all.",
        formula="water = V × (A − C) ÷ C",
        law="What is dissolved stays the same: C₁·V₁ = C₂·V₂",
        steps=(
            f"{plain(have)} − {plain(wanted)} = {plain(have - wanted)}",
            f"{exact_ml(have_ul)} × {plain(have - wanted)} ÷ {plain(wanted)} = "
            f"{exact_ml(water_ul)}, to what can be measured",
        ),
        used=(entered(f"A = {plain(have, '%')}, C = {plain(wanted, '%')}"),),
        holds=HOLDS,
    )


def solid(given: Given, bench: Bench) -> Answer:
    strength, volume_ul = given["strength_pct"], given["volume_ml"]
    if not strength:
        raise Refused("It has to be more than 0 %.", field="strength_pct")
    volume_ml = ml_from_ul(volume_ul)
    grams = solid_g(strength, volume_ml=volume_ml)
    weight = plain(grams, "g", _gram_places(float(grams)))
    return Answer(
        results=(Result(plain(grams, digits=_gram_places(float(grams))), "g", "To weigh out"),),
        sentence=f"Dissolve {weight} in most of the water, then fill up to {exact_ml(volume_ul)}.",
        formula="grams = % × mL ÷ 100",
        law="Weight in volume: grams in 100 mL of finished solution",
        steps=(f"{plain(strength)} × {plain(volume_ml)} ÷ 100 = {weight}",),
        used=(
            Used(
                "Water is filled up to the mark, not added to the powder",
                "US Army subcourse SS0513: 10 % is one part made up to ten",
                standing(Standing.READ),
            ),
        ),
        holds="For dry chemicals as they are named: crystals and the anhydrous form of one salt "
        "weigh differently.",
    )


def _gram_places(grams: float) -> int:
    return 1 if grams >= 10 else 2 if grams >= 1 else 3


STRONGER = Outside("wanted_pct", "Choose a strength between the two.")
SUMS = (
    Sum(
        slug="strength",
        title="Between two strengths",
        question="How much of a strong and of a weak solution, or of water, make the strength "
        "I want?",
        group=Group.MIXING,
        form=BetweenForm,
        solve=between,
        example=always(
            {"strong_pct": "70", "weak_pct": "0", "wanted_pct": "25", "total_ml": "1000"}
        ),
        outside={
            "weak_pct": Outside("weak_pct", "The weak one cannot be stronger than the strong one."),
            "wanted_pct": STRONGER,
            "strong_pct - weak_pct": Outside(
                "weak_pct", "Two equal strengths give that strength and no other."
            ),
            "total_ul": Outside("total_ml", "Make more of it at once."),
        },
        caution=ACID,
    ),
    Sum(
        slug="weaken",
        title="Weaken with water",
        question="How much water brings a solution down to a strength?",
        group=Group.MIXING,
        form=WeakenForm,
        solve=weaken,
        example=always({"have_ml": "300", "have_pct": "70", "wanted_pct": "40"}),
        outside={
            "wanted_pct": Outside(
                "wanted_pct", "Water only weakens: choose a strength above 0 and below what it has."
            )
        },
        caution=f"{ACID} So put this water out first and pour the solution into it.",
    ),
    Sum(
        slug="solid",
        title="Percent from powder",
        question="How many grams make a percent solution?",
        group=Group.MIXING,
        form=SolidForm,
        solve=solid,
        example=always({"strength_pct": "10", "volume_ml": "500"}),
        caution="Read its safety data sheet first: the sheet has the last word. Goggles, gloves, "
        "and a dust mask or extraction when powder is weighed.",
    ),
)
