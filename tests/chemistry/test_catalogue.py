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
from chemistry.models import (
    Figure,
    Film,
    Hazard,
    Ingredient,
    Process,
    ProcessFigure,
    ProcessStep,
    Recipe,
    RecipeVersion,
    Standing,
    TimePoint,
    TimeRow,
    WayOfUse,
)
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
    models = (
        *(Format, Recipe, RecipeVersion, WayOfUse, Figure, Ingredient, Hazard),
        *(Process, ProcessStep, ProcessFigure, Film, TimeRow, TimePoint),
    )
    return {model.__name__: list(model.objects.order_by("pk").values()) for model in models}


# Reading


def test_catalogue_has_no_problems(catalogue: Catalogue) -> None:
    assert problems(catalogue) == []


def test_every_figure_names_source_standing_and_its_unit(catalogue: Catalogue) -> None:
    figures = [f for r in catalogue.recipes for way in r.ways for f in way.figures]

    assert len(figures) > 40
    assert all(f.source and f.standing in Standing.values for f in figures)
    assert all(f.unit == UNITS[f.name] for f in figures)


def test_everything_that_claims_something_names_its_source_and_standing(
    catalogue: Catalogue,
) -> None:
    baths = [row for r in catalogue.recipes for row in (*r.ingredients, *r.hazards)]
    processes = [row for p in catalogue.processes for row in (p, *p.steps, *p.figures)]
    claims = [*baths, *processes, *catalogue.rows]

    assert len(claims) > 150
    assert all(claim.source and claim.standing in Standing.values for claim in claims)


def test_no_source_is_a_bare_address(catalogue: Catalogue) -> None:
    sources = {row.source for r in catalogue.recipes for row in r.ingredients}
    sources |= {f.source for r in catalogue.recipes for way in r.ways for f in way.figures}

    assert not [source for source in sources if "pastebin" in source or "://" in source]


def test_d_76_is_dissolved_in_its_order(catalogue: Catalogue) -> None:
    rows = _recipe(catalogue, "d-76").ingredients

    assert [(row.name, row.amount, row.unit, row.temp_c, row.cas) for row in rows] == [
        ("Water", 750, "mL", 52, ""),
        ("Metol", 2, "g", None, "55-55-0"),
        ("Sodium sulfite, anhydrous", 100, "g", None, "7757-83-7"),
        ("Hydroquinone", 5, "g", None, "123-31-9"),
        ("Borax", 2, "g", None, "1303-96-4"),
    ]
    assert {row.standing for row in rows} == {Standing.RESTATED}


def test_what_is_only_remembered_uncertainly_has_no_amount(catalogue: Catalogue) -> None:
    missing = {
        r.code: {row.name for row in r.ingredients if row.amount is None} for r in catalogue.recipes
    }

    assert {code: names for code, names in missing.items() if names} == {
        "para-aminophenol-mix": {
            "Para-aminophenol hydrochloride",
            "Potassium metabisulfite",
            "Potassium hydroxide",
        },
        "wash-aid-hca": {"Sodium sulfite, anhydrous", "Sodium bisulfite"},
    }


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
        ('classes = ["ACID"]', 'classes = ["SOUR"]', "classes has 'SOUR'"),
        ('classes = ["ACID"]', 'classes = ["ACID", "ACID"]', "classes says something twice"),
        ('statements = ["H314"]', 'statements = ["H999"]', "statements has 'H999'"),
        ('unit = "mL"', 'unit = "cups"', "unit is 'cups'"),
        ("amount = 32,", 'amount = "32",', "'32' is no number"),
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


def _no_acid_fixer(c: Catalogue) -> Catalogue:
    others = (r for r in c.recipes if (r.role, r.reaction) != ("fixer", "acid"))
    return replace(c, recipes=tuple(others))


def _changed(code: str, **values: Any) -> Callable[[Catalogue], Catalogue]:
    return lambda c: _with_recipe(c, replace(_recipe(c, code), **values))


