from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from chemistry.catalogue.checks import problems
from chemistry.catalogue.load import Loaded, load_catalogue
from chemistry.catalogue.reading import read_catalogue
from chemistry.catalogue.schema import UNITS, Catalogue, CatalogueFault, RecipeData
from chemistry.models import Figure, Process, ProcessStep, Recipe, RecipeVersion, Standing, TimeRow
from darkroom.models import Format


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return read_catalogue()


def _recipe(catalogue: Catalogue, code: str) -> RecipeData:
    return next(recipe for recipe in catalogue.recipes if recipe.code == code)


def _with_recipe(catalogue: Catalogue, changed: RecipeData) -> Catalogue:
    others = (r for r in catalogue.recipes if r.code != changed.code)
    return replace(catalogue, recipes=(*others, changed))


def _stored() -> dict[str, list[dict[str, Any]]]:
    models = (Format, Recipe, RecipeVersion, Figure, Process, ProcessStep, TimeRow)
    return {model.__name__: list(model.objects.order_by("pk").values()) for model in models}


# Reading


def test_catalogue_has_no_problems(catalogue: Catalogue) -> None:
    assert problems(catalogue) == []


def test_every_figure_names_source_standing_and_its_unit(catalogue: Catalogue) -> None:
    figures = [f for r in catalogue.recipes for way in r.ways for f in way.figures]

    assert len(figures) > 40
    assert all(f.source and f.standing in Standing.values for f in figures)
    assert all(f.unit == UNITS[f.name] for f in figures)


def test_sheets_have_their_exact_nominal_area(catalogue: Catalogue) -> None:
    areas = {row.name: row.area_mm2 for row in catalogue.formats}

    assert areas == {
        "4×5": Decimal("12903.20"),
        "5×7": Decimal("22580.60"),
        "8×10": Decimal("51612.80"),
        "135-36": Decimal("51612.80"),
        "120": Decimal("51612.80"),
    }


def _copy_of_data(folder: Path) -> Path:
    source = Path(load_catalogue.__code__.co_filename).parent / "data"
    for path in source.rglob("*.toml"):
        target = folder / path.relative_to(source)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ('unit = "AU/L"', 'unit = "rolls/L"', "unit is 'rolls/L'"),
        ('standing = "read"', 'standing = "hearsay"', "standing is 'hearsay'"),
        ('source = "cookbook-stop"', 'source = "somebody"', "source is 'somebody'"),
        ("value = 12", 'value = "12"', "'12' is no number"),
        ('materials = ["film"]', 'materials = ["foil"]', "'foil' is no class of material"),
        ('letter = "S"', 'letter = "S"\ncolour = "red"', "unknown: colour"),
        ('name = "SB-5 stop bath"\n', "", "name is missing"),
    ],
)
def test_reading_refuses_what_the_schema_does_not_know(
    tmp_path: Path, old: str, new: str, complaint: str
) -> None:
    page = _copy_of_data(tmp_path) / "recipes" / "other_baths.toml"
    text = page.read_text(encoding="utf-8")
    assert old in text
    page.write_text(text.replace(old, new, 1), encoding="utf-8")

    with pytest.raises(CatalogueFault, match=complaint):
        read_catalogue(tmp_path)


# What must hold across the files


def _no_capacity(c: Catalogue) -> Catalogue:
    stop = _recipe(c, "sb-5")
    return _with_recipe(c, replace(stop, ways=(replace(stop.ways[0], figures=()),)))


def _uncertain_default(c: Catalogue) -> Catalogue:
    stop = _recipe(c, "sb-5")
    figures = tuple(
        replace(f, standing=Standing.REMEMBERED_LOW.value) for f in stop.ways[0].figures
    )
    return _with_recipe(c, replace(stop, ways=(replace(stop.ways[0], figures=figures),)))


def _alkaline_fixer(c: Catalogue) -> Catalogue:
    return _with_recipe(c, replace(_recipe(c, "rapid-fixer"), reaction="alkaline"))


def _acid_stop_before_alkaline_fixer(c: Catalogue) -> Catalogue:
    steps = tuple(
        replace(s, reaction="alkaline") if s.role == "fixer" else s for s in c.processes[0].steps
    )
    return replace(c, processes=(replace(c.processes[0], steps=steps), *c.processes[1:]))


def _same_letter(c: Catalogue) -> Catalogue:
    return _with_recipe(c, replace(_recipe(c, "sb-8"), letter="S"))


