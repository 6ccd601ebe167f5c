"""What a sum does not answer: said beside the field, with what to do instead; input is kept."""

from __future__ import annotations

import random

import pytest
from django import forms

from chemistry.bench.answers import Result
from chemistry.bench.house import Bench
from chemistry.bench.registry import BY_SLUG, SUMS
from chemistry.bench.working import Worked, work_out
from chemistry.models import TimeRow
from darkroom.models import Material
from tests.chemistry.bench.conftest import Ask, complaints, page_text
from tests.factories.chemistry import TimePointFactory, TimeRowFactory
from tests.factories.darkroom import FormatFactory

F32 = "20 = 6:30\n21.11 = 6\n22.22 = 5:30\n23.89 = 5"
TIME = {"kind": "bw", "row": "", "points": F32, "temp_c": "21"}
DRIFT = {"row": "", "points": F32, "start_c": "22", "around_c": "20", "tau_min": "40"}
WATERS = {"total_ml": "1000", "wanted_c": "38", "hot_c": "50", "cold_c": "15"}


# What is out of range may be the outcome of a figure, told beside the one that mends it.
MOVED = {("drift", "tau_min", "2"): "start_c", ("wash", "held_ml", "5000"): "fill_ml"}


def _wrong(slug: str, field: str, written: str, part: str) -> object:
    return pytest.param(slug, field, written, part, id=f"{slug}, {field} {written!r}")


@pytest.mark.parametrize(
    ("slug", "field", "written", "part"),
    [
        _wrong("dilution", "dilution", "1:9", "is read in two ways"),
        _wrong("dilution", "dilution", "1/9", "is read in two ways"),
        _wrong("dilution", "dilution", "nine", "1+9 or 1+50"),
        _wrong("dilution", "dilution", "1+99999", "At most 1+10000"),
        _wrong("dilution", "total_ml", "a lot", "as a number"),
        _wrong("dilution", "total_ml", "0", "more than 0 mL"),
        _wrong("dilution", "total_ml", "0.05", "cannot be measured"),
        _wrong("stock", "stock_ml", "1,200", "could mean either"),
        _wrong("strength", "wanted_pct", "99", "lies outside 0 to 70 %. Choose a strength between"),
        _wrong("strength", "weak_pct", "80", "cannot be stronger"),
        _wrong("strength", "strong_pct", "101", "At most 100 %"),
        _wrong("weaken", "wanted_pct", "0", "more than 0 %. Water only weakens"),
        _wrong("weaken", "wanted_pct", "71", "lies outside 0 to 70 %. Water only weakens"),
        _wrong("solid", "strength_pct", "0", "more than 0 %"),
        _wrong("pour-in", "wanted_c", "100", "no help"),
        _wrong("pour-in", "vessel_heat", "-5", "Write a number"),
        _wrong("lands", "poured_c", "101", "At most 100 °C"),
        _wrong("vessel", "read_c", "40.5", "lies outside 20 to 40 °C"),
        _wrong("vessel", "read_c", "20", "between the water's temperature and the vessel's"),
        _wrong("two-waters", "wanted_c", "60", "lies outside 14 to 55 °C. Two waters only make"),
        _wrong("two-waters", "hot_c", "14", "has to be the hotter"),
        _wrong("temper", "wanted_c", "61", "between the bath and the water"),
        _wrong("temper", "water_c", "38", "take hotter water"),
        _wrong("warm-up", "power_w", "60", "comes to rest at 35.0 °C. A lid"),
        _wrong("warm-up", "power_w", "0", "warms nothing"),
        _wrong("warm-up", "tolerance_c", "", "near enough"),
        _wrong("time", "temp_c", "24", "lies outside 20 to 23.89 °C. Bring the developer"),
        _wrong("time", "kind", "colour", "one time and a tolerance"),
        _wrong("time", "points", "", "Choose a printed row"),
        _wrong("time", "points", "20 = 6\n24 = 9", "grow with the temperature"),
        _wrong("time", "points", "20 = 0\n24 = 0", "longer than nothing"),
        _wrong("time", "points", "warm = long", "degrees and minutes"),
        _wrong("drift", "points", "22 = 8", "one temperature only"),
        _wrong("drift", "start_c", "24", "keep the bath tempered"),
        _wrong("drift", "tau_min", "2", "leaves the printed range"),
        _wrong("drift", "tau_min", "0", "takes some time to cool"),
        _wrong("colour-drift", "tolerance_c", "0", "Write what its manual says"),
        _wrong("colour-drift", "aim_c", "", "Write what its manual says"),
        _wrong("cooling", "third_c", "33", "wait longer between"),
        _wrong("cooling", "spacing_min", "0", "Leave some minutes"),
        _wrong("wash", "material", "FB paper", "never by filling and dumping"),
        _wrong("wash", "hardening", "yes", "running water, 20 minutes"),
        _wrong("wash", "water_c", "8", "at least 10 °C. Temper it"),
        _wrong("wash", "held_ml", "5000", "fill with more water"),
        _wrong("first-rinse", "rinse_ml", "", "required"),
        _wrong("left", "capacity_au_per_l", "0", "takes something"),
        _wrong("left", "volume_ml", "", "needed here"),
    ],
)
def test_refusal_stands_beside_its_field(
    ask: Ask, bench: Bench, slug: str, field: str, written: str, part: str
) -> None:
    answer = ask(slug, **BY_SLUG[slug].example(bench) | {field: written})
    said, text = complaints(answer), page_text(answer)

    assert answer.status_code == 422
    place = MOVED.get((slug, field, written), field)
    assert list(said) == [place]
    assert part in said[place]
    assert f'id="id_{place}_slot"' in text
    assert answer.context["form"][field].value() == written


