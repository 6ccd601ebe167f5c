"""Whether a colour developer stays within its tolerance; it is never given another time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms

from chemistry.bench.answers import Answer, Outside, Result, Used, entered
from chemistry.bench.fields import NumberField, OfferField, degrees
from chemistry.bench.house import Bench
from chemistry.bench.printed import RETIMED_NEVER
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.sums.drifting import ALIKE, LAW, CourseForm, around_used, course_of
from chemistry.bench.wording import (
    degrees_result,
    degrees_says,
    minutes_says,
    plain,
)
from chemistry.models import ProcessStep
from chemistry.science.drift import Course, NotRetimed, colour_time_min

OWN = ("minutes", "aim_c", "tolerance_c")


class ColourForm(CourseForm):
    alternatives = ("step", *OWN)
    step = OfferField("Developer", nothing="Another: its figures below")
    minutes = NumberField(
        "Its time", unit="min", high=60, required=False, help_text="3:15 is 3.25 minutes."
    )
    aim_c = degrees("Its temperature", required=False)
    tolerance_c = NumberField("Tolerance, ±", unit="°C", high=5, required=False)
    field_order = ("step", "minutes", "aim_c", "tolerance_c", "start_c", "around_c", "tau_min")

    def offer(self, bench: Bench) -> None:
        super().offer(bench)
        steps: Any = self.fields["step"]
        steps.offer(lambda: bench.colour_steps)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if "step" in given and given["step"] is None:
            for name in OWN:
                if name in given and given[name] is None:
                    asked = forms.ValidationError("Write what its manual says.", code="required")
                    self.add_error(name, asked)
        return given


@dataclass(frozen=True, slots=True)
class Aim:
    """What a manual asks of a developer, and which manual."""

    minutes: float
    temp_c: float
    tolerance_c: float
    name: str = ""
    source: str = ""
    standing: str = ""

    @property
    def says(self) -> str:
        aimed = f"{plain(self.temp_c)} ± {plain(self.tolerance_c, '°C')}"
        return f"{minutes_says(self.minutes)} at {aimed}"

    @property
    def used(self) -> Used:
        if not self.source:
            return entered(self.says)
        return Used(f"{self.name}: {self.says}", self.source, self.standing)


def _aim(given: Given) -> Aim:
    step: ProcessStep | None = given["step"]
    if step is None:
        minutes, temp_c, tolerance_c = (float(given[name]) for name in OWN)
        return Aim(minutes, temp_c, tolerance_c)
    return Aim(
        float(step.minutes or 0),
        float(step.temp_c or 0),
        float(step.tolerance_c or 0),
        step.name,
        step.source,
        step.get_standing_display(),
    )


def colour(given: Given, bench: Bench) -> Answer:
    aim, course = _aim(given), course_of(given)
    unusable = _unusable_says(course, aim)
    end_c = course.at_c(aim.minutes)
    off_c = course.worst_c(aim.minutes, aim_c=aim.temp_c)
    return Answer(
        results=(
            Result("unusable" if unusable else "holds", "", aim.says),
            degrees_result(end_c, "At the end", 2),
            degrees_result(off_c, "Off at the worst", 2),
        ),
        sentence=unusable
        or f"It stays within tolerance: give the {minutes_says(aim.minutes)} as printed.",
        formula="|T(t) − T aim| ≤ tolerance, from start to end",
        law=LAW,
        steps=(
            f"at the start {plain(given['start_c'], '°C')}, "
            f"{plain(abs(course.start_c - aim.temp_c), '°C', 2)} off",
            f"after {minutes_says(aim.minutes)} {degrees_says(end_c, 2)}, "
            f"{plain(abs(end_c - aim.temp_c), '°C', 2)} off",
        ),
        used=(aim.used, *around_used(given, bench)),
        holds="For developers whose manual gives one time and a tolerance. Such a time is never "
        "lengthened or shortened.",
        is_refusal=bool(unusable),
    )


def _unusable_says(course: Course, aim: Aim) -> str:
    """What is to be done where the course does not hold; nothing where it does."""
    figures = {"printed_min": aim.minutes, "aim_c": aim.temp_c, "tolerance_c": aim.tolerance_c}
    try:
        colour_time_min(course, **figures)
    except NotRetimed as error:
        where = "at the start" if error.temp_c == course.start_c else "at the end"
        return (
            f"Unusable: {where} it is at {degrees_says(error.temp_c, 2)}, outside the tolerance. "
            f"{RETIMED_NEVER} A standing bath at {degrees_says(aim.temp_c)} around the vessel "
            "holds it."
        )
    return ""


SUMS = (
    Sum(
        slug="colour-drift",
        title="Will colour hold?",
        question="Does a colour developer stay within its tolerance to the end?",
        group=Group.MINUTES,
        place=3,
        form=ColourForm,
        solve=colour,
        example=always(
            {
                "step": "",
                "minutes": "3.25",
                "aim_c": "37.8",
                "tolerance_c": "0.15",
                "start_c": "37.9",
                "around_c": "37.7",
                "tau_min": "30",
            }
        ),
        outside={
            "printed_min": Outside("minutes", "It takes some time."),
            "tolerance_c": Outside("tolerance_c", "Write what its manual says, as ± 0.15."),
            "tau_min": ALIKE,
        },
    ),
)