def _growing_time(c: Catalogue) -> Catalogue:
    first = c.rows[0]
    points = (first.points[0], (Decimal("23.89"), Decimal(20)))
    return replace(c, rows=(replace(first, points=points), *c.rows[1:]))


def _remembered_time(c: Catalogue) -> Catalogue:
    return replace(c, rows=(replace(c.rows[0], standing="remembered-low"), *c.rows[1:]))


def _strange_dilution(c: Catalogue) -> Catalogue:
    return replace(c, rows=(replace(c.rows[0], dilution_n=Decimal(3)), *c.rows[1:]))


@pytest.mark.parametrize(
    ("spoil", "complaint"),
    [
        (_no_capacity, "sb-5, reused: a reused bath needs a capacity"),
        (_uncertain_default, "sb-5, reused: capacity is remembered uncertainly and is no default"),
        (_alkaline_fixer, "bw-neg, Fixer: rapid-fixer is alkaline"),
        (_acid_stop_before_alkaline_fixer, "bw-neg: an acid stop stands before an alkaline fixer"),
        (_same_letter, "letter S stands there twice"),
        (_growing_time, "times must not grow with temperature"),
        (_remembered_time, "a time that is only remembered is no default"),
        (_strange_dilution, "the developer is not used so"),
    ],
)
def test_checks_find(
    catalogue: Catalogue, spoil: Callable[[Catalogue], Catalogue], complaint: str
) -> None:
    assert any(complaint in problem for problem in problems(spoil(catalogue)))


# Loading


@pytest.mark.django_db
def test_load_brings_in_everything(catalogue: Catalogue) -> None:
    loaded = load_catalogue()

    assert loaded.recipes == RecipeVersion.objects.count() == len(catalogue.recipes)
    assert loaded.times == TimeRow.objects.count() == len(catalogue.rows)


@pytest.mark.django_db
def test_load_twice_changes_nothing() -> None:
    load_catalogue()
    before = _stored()

    assert load_catalogue() == Loaded()
    assert _stored() == before


@pytest.mark.django_db
def test_load_writes_a_changed_recipe_as_a_new_version(catalogue: Catalogue) -> None:
    load_catalogue()
    stop = replace(_recipe(catalogue, "sb-5"), cautions="Ventilate.")

    loaded = load_catalogue(_with_recipe(catalogue, stop))

    assert loaded == Loaded(recipes=1)
    versions = Recipe.objects.get(code="sb-5").versions.order_by("number")
    assert [v.cautions == "Ventilate." for v in versions] == [False, True]


@pytest.mark.django_db
def test_load_replaces_the_points_of_a_corrected_row(catalogue: Catalogue) -> None:
    load_catalogue()
    row = replace(catalogue.rows[0], points=((Decimal("20.00"), Decimal("6.25")),))

    load_catalogue(replace(catalogue, rows=(row, *catalogue.rows[1:])))

    stored = TimeRow.objects.get(film__name=row.film, developer__code=row.developer)
    assert [(p.temp_c, p.minutes) for p in stored.points.all()] == [(Decimal(20), Decimal("6.25"))]


@pytest.mark.django_db
def test_load_refuses_a_faulty_catalogue_before_anything(catalogue: Catalogue) -> None:
    with pytest.raises(CatalogueFault, match="letter S"):
        load_catalogue(_same_letter(catalogue))

    assert not Recipe.objects.exists()


@pytest.mark.django_db
def test_load_leaves_a_format_as_the_house_keeps_it() -> None:
    load_catalogue()
    Format.objects.filter(name="5×7").update(source="Measured here")

    load_catalogue()

    assert Format.objects.get(name="5×7").source == "Measured here"


@pytest.mark.django_db
def test_loaded_tabular_film_counts_half_as_much_again_in_fixer() -> None:
    load_catalogue()

    figures = Figure.objects.filter(way__version__recipe__code="rapid-fixer", name="capacity")
    values = dict(figures.values_list("material", "value"))
    assert values["film"] == 20
    assert values["tabular"] == pytest.approx(values["film"] / Decimal("1.5"), abs=Decimal("1e-4"))


@pytest.mark.django_db
def test_load_catalogue_command_says_what_it_did(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("load_catalogue")
    call_command("load_catalogue")

    first, second = capsys.readouterr().out.splitlines()
    assert "processes" in first
    assert second == "Catalogue: nothing new."
