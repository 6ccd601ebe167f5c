from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from uuid import uuid4

import pytest

from chemistry.adapting import FigureRefused, VersionReplaced, adapt_recipe
from chemistry.calibrating import RowRefused, add_time_row
from chemistry.catalogue.load import load_catalogue
from chemistry.catalogue.reading import read_catalogue
from chemistry.checks import WordsWanted
from chemistry.figures import missing_figures, value
from chemistry.models import Film, Recipe, RecipeVersion, Standing, TimeRow
from darkroom.errors import NotAllowed
from darkroom.models import Agitation, Member
from darkroom.operations import AlreadySent

pytestmark = pytest.mark.django_db
AT = datetime(2026, 3, 2, 18, tzinfo=UTC)
D76 = {
    ("reused", "capacity", "film"): Decimal(8),
    ("reused", "capacity", "tabular"): Decimal("7.5"),
    ("reused", "reuse_step_area", ""): Decimal(1),
    ("reused", "reuse_step_pct", ""): Decimal(10),
}


@pytest.fixture
def d76(db: None) -> RecipeVersion:
    load_catalogue()
    return Recipe.objects.get(code="d-76").latest()


def _adapt(version: RecipeVersion, by: Member, **changed: object) -> RecipeVersion:
    values = {"version": version, "figures": D76, "key": uuid4(), "by": by, "at": AT}
    return adapt_recipe(**values | changed)


def test_adapting_makes_a_new_version_with_the_houses_figures(
    d76: RecipeVersion, ben: Member
) -> None:
    adapted = _adapt(d76, ben)

    way = adapted.ways.get(way="reused")
    assert (adapted.number, adapted.created_by) == (d76.number + 1, ben)
    assert (value(way, "capacity", "film"), value(way, "capacity", "tabular")) == (8, 7.5)
    assert missing_figures(way) == []
    own = way.figures.get(name="capacity", material="film")
    assert (own.standing, own.source) == (Standing.HOUSE, "Entered by Ben, 2026-03-02")


def test_adapting_enters_the_houses_own_amounts(d76: RecipeVersion, ben: Member) -> None:
    own_mix = Recipe.objects.get(code="wash-aid-hca").latest()
    amounts = {("", "Sodium bisulfite"): Decimal("12.5")}
    adapted = _adapt(own_mix, ben, figures={}, amounts=amounts)

    rows = {row.name: row for row in adapted.ingredients.all()}
    bisulfite = rows["Sodium bisulfite"]
    assert (bisulfite.amount, bisulfite.standing) == (Decimal("12.5"), Standing.HOUSE)
    assert bisulfite.source == "Entered by Ben, 2026-03-02"
    assert rows["Sodium sulfite, anhydrous"].amount is None
    assert [h.form for h in adapted.hazards.all()] == [h.form for h in own_mix.hazards.all()]
    assert adapted.classes == own_mix.classes


def test_own_amounts_outlast_a_change_of_the_catalogue(d76: RecipeVersion, ben: Member) -> None:
    own_mix = Recipe.objects.get(code="wash-aid-hca").latest()
    _adapt(own_mix, ben, figures={}, amounts={("", "Sodium bisulfite"): Decimal("12.5")})
    catalogue = read_catalogue()
    recipes = tuple(
        replace(r, cautions="Air.") if r.code == "wash-aid-hca" else r for r in catalogue.recipes
    )

    load_catalogue(replace(catalogue, recipes=recipes))

    latest = own_mix.recipe.latest()
    assert (latest.number, latest.cautions) == (3, "Air.")
    assert latest.ingredients.get(name="Sodium bisulfite").amount == Decimal("12.5")


@pytest.mark.parametrize(
    ("amounts", "field"),
    [
        ({("", "Gold"): Decimal(1)}, None),
        ({("B", "Metol"): Decimal(1)}, None),
        ({("", "Metol"): Decimal(0)}, "amount-2"),
        ({("", "Metol"): Decimal("NaN")}, "amount-2"),
        ({("", "Metol"): Decimal("2000.1")}, "amount-2"),
        ({("", "Metol"): Decimal("0.00001")}, "amount-2"),
    ],
)
def test_amounts_that_cannot_be_are_refused_beside_their_field(
    d76: RecipeVersion, ben: Member, amounts: dict[tuple[str, str], Decimal], field: str | None
) -> None:
    with pytest.raises(FigureRefused) as info:
        _adapt(d76, ben, figures={}, amounts=amounts)

    assert info.value.field == field
    assert RecipeVersion.objects.filter(recipe__code="d-76").count() == 1


def test_adapting_leaves_the_old_version_as_it_was(d76: RecipeVersion, ben: Member) -> None:
    _adapt(d76, ben)

    way = d76.ways.get(way="reused")
    assert missing_figures(way) == ["capacity", "reuse_step_area", "reuse_step_pct"]


def test_adapting_keeps_every_other_figure(d76: RecipeVersion, ben: Member) -> None:
    fields = ("way__way", "name", "material", "value", "source", "standing")

    adapted = _adapt(d76, ben)

    def others(version: RecipeVersion) -> set[tuple[object, ...]]:
        figures = version.recipe.versions.get(pk=version.pk).ways
        rows = figures.values_list(*(f"figures__{f}" if "way" not in f else "way" for f in fields))
        return {row for row in rows if row[:3] not in D76}

    assert others(adapted) == others(d76)


