"""Washing by changes of water, under the conditions for which that holds."""

from __future__ import annotations

from decimal import Decimal

from django import forms

from chemistry.bench.answers import (
    Answer,
    Outside,
    Refused,
    Result,
    Table,
    Used,
    entered,
    standing,
)
from chemistry.bench.fields import MlField, NumberField, degrees
from chemistry.bench.forms import BenchForm
from chemistry.bench.house import Bench
from chemistry.bench.sum import Given, Group, Sum, always
from chemistry.bench.wording import exact_ml, plain
from chemistry.models import Standing
from chemistry.science.washing import (
    FEWEST_FILLS,
    Material,
    WashCase,
    WrongWash,
    cold_factor,
    fill_residue,
    fills_for,
)
from chemistry.units import ml_from_ul

MATERIALS = (
    (Material.FILM.value, "Film"),
    (Material.RC_PAPER.value, "Resin-coated paper"),
    (Material.FB_PAPER.value, "Fibre-base paper"),
)
MOST_SHOWN = 30
FEWEST = Used(
    f"{FEWEST_FILLS} soaked fills at the least: what is slow is the way out of the gelatin",
    "No published least number was found",
    standing(Standing.HOUSE),
)
COLD = Used(
    "Twice as long at 10 °C as at 20 °C",
    "TM 11-2323: washing takes twice the time at 50 °F, four times at 35 °F",
    standing(Standing.READ),
)


class WashForm(BenchForm):
    material = forms.ChoiceField(
        label="What is washed",
        choices=MATERIALS,
        initial=Material.FILM.value,
        widget=forms.RadioSelect,
    )
    hardening = forms.ChoiceField(
        label="The fixer",
        choices=(("no", "Non-hardening"), ("yes", "Hardening")),
        initial="no",
        widget=forms.RadioSelect,
    )
    held_ml = MlField(
        label="What film and vessel hold back",
        help_text="About 10 mL for one 135-36 and its tank (Torzynski, 2004, read).",
    )
    fill_ml = MlField(label="One fill")
    one_part_in = NumberField("Down to one part in", unit="of what was there", low=2, high=10**9)
    water_c = degrees("The water is at")


def wash(given: Given, bench: Bench) -> Answer:
    held, fill = (float(ml_from_ul(given[name])) for name in ("held_ml", "fill_ml"))
    case = WashCase(
        Material(given["material"]), given["hardening"] == "yes", float(given["water_c"])
    )
    fills = _fills(case, held, fill, 1 / float(given["one_part_in"]))
    if fills > MOST_SHOWN:
        raise Refused(
            f"That would take {fills} fills: fill with more water, or let it drain longer.",
            field="fill_ml",
        )
    left = [1 / fill_residue(held_ml=held, fill_ml=fill, fills=n) for n in range(1, fills + 1)]
    return Answer(
        results=(
            Result(str(fills), "fills", "Fill, soak, dump"),
            *_slower(cold_factor(case.water_c)),
        ),
        sentence=f"{fills} fills of {exact_ml(given['fill_ml'])}, each soaked and turned over, "
        f"leave one part in {_one_in(left[-1])} of what is dissolved.",
        formula="left = (d ÷ (d + V))ⁿ, d held back, V one fill, n fills",
        law="Dilution, each fill well mixed and drained",
        steps=(
            f"{exact_ml(given['held_ml'])} ÷ ({exact_ml(given['held_ml'])} + "
            f"{exact_ml(given['fill_ml'])}) = 1 part in {_one_in(left[0])} per fill",
            f"1 part in {plain(given['one_part_in'])} asks {_asked(given)} fills; "
            f"{FEWEST_FILLS} is the least",
        ),
        used=(FEWEST, COLD, entered(f"{exact_ml(given['held_ml'])} held back")),
        holds="For film and resin-coated paper after a non-hardening fixer, water from 10 °C on. "
        "Not for fibre-base paper, not after a hardener.",
        cautions=(
            "This speaks of what is free to leave. Whether a wash was archival only a residual "
            "test shows.",
            "The first dumps carry fixer and silver: they go into the fixer's container.",
        ),
        table=Table(
            ("After fill", "#Left, one part in"),
            tuple((str(n), _one_in(one)) for n, one in enumerate(left, start=1)),
        ),
    )


def _fills(case: WashCase, held: float, fill: float, residue: float) -> int:
    try:
        return fills_for(case, held_ml=held, fill_ml=fill, residue=residue)
    except WrongWash as error:
        if case.material is Material.FB_PAPER:
            raise Refused(
                "Fibre-base paper holds on to its fixer: never by filling and dumping. Wash it in "
                "running water after a wash aid, and test.",
                field="material",
            ) from error
        raise Refused(
            "A hardener slows the way out: wash in running water, 20 minutes or more (NAVEDTRA "
            "14209).",
            field="hardening",
        ) from error


def _slower(factor: float) -> tuple[Result, ...]:
    """How much longer cold water soaks."""
    return (Result(plain(factor, digits=1), "times as long", "Each soak"),) if factor > 1 else ()


def _one_in(parts: float) -> str:
    """Three digits: what is held back is not known better."""
    return plain(Decimal(f"{parts:.3g}"))


def _asked(given: Given) -> int:
    """Fills that the dilution alone would be content with."""
    held, fill = given["held_ml"], given["fill_ml"]
    left, fills, wanted = Decimal(1), 0, 1 / given["one_part_in"]
    while left > wanted and fills < MOST_SHOWN:
        left, fills = left * held / (held + fill), fills + 1
    return fills


SUMS = (
    Sum(
        slug="wash",
        title="Wash by changes",
        question="How many fills and dumps wash film?",
        group=Group.WASHING,
        place=1,
        form=WashForm,
        solve=wash,
        example=always(
            {
                "material": Material.FILM.value,
                "hardening": "no",
                "held_ml": "10",
                "fill_ml": "500",
                "one_part_in": "1000000",
                "water_c": "20",
            }
        ),
        outside={
            "water_c": Outside(
                "water_c", "Temper it: in colder water the gelatin lets nothing out in time."
            )
        },
    ),
)
