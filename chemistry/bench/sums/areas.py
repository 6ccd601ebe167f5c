"""What film counts for against a bath."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from chemistry.bench.answers import Answer, Refused, Result, Used, joined, standing
from chemistry.bench.fields import NumberField
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum
from chemistry.bench.wording import plain, units_result, units_says
from chemistry.models import Standing
from chemistry.science.area import MM2_PER_IN2, area_units
from darkroom.models import Format

MOST_SHEETS = 9999
TABULAR_SHARE = Decimal("1.5")
UNIT = Used(
    "1 AU = 80 in² = 516.128 cm², as a 135-36 or a 120 roll, four 4×5 or one 8×10",
    "The convention behind the trade's capacity tables; Analogue Photography and Film FAQ, "
    "FixerCapacity",
    standing(Standing.RESTATED),
)
TABULAR = Used(
    "Modern flat-grain film counts 1.5 times in a fixer",
    "A maker's label takes two thirds of the capacity for it, read in a forum thread; the FAQ "
    "gives 50 to 70 %",
    standing(Standing.RESTATED),
)


class AreaForm(BenchForm):
    grain = forms.ChoiceField(
        label="What film",
        choices=(("plain", "Ordinary"), ("tabular", "Tabular, modern flat grain")),
        initial="plain",
        widget=forms.RadioSelect,
    )

    def offer(self, bench: Bench) -> None:
        self.alternatives = tuple(f"format-{size.pk}" for size in bench.formats)
        for size in bench.formats:
            field = NumberField(size.name, unit=size_unit(size), high=MOST_SHEETS, required=False)
            self.fields[f"format-{size.pk}"] = field

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for name, count in list(given.items()):
            if isinstance(count, Decimal) and count % 1:
                self.add_error(name, "Whole sheets and rolls only.")
        return given


def size_unit(size: Format) -> str:
    return "rolls" if size.kind == Format.Kind.ROLL else "sheets"


def lot(given: Given, bench: Bench) -> Answer:
    counted = [(size, count) for size in bench.formats if (count := given[f"format-{size.pk}"])]
    if not counted:
        raise Refused("Write how many there are of one size at least.", field=_first(bench))
    area_mm2 = sum((size.area_mm2 * count for size, count in counted), Decimal(0))
    is_tabular = given["grain"] == "tabular"
    fixer_mm2 = area_mm2 * TABULAR_SHARE
    in_fixer = (units_result(fixer_mm2, "In a fixer"),) if is_tabular else ()
    tail = f", in a fixer for {units_says(fixer_mm2)}" if is_tabular else ""
    says = joined([f"{plain(count)} × {size.name}" for size, count in counted])
    return Answer(
        results=(
            units_result(area_mm2, "Together"),
            *in_fixer,
            Result(plain(area_mm2 / MM2_PER_IN2, digits=0), "in²", "Area"),
        ),
        sentence=f"{says} count for {units_says(area_mm2)}{tail}.",
        formula="AU = Σ count × area ÷ 80 in²",
        law="Nominal areas; a roll counts as 80 in² by convention",
        steps=tuple(_lot_step(size, count) for size, count in counted),
        used=(UNIT, *((TABULAR,) if is_tabular else ()), *(_format_used(s) for s, _ in counted)),
        holds="For counting against a bath's capacity. The sheets themselves are cut a few percent "
        "smaller, which is on the safe side.",
    )


def _lot_step(size: Format, count: Decimal) -> str:
    units = area_units(size.area_mm2)
    return (
        f"{plain(count)} × {size.name}: {plain(count)} × {plain(round(units, 4))} = "
        f"{plain(round(count * units, 4), 'AU')}"
    )


def _format_used(size: Format) -> Used:
    return Used(
        f"{size.name}: {plain(round(size.area_mm2 / MM2_PER_IN2, 2), 'in²')}",
        size.source,
        standing(Standing.COMPUTED),
    )


def _first(bench: Bench) -> str:
    return f"format-{bench.formats[0].pk}" if bench.formats else "grain"


def _example(bench: Bench) -> dict[str, str]:
    """A dozen of the house's first size, and one of the next."""
    counts = zip(bench.formats, ("12", "1"), strict=False)
    return {f"format-{size.pk}": count for size, count in counts} | {"grain": "plain"}


SUMS = (
    Sum(
        slug="area",
        title="A mixed lot",
        question="For how many units do these sheets and rolls count?",
        group=Group.LEFT,
        form=AreaForm,
        solve=lot,
        example=_example,
    ),
)
