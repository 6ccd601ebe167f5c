"""Printed developing times for a sum: a row of the catalogue, or pairs that the reader types."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django import forms

from chemistry.bench.answers import Refused, Used, standing
from chemistry.bench.fields import OfferField
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given
from chemistry.bench.wording import minutes_says, plain
from chemistry.forms.recipes import PointsField
from chemistry.models import Standing, TimeRow
from chemistry.science.errors import OutOfRange
from chemistry.science.kinetics import Fit, is_too_short
from chemistry.science.rows import PrintedRow, printed_range_c, row_fit
from darkroom.models import Material

TOO_SHORT = (
    "Under five minutes development may be uneven: take a cooler or a thinner developer "
    "(film makers' sheets)."
)
RETIMED_NEVER = (
    "A colour developer, and the first developer of slides, has one time and a tolerance, and no "
    "other time makes up for another temperature: bring the bath back into its tolerance."
)
GROWING = "These times grow with the temperature: one of them is mistyped."
ONE_TEMPERATURE = "It is printed at one temperature only, so it says nothing about a change of it."
OWN = "own"
TWO_ROWS = "Choose a printed row or write your own pairs, not both."
NO_ROWS = "Choose a printed row, or write at least two temperatures with their minutes."


class PrintedForm(BenchForm):
    alternatives = ("row", "points")
    row = OfferField("Printed times", nothing="My own, written below")
    points = PointsField(
        label="My own printed times",
        max_length=200,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="A line each, °C and minutes of one film and developer: 20 = 9:30.",
    )

    def offer(self, bench: Bench) -> None:
        rows: Any = self.fields["row"]
        rows.offer(lambda: bench.time_rows)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if any(minutes <= 0 for minutes in (given.get("points") or {}).values()):
            self.add_error("points", "Every time has to be longer than nothing.")
        if {"row", "points"} <= given.keys():
            if given["row"] and given["points"]:
                self.add_error("points", TWO_ROWS)
            elif not given["row"] and not given["points"]:
                self.add_error("points", forms.ValidationError(NO_ROWS, code="required"))
        return given


@dataclass(frozen=True, slots=True)
class Printed:
    """A row as the sums know it, and where it comes from."""

    row: PrintedRow
    source: str
    standing: str

    @property
    def used(self) -> Used:
        pairs = (f"{minutes_says(m)} at {plain(t, '°C', 2)}" for t, m in self.row.times)
        return Used(f"Printed: {', '.join(pairs)}", self.source, self.standing)

    @property
    def range_says(self) -> str:
        low, high = printed_range_c(self.row)
        return f"{plain(low, digits=2)} to {plain(high, '°C', 2)}"

    @property
    def field(self) -> str:
        return "points" if self.row.key == OWN else "row"

    @property
    def has_one_temperature(self) -> bool:
        return len(self.row.times) == 1

    def fit(self) -> Fit:
        """The row's own coefficient.

        Raises: Refused for a row that has none.
        """
        if self.has_one_temperature:
            raise Refused(ONE_TEMPERATURE, field=self.field)
        try:
            return row_fit(self.row)
        except OutOfRange as error:
            raise Refused(GROWING, field=self.field) from error


def printed(given: Given) -> Printed:
    """The row that was chosen or written.

    Raises: Refused for a colour film.
    """
    row: TimeRow | None = given["row"]
    if row is None:
        times = tuple((float(t), float(m)) for t, m in sorted(given["points"].items()))
        return Printed(PrintedRow(OWN, times), "Entered on this page", "the reader's own figure")
    if row.film.material == Material.COLOUR:
        raise Refused(RETIMED_NEVER, field="row")
    times = tuple((float(point.temp_c), float(point.minutes)) for point in row.points.all())
    return Printed(PrintedRow(str(row.pk), times), row.source, row.get_standing_display())


def fit_used(fit: Fit) -> Used:
    return Used(
        f"k = {plain(fit.k_per_c, digits=4)} per °C, for this row alone; it misses no printed time "
        f"by more than {plain(100 * fit.worst_ln, '%', 1)}",
        "Least squares through the logarithms of the printed times above",
        standing(Standing.COMPUTED),
    )


def short_caution(minutes: float) -> tuple[str, ...]:
    return (TOO_SHORT,) if is_too_short(minutes) else ()
