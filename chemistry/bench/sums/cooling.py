"""A vessel's cooling constant, from three readings."""

from __future__ import annotations

from chemistry.bench.answers import Answer, Outside, Result, entered
from chemistry.bench.fields import NumberField, degrees
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.sums.drifting import LAW
from chemistry.bench.wording import degrees_result, degrees_says, plain
from chemistry.science.cooling import surroundings_c, tau_from_three_min


class CoolingForm(BenchForm):
    first_c = degrees("First reading")
    second_c = degrees("Second reading")
    third_c = degrees("Third reading")
    spacing_min = NumberField(
        "Minutes between them", unit="min", high=1440, help_text="The same between each two."
    )


def cooling(given: Given, bench: Bench) -> Answer:
    first, second, third = (float(given[name]) for name in ("first_c", "second_c", "third_c"))
    spacing = float(given["spacing_min"])
    around = surroundings_c(first, second, third)
    tau = tau_from_three_min(first, second, third, spacing_min=spacing)
    return Answer(
        results=(
            Result(plain(tau, digits=1), "min", "Cooling constant τ"),
            degrees_result(around, "It comes to rest at"),
        ),
        sentence=f"The difference to {degrees_says(around)} shrinks to 37 % every "
        f"{plain(tau, 'min', 1)}.",
        formula="T around = T₁ + (T₂ − T₁)² ÷ ((T₂ − T₁) − (T₃ − T₂)), "
        "τ = Δt ÷ −ln((T₃ − T₂) ÷ (T₂ − T₁))",
        law=LAW,
        steps=(
            f"T₂ − T₁ = {plain(second - first, '°C', 2)}, T₃ − T₂ = "
            f"{plain(third - second, '°C', 2)}",
            f"{plain(spacing)} ÷ −ln({plain((third - second) / (second - first), digits=4)}) = "
            f"{plain(tau, 'min', 1)}",
        ),
        used=(entered("Three readings, equally far apart in time"),),
        holds="For readings that run one way and slow down. Long pauses between them count: with "
        "small differences the thermometer's error is most of the answer. It goes for this vessel, "
        "volume, agitation and surroundings.",
    )


SUMS = (
    Sum(
        slug="cooling",
        title="How fast it cools",
        question="What is a vessel's cooling constant, from three readings?",
        group=Group.MINUTES,
        place=4,
        form=CoolingForm,
        solve=cooling,
        example=always({"first_c": "40", "second_c": "37", "third_c": "34.5", "spacing_min": "10"}),
        outside={
            "third_c": Outside(
                "third_c",
                "The readings have to run one way and slow down; wait longer between them.",
            ),
            "spacing_min": Outside("spacing_min", "Leave some minutes between the readings."),
        },
    ),
)
