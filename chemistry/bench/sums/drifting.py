"""A developer that cools or warms during the run, and the time that makes up for it."""

from __future__ import annotations

from chemistry.bench.answers import Answer, Outside, Used, entered, house_figure
from chemistry.bench.fields import NumberField, degrees
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.printed import (
    PrintedForm,
    fit_used,
    printed,
    short_caution,
)
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.wording import (
    degrees_result,
    degrees_says,
    minutes_result,
    minutes_says,
    plain,
)
from chemistry.science.drift import Course, drift_time_min
from chemistry.science.rows import nearest_printed

LAW = "Newton's law of cooling, T(t) = T around + (T start − T around) × e^(−t ÷ τ)"
TAU_HELP = (
    "Until 63 % of the difference is gone, as logged for this vessel and volume: the sum "
    "'How fast it cools'."
)
COOLED = Outside("start_c", "Start nearer to the printed temperatures, or keep the bath tempered.")


class CourseForm(BenchForm):
    """Where the temperature starts and where it is going."""

    start_c = degrees("It starts at", help_text="In the vessel, right after pouring in.")
    around_c = degrees("Around the vessel it is", help_text="The room, or the standing bath.")
    tau_min = NumberField("Cooling constant", unit="min", high=10_000, help_text=TAU_HELP)

    def offer(self, bench: Bench) -> None:
        super().offer(bench)
        self.fields["around_c"].initial = bench.rules.room_c


class DriftForm(PrintedForm, CourseForm):
    field_order = ("row", "points", "start_c", "around_c", "tau_min")

    def offer(self, bench: Bench) -> None:
        PrintedForm.offer(self, bench)
        CourseForm.offer(self, bench)


def course_of(given: Given) -> Course:
    return Course(float(given["start_c"]), float(given["around_c"]), float(given["tau_min"]))


def drift(given: Given, bench: Bench) -> Answer:
    row, course = printed(given), course_of(given)
    fit = row.fit()
    near_c, near_min = nearest_printed(row.row, course.start_c)
    minutes = drift_time_min(
        course,
        printed_min=near_min,
        reference_c=near_c,
        k_per_c=fit.k_per_c,
        low_c=fit.low_c,
        high_c=fit.high_c,
    )
    end_c = course.at_c(minutes)
    return Answer(
        results=(
            minutes_result(minutes, "Time to give"),
            degrees_result(end_c, "At the end"),
        ),
        sentence=f"Give {minutes_says(minutes)}: from {plain(given['start_c'], '°C')} it drifts to "
        f"{degrees_says(end_c)}, and that does what {minutes_says(near_min)} do at "
        f"{plain(near_c, '°C', 2)}.",
        formula="the time t for which ∫₀ᵗ e^(k × (T(τ) − T printed)) dτ = t printed",
        law=LAW,
        steps=(
            f"nearest printed: {minutes_says(near_min)} at {plain(near_c, '°C', 2)}",
            f"T(t) = {plain(given['around_c'])} + "
            f"{plain(given['start_c'] - given['around_c'])} × e^(−t ÷ {plain(given['tau_min'])})",
            f"equal effect after {minutes_says(minutes)}, at {degrees_says(end_c, 2)}",
        ),
        used=(row.used, fit_used(fit), *around_used(given, bench)),
        holds=f"As long as the temperature stays within {row.range_says}, as printed, from start "
        "of pour-in to start of pour-out. For black-and-white negatives only.",
        cautions=short_caution(minutes),
    )


def around_used(given: Given, bench: Bench) -> tuple[Used, ...]:
    around = given["around_c"]
    return (
        house_figure(
            f"Around the vessel {plain(around, '°C')}", is_house=around == bench.rules.room_c
        ),
        entered(f"Cooling constant {plain(given['tau_min'], 'min')}"),
    )


ALIKE = Outside("tau_min", "A vessel takes some time to cool.")
SUMS = (
    Sum(
        slug="drift",
        title="Drift during a run",
        question="How long do I develop when the developer cools or warms on the way?",
        group=Group.MINUTES,
        place=2,
        form=DriftForm,
        solve=drift,
        example=always(
            {
                "row": "",
                "points": "20 = 6:30\n21.11 = 6\n22.22 = 5:30\n23.89 = 5",
                "start_c": "23",
                "around_c": "19",
                "tau_min": "40",
            }
        ),
        outside={
            "actual_c": COOLED,
            "start_c": COOLED,
            "end_c": Outside(
                "start_c",
                "On the way it leaves the printed range: temper the vessel, or start so that it "
                "stays inside.",
            ),
            "tau_min": ALIKE,
            "k_per_c * (start_c - surroundings_c)": COOLED,
        },
    ),
)
