"""The developing time at another temperature, by the row's own printed times."""

from __future__ import annotations

from django import forms

from chemistry.bench.answers import Answer, Outside, Refused, Used
from chemistry.bench.fields import degrees
from chemistry.bench.house import Bench
from chemistry.bench.printed import (
    RETIMED_NEVER,
    Printed,
    PrintedForm,
    fit_used,
    printed,
    short_caution,
)
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.wording import minutes_result, minutes_says, plain
from chemistry.science.kinetics import Fit
from chemistry.science.rows import nearest_printed, row_time_min

KINDS = (
    ("bw", "Black-and-white negatives"),
    ("colour", "Colour, or the first developer of slides"),
)


class TimeForm(PrintedForm):
    kind = forms.ChoiceField(
        label="What is developed", choices=KINDS, initial="bw", widget=forms.RadioSelect
    )
    temp_c = degrees("The developer is at")
    field_order = ("kind", "row", "points", "temp_c")


def time_at(given: Given, bench: Bench) -> Answer:
    if given["kind"] == "colour":
        raise Refused(RETIMED_NEVER, field="kind")
    row, at_c = printed(given), float(given["temp_c"])
    fit = None if row.has_one_temperature else row.fit()
    minutes = row_time_min(row.row, at_c, fit=fit)
    near_c, near_min = nearest_printed(row.row, at_c)
    return Answer(
        results=(minutes_result(minutes, f"At {plain(given['temp_c'], '°C')}"),),
        sentence=f"Develop {minutes_says(minutes)} at {plain(given['temp_c'], '°C')}, instead of "
        f"{minutes_says(near_min)} at {plain(near_c, '°C', 2)}.",
        formula="t = t printed × e^(−k × (T − T printed)), from the nearest printed temperature",
        law="Exponential law of reaction kinetics, fitted within one row",
        steps=_steps(at_c, minutes, row, fit),
        used=_used(row, fit),
        holds=f"From {row.range_says}, as printed; beyond it nothing is guessed. Where the row "
        "could be checked it was within 5 %, no worse than the rounding of the printed times.",
        cautions=short_caution(minutes),
    )


def _steps(at_c: float, minutes: float, row: Printed, fit: Fit | None) -> tuple[str, ...]:
    near_c, near_min = nearest_printed(row.row, at_c)
    nearest = f"nearest printed: {minutes_says(near_min)} at {plain(near_c, '°C', 2)}"
    if fit is None:
        return (nearest, "printed at one temperature, so it answers for that one only")
    return (
        nearest,
        f"e^(−{plain(fit.k_per_c, digits=4)} × ({plain(at_c, digits=2)} − "
        f"{plain(near_c, digits=2)})) = {plain(minutes / near_min, digits=3)}",
        f"{minutes_says(near_min)} × {plain(minutes / near_min, digits=3)} = "
        f"{minutes_says(minutes)}",
    )


def _used(row: Printed, fit: Fit | None) -> tuple[Used, ...]:
    return (row.used,) if fit is None else (row.used, fit_used(fit))


SUMS = (
    Sum(
        slug="time",
        title="Time at another temperature",
        question="How long do I develop when the developer is warmer or cooler than printed?",
        group=Group.MINUTES,
        place=1,
        form=TimeForm,
        solve=time_at,
        example=always(
            {
                "kind": "bw",
                "row": "",
                "points": "20 = 6:30\n21.11 = 6\n22.22 = 5:30\n23.89 = 5",
                "temp_c": "21.5",
            }
        ),
        outside={
            "actual_c": Outside(
                "temp_c", "Bring the developer into the printed range; beyond it nobody measured."
            ),
        },
    ),
)