def _changed_ingredient(code: str, **values: Any) -> Callable[[Catalogue], Catalogue]:
    def spoil(c: Catalogue) -> Catalogue:
        first, *others = _recipe(c, code).ingredients
        changed = (replace(first, **values), *others)
        return _with_recipe(c, replace(_recipe(c, code), ingredients=changed))

    return spoil


def _weighed_without_hazards(c: Catalogue) -> Catalogue:
    d76 = _recipe(c, "d-76")
    return _with_recipe(c, replace(d76, hazards=d76.hazards[1:]))


def _uncertain_process_figure(c: Catalogue) -> Catalogue:
    e6 = next(p for p in c.processes if p.code == "e-6")
    changed = replace(e6, figures=(replace(e6.figures[0], standing="remembered-low"),))
    return replace(c, processes=tuple(changed if p is e6 else p for p in c.processes))


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
        (_no_acid_fixer, "bw-neg, Fixer: no acid fixer stands there"),
        (_changed("rapid-fixer", reaction="alkaline"), "what reacts acid counts as acid"),
        (_changed("tf-3", classes=("ACID",)), "what reacts acid counts as acid"),
        (_changed("d-76", classes=()), "a developer counts as organic reducer"),
        (_changed("sb-8", hazards=()), "sb-8: no hazards stand there"),
        (_weighed_without_hazards, "powder is weighed, and its hazards do not stand there"),
        (_changed_ingredient("d-76", amount=None), "d-76: Water has no value"),
        (_changed_ingredient("d-76", amount=Decimal(0)), "d-76: Water is none at all"),
        (_changed_ingredient("d-76", standing="remembered-low"), "Water is remembered uncertainly"),
        (_changed_ingredient("d-76", name="Metol"), "d-76: Metol stands there twice"),
        (_changed_ingredient("pyrocat-hd", unit="g"), "Working solution mixes parts with weights"),
        (_uncertain_process_figure, "e-6, Replenishment: is remembered uncertainly"),
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
@pytest.mark.parametrize(
    "change",
    [
        _changed("d-76", classes=("ORGANIC_REDUCER",)),
        _changed("d-76", hazards=()),
        _changed_ingredient("d-76", order=9),
        _changed_ingredient("d-76", amount=Decimal(760)),
    ],
)
def test_load_takes_up_what_changed_in_formula_hazards_or_classes(
    catalogue: Catalogue,
    change: Callable[[Catalogue], Catalogue],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    load_catalogue()
    monkeypatch.setattr("chemistry.catalogue.load.problems", lambda catalogue: [])

    assert load_catalogue(change(catalogue)) == Loaded(recipes=1)
    assert load_catalogue(change(catalogue)) == Loaded()


@pytest.mark.django_db
def test_load_takes_away_the_figures_that_a_process_no_longer_has(catalogue: Catalogue) -> None:
    load_catalogue()
    c41 = next(p for p in catalogue.processes if p.code == "c-41")
    others = (p for p in catalogue.processes if p is not c41)
    fewer = replace(c41, figures=c41.figures[:2])

    assert load_catalogue(replace(catalogue, processes=(*others, fewer))) == Loaded(processes=1)
    assert ProcessFigure.objects.filter(process__code="c-41").count() == 2


@pytest.mark.django_db
def test_colour_is_not_booked_and_keeps_what_its_sources_disagree_about() -> None:
    load_catalogue()

    colour = Process.objects.filter(code__in=("c-41", "c-41ra", "e-6"))
    assert [(p.needs_held_temperature, p.is_bookable) for p in colour] == [(True, False)] * 3
    developer = ProcessStep.objects.get(process__code="e-6", order=1)
    assert (developer.minutes, developer.temp_c, developer.tolerance_c) == (
        6,
        38,
        Decimal("0.3"),
    )
    assert "37.8" in developer.caution
    total_min = sum(step.minutes for step in ProcessStep.objects.filter(process__code="e-6"))
    assert total_min == 33


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