def test_adapting_twice_with_one_key_makes_one_version(d76: RecipeVersion, ben: Member) -> None:
    key = uuid4()

    first, second = _adapt(d76, ben, key=key), _adapt(d76, ben, key=key)

    assert first == second
    with pytest.raises(AlreadySent):
        _adapt(d76, ben, key=key, figures={("reused", "capacity", "film"): Decimal(9)})


def test_adapting_is_refused_to_a_member(d76: RecipeVersion, ada: Member) -> None:
    with pytest.raises(NotAllowed):
        _adapt(d76, ada)


def test_adapting_an_older_version_is_refused(d76: RecipeVersion, ben: Member) -> None:
    _adapt(d76, ben)

    with pytest.raises(VersionReplaced):
        _adapt(d76, ben)


@pytest.mark.parametrize(
    ("key", "figure", "field"),
    [
        (("reused", "capacity", "film"), Decimal(0), "reused-capacity-film"),
        (("reused", "capacity", "film"), Decimal("NaN"), "reused-capacity-film"),
        (("reused", "capacity", "film"), Decimal("1.00001"), "reused-capacity-film"),
        (("reused", "capacity", "film"), Decimal(100_000_000), "reused-capacity-film"),
        (("reused", "keeping_full", ""), Decimal(36_501), "reused-keeping_full"),
        (("reused", "usable_after", ""), Decimal(8_761), "reused-usable_after"),
        (("reused", "reuse_step_pct", ""), Decimal(1_001), "reused-reuse_step_pct"),
        (("reused", "capacity", "foil"), Decimal(1), "reused-capacity-foil"),
        (("reused", "colour", ""), Decimal(1), "reused-colour"),
        (("to_drink", "capacity", ""), Decimal(1), "to_drink-capacity"),
    ],
)
def test_adapting_refuses_beside_the_field(
    d76: RecipeVersion, ben: Member, key: tuple[str, str, str], figure: Decimal, field: str
) -> None:
    with pytest.raises(FigureRefused) as refusal:
        _adapt(d76, ben, figures={key: figure})

    assert refusal.value.field == field
    assert d76.recipe.versions.count() == 1


def test_loading_after_adapting_changes_nothing(d76: RecipeVersion, ben: Member) -> None:
    adapted = _adapt(d76, ben)

    load_catalogue()

    assert d76.recipe.latest() == adapted


def test_houses_figures_outlast_a_change_of_the_catalogue(d76: RecipeVersion, ben: Member) -> None:
    _adapt(d76, ben)
    catalogue = read_catalogue()
    recipes = tuple(
        replace(r, cautions="Ventilate.") if r.code == "d-76" else r for r in catalogue.recipes
    )

    load_catalogue(replace(catalogue, recipes=recipes))

    latest = d76.recipe.latest()
    assert (latest.number, latest.cautions) == (3, "Ventilate.")
    assert value(latest.ways.get(way="reused"), "capacity", "film") == 8


# Times


def _row(by: Member, **changed: object) -> TimeRow:
    values = {
        "film": Film.objects.get(name="FP4 Plus"),
        "developer": Recipe.objects.get(code="d-76"),
        "dilution_n": Decimal(1),
        "index": 125,
        "agitation": Agitation.ROCKING,
        "points": {Decimal(20): Decimal(11), Decimal(22): Decimal("9.5")},
        "note": "Step wedge, three runs",
        "key": uuid4(),
        "by": by,
        "at": AT,
    }
    return add_time_row(**values | changed)


@pytest.mark.usefixtures("d76")
def test_time_row_is_the_houses_own_with_its_points(ben: Member) -> None:
    row = _row(ben)

    assert (row.standing, row.source) == (
        Standing.HOUSE,
        "Step wedge, three runs (Ben, 2026-03-02)",
    )
    assert list(row.points.values_list("temp_c", "minutes")) == [(20, 11), (22, Decimal("9.5"))]


@pytest.mark.usefixtures("d76")
def test_time_row_sent_twice_is_there_once(ben: Member) -> None:
    key = uuid4()

    assert _row(ben, key=key) == _row(ben, key=key)
    with pytest.raises(RowRefused, match="already stands"):
        _row(ben)


@pytest.mark.usefixtures("d76")
def test_time_row_is_refused_to_a_member(ada: Member) -> None:
    with pytest.raises(NotAllowed):
        _row(ada)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"points": {}}, "points"),
        ({"points": {Decimal(20): Decimal(0)}}, "points"),
        ({"points": {Decimal(80): Decimal(5)}}, "points"),
        ({"points": {Decimal("20.005"): Decimal(5)}}, "points"),
        ({"points": {Decimal(20): Decimal(8), Decimal(24): Decimal(9)}}, "points"),
        ({"index": 0}, "index"),
        ({"dilution_n": Decimal(7)}, "dilution_n"),
    ],
)
@pytest.mark.usefixtures("d76")
def test_time_row_refuses_beside_the_field(
    ben: Member, changed: dict[str, object], field: str
) -> None:
    with pytest.raises(RowRefused) as refusal:
        _row(ben, **changed)

    assert refusal.value.field == field


@pytest.mark.usefixtures("d76")
def test_time_row_asks_how_it_was_found(ben: Member) -> None:
    with pytest.raises(WordsWanted):
        _row(ben, note=" ")