def test_refusal_of_a_lot_without_a_sheet(ask: Ask) -> None:
    size = FormatFactory()
    said = complaints(ask("area", grain="plain", **{f"format-{size.pk}": ""}))

    assert said == {f"format-{size.pk}": "Write how many there are of one size at least."}


def test_refusal_of_half_a_sheet(ask: Ask) -> None:
    size = FormatFactory()
    said = complaints(ask("area", grain="plain", **{f"format-{size.pk}": "2.5"}))

    assert said == {f"format-{size.pk}": "Whole sheets and rolls only."}


def test_refusal_of_a_row_and_own_times_together(ask: Ask) -> None:
    row = TimePointFactory().row

    assert "not both" in complaints(ask("time", **TIME | {"row": row.pk}))["points"]


def test_refusal_of_a_row_printed_at_one_temperature(ask: Ask) -> None:
    row = TimePointFactory(temp_c=20, minutes=8).row
    own = {"row": row.pk, "points": ""}

    assert "outside 19.95 to 20.05" in complaints(ask("time", **TIME | own))["temp_c"]
    assert "one temperature only" in complaints(ask("drift", **DRIFT | own))["row"]


def test_refusal_of_a_colour_film(ask: Ask) -> None:
    row: TimeRow = TimeRowFactory(film__material=Material.COLOUR)
    for temp_c, minutes in ((37, 4), (38, 3)):
        TimePointFactory(row=row, temp_c=temp_c, minutes=minutes)
    own = {"row": row.pk, "points": ""}

    assert "no other time" in complaints(ask("time", **TIME | own, **{}))["row"]
    assert "no other time" in complaints(ask("drift", **DRIFT | own))["row"]


def test_refusal_of_a_row_that_is_not_there(ask: Ask) -> None:
    assert list(complaints(ask("time", **TIME | {"row": "999999", "points": ""}))) == ["row"]


WRITTEN = (
    *("", "0", "0.001", "0.15", "1", "2.5", "10", "19.99", "20", "37.8", "99.9", "100", "500"),
    *("8000", "99999", "1000000", "999999999", "1,200", "-3", "1e5", "abc", "1+0", "1+50"),
    *("20 = 6\n24 = 4", "20 = 100\n20.01 = 1", "20 = 5\n90 = 5", "1 = 1", "20 = 0"),
)


@pytest.mark.parametrize("slug", [one.slug for one in SUMS])
def test_nothing_written_breaks_a_sum(bench: Bench, slug: str) -> None:
    """An answer, or a complaint beside a field; never neither, never a number that is none."""
    one, chance = BY_SLUG[slug], random.Random(slug)
    FormatFactory()
    example = dict(one.example(bench))
    for _ in range(150):
        spoilt = chance.sample(sorted(example), k=chance.randint(1, min(3, len(example))))
        figures = example | {
            name: _anything(one.form(bench=bench), name, chance) for name in spoilt
        }
        worked = work_out(one, figures, bench)
        assert (worked.answer is None) == bool(worked.form.errors), figures
        assert "__all__" not in worked.form.errors, (figures, worked.form.errors)
        assert not [one for one in _amounts(worked) if one.value.startswith("−")], figures
        assert not {"nan", "inf"} & set(str(worked.answer).lower().split()), figures


def _amounts(worked: Worked) -> list[Result]:
    """Millilitres, sheets and minutes, of which there is never less than nothing."""
    results = worked.answer.results if worked.answer else ()
    return [one for one in results if one.unit != "°C"]


def _anything(form: forms.Form, name: str, chance: random.Random) -> str:
    field = form.fields[name]
    if isinstance(field, forms.ChoiceField):
        return str(chance.choice([*(key for key, _ in field.choices), "nonsense"]))
    return chance.choice(WRITTEN)
