"""What a bath still takes: by its figures, or a bottle of the house by what happened to it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.urls import reverse

from chemistry.bench.answers import Answer, Refused, Result, Used, entered
from chemistry.bench.fields import MlField, NumberField, OfferField
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.sums.areas import UNIT, size_unit
from chemistry.bench.wording import exact_ml, plain, units_result, units_says
from chemistry.conditions import verdict
from chemistry.figures import bath_figures, figure
from chemistry.models import Batch, FigureName, Way
from chemistry.science.area import AU_MM2, remaining_sheets
from chemistry.science.errors import UnknownClass
from chemistry.science.wear import UL_PER_L, BathFigures, BathState, after_load, remaining_mm2
from chemistry.templatetags.amounts import ml
from chemistry.wear_cache import cached_state
from darkroom.models import Format, Material
from darkroom.templatetags.look import SPACE

LIMITS = (
    FigureName.CAPACITY,
    FigureName.ARREARS_LIMIT,
    FigureName.TURNOVER_LIMIT,
    FigureName.AREA_LIMIT,
)
OWN = ("volume_ml", "capacity_au_per_l", "passed_au")
PAPER = frozenset({Material.RC_PAPER, Material.FB_PAPER})


class LeftForm(BenchForm):
    alternatives = ("bottle", *OWN)
    bottle = OfferField("A bottle of the house", nothing="Another bath: its figures below")
    material = forms.ChoiceField(
        label="What is to go through it",
        choices=Material.choices,
        initial=Material.FILM,
        widget=forms.RadioSelect,
    )
    volume_ml = MlField(label="It holds", required=False)
    capacity_au_per_l = NumberField(
        "Capacity",
        unit="AU/L",
        high=200,
        required=False,
        help_text="For this material, by its maker. 1 AU: a roll, four 4×5 or one 8×10.",
    )
    passed_au = NumberField("Passed so far", unit="AU", high=10_000, required=False)

    def offer(self, bench: Bench) -> None:
        bottles: Any = self.fields["bottle"]
        bottles.offer(lambda: bench.baths)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if "bottle" in given and given["bottle"] is None:
            for name in OWN:
                if name in given and given[name] is None:
                    asked = forms.ValidationError("This is needed here.", code="required")
                    self.add_error(name, asked)
        return given


def left(given: Given, bench: Bench) -> Answer:
    return _own_left(given, bench) if given["bottle"] is None else _bottle_left(given, bench)


def _own_left(given: Given, bench: Bench) -> Answer:
    volume_ul, material = given["volume_ml"], given["material"]
    capacity, passed = given["capacity_au_per_l"], given["passed_au"]
    if not capacity:
        raise Refused("A bath takes something, or it is no bath.", field="capacity_au_per_l")
    figures = BathFigures(way=Way.REUSED, capacity_mm2_per_l={material: capacity * AU_MM2})
    state = after_load(
        BathState(volume_ul=volume_ul),
        area_mm2=passed * AU_MM2,
        material=material,
        figures=figures,
        full_ul=volume_ul,
    )
    left_mm2 = remaining_mm2(state, material, figures) or Decimal(0)
    return _answer(
        bench,
        material,
        left_mm2,
        steps=(
            f"{plain(capacity, 'AU/L')} × {exact_ml(volume_ul)} = "
            f"{plain(capacity * volume_ul / UL_PER_L, 'AU')} in all",
            f"less {plain(passed, 'AU')} passed: {units_says(left_mm2)} left",
        ),
        used=(UNIT, entered(f"Capacity {plain(capacity, 'AU/L')}: take it from the maker's sheet")),
    )


def _bottle_left(given: Given, bench: Bench) -> Answer:
    batch: Batch = given["bottle"]
    left_mm2 = _of_bottle_mm2(batch, given["material"])
    state, found = cached_state(batch), verdict(batch, at=bench.at, rules=bench.rules)
    return _answer(
        bench,
        given["material"],
        left_mm2,
        steps=(
            f"{batch.code} holds {ml(state.volume_ul)}",
            f"{units_says(state.area_mm2)} have passed since it was mixed",
            found.sentence,
        ),
        used=(UNIT, *_limits(batch, given["material"])),
        cautions=(
            "What sessions have been promised already is not taken off here; the bottle's own page "
            "tells it.",
        ),
        more=(reverse("sessions:batch", args=[batch.code]), f"The page of {batch.code}"),
        warning="" if found.is_usable else f"Do not use {batch.code}: {found.sentence}",
    )


def _of_bottle_mm2(batch: Batch, material: str) -> Decimal:
    try:
        left_mm2 = remaining_mm2(cached_state(batch), material, bath_figures(batch.way))
    except UnknownClass as error:
        raise Refused(
            f"{batch.code} has no capacity for {_named(material)}, so it is not "
            "for that. Take a bottle whose recipe names it.",
            field="material",
        ) from error
    if left_mm2 is None:
        raise Refused(
            f"No figure limits {batch.code} by area; its own page tells how it stands.",
            field="bottle",
        )
    return left_mm2


def _named(material: str) -> str:
    label = str(Material(material).label)
    return label if label[1].isupper() else label.lower()


def _answer(
    bench: Bench,
    material: str,
    left_mm2: Decimal,
    *,
    steps: tuple[str, ...],
    used: tuple[Used, ...],
    cautions: tuple[str, ...] = (),
    more: tuple[str, str] | None = None,
    warning: str = "",
) -> Answer:
    counts = [(one, remaining_sheets(left_mm2, one.area_mm2)) for one in _sizes(bench, material)]
    units = units_says(left_mm2)
    says = " or ".join(_count_says(one, count) for one, count in counts)
    return Answer(
        results=(
            *(Result(str(count), size_unit(one), one.name) for one, count in counts),
            units_result(left_mm2, "All in all"),
        ),
        sentence=warning or (f"It still takes {says}." if counts else f"It still takes {units}."),
        formula="left = (capacity × litres − passed) ÷ area of one, rounded down",
        law="Each pass takes its area from the capacity of the litres that are there",
        steps=steps,
        used=used,
        holds="For a bath that is poured back, and as long as nothing else ends it first: its age, "
        "its silver, a clearing time that has doubled. One load has its own limit beside this.",
        cautions=cautions,
        more=more,
        is_refusal=bool(warning),
    )


def _sizes(bench: Bench, material: str) -> list[Format]:
    """Sizes of that kind, or all where the house keeps none of it."""
    wants_paper = material in PAPER
    fitting = [one for one in bench.formats if (one.kind == Format.Kind.PAPER) == wants_paper]
    return fitting or bench.formats


def _count_says(size: Format, count: int) -> str:
    if size.kind == Format.Kind.ROLL:
        return f"{count} of {size.name}"
    return f"{count}{SPACE}sheet{'' if count == 1 else 's'} of {size.name}"


def _limits(batch: Batch, material: str) -> tuple[Used, ...]:
    found = (figure(batch.way, name, material) for name in LIMITS)
    return tuple(
        Used(
            f"{row.get_name_display()} {plain(row.value or 0, row.unit)}",
            row.source,
            row.get_standing_display(),
        )
        for row in found
        if row is not None
    )


SUMS = (
    Sum(
        slug="left",
        title="What is left in this bath",
        question="How many sheets does a fixer or developer still take?",
        group=Group.LEFT,
        form=LeftForm,
        solve=left,
        example=always(
            {
                "bottle": "",
                "material": Material.FILM.value,
                "volume_ml": "1000",
                "capacity_au_per_l": "25",
                "passed_au": "5",
            }
        ),
    ),
)
