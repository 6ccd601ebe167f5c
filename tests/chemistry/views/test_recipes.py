"""Recipes, and what a steward enters for the house."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from chemistry.models import (
    Figure,
    FigureName,
    Form,
    Recipe,
    RecipeVersion,
    Role,
    Signal,
    Standing,
    TimeRow,
)
from darkroom.models import Material
from tests.factories.chemistry import (
    FigureFactory,
    FilmFactory,
    HazardFactory,
    IngredientFactory,
    ProcessFactory,
    ProcessStepFactory,
    RecipeVersionFactory,
    TimePointFactory,
    TimeRowFactory,
    WayOfUseFactory,
    reused_way,
    stock_way,
)

LIST = reverse("chemistry:recipes")


@pytest.fixture
def fixer(db: None) -> Recipe:
    """Mixed 1+4, good for 20 units of film a litre; for tabular film the house has no figure."""
    way = reused_way(mix_n=4)
    FigureFactory(
        way=way,
        material=Material.TABULAR,
        value=None,
        standing=Standing.REMEMBERED_LOW,
        source="An old table",
    )
    return way.version.recipe


@pytest.fixture
def developer(db: None) -> Recipe:
    return stock_way(draw_n=50).version.recipe


def url(page: str, recipe: Recipe) -> str:
    return reverse(f"chemistry:{page}", args=[recipe.code])


def text_of(response) -> str:
    return response.content.decode().replace("\u00a0", " ")


@pytest.mark.parametrize("who", ["ada_client", "ben_client", "aud_client"])
def test_recipes_are_open_to_everybody(
    who: str, fixer: Recipe, request: pytest.FixtureRequest
) -> None:
    client = request.getfixturevalue(who)

    assert url("recipe", fixer) in text_of(client.get(LIST))
    assert client.get(url("recipe", fixer)).status_code == 200


def test_recipes_of_an_empty_house_say_what_to_do(ada_client: Client) -> None:
    assert "No recipe in this house yet" in text_of(ada_client.get(LIST))


def test_recipes_are_only_read(ben_client: Client, fixer: Recipe) -> None:
    assert ben_client.post(LIST).status_code == 405
    assert ben_client.post(url("recipe", fixer)).status_code == 405


def test_recipe_shows_each_figure_with_source_and_standing(
    ada_client: Client, fixer: Recipe
) -> None:
    text = text_of(ada_client.get(url("recipe", fixer)))

    assert '<b>20</b> <span class="unit">AU/L</span>' in text
    assert "Invented for a test." in text
    assert "<b>missing</b>" in text
    assert "remembered, uncertain" in text


def test_recipe_gives_cautions_before_amounts(ada_client: Client, fixer: Recipe) -> None:
    fixer.versions.update(cautions="Gives off vapour.")
    text = text_of(ada_client.get(url("recipe", fixer)))

    assert text.index("Gives off vapour.") < text.index("What goes in") < text.index(">Figures<")


def test_recipe_gives_hazards_and_protection_before_amounts(
    ada_client: Client, fixer: Recipe
) -> None:
    version = fixer.latest()
    HazardFactory(version=version, form=Form.WORKING, signal=Signal.UNKNOWN)
    HazardFactory(
        version=version, form=Form.POWDER, signal=Signal.DANGER, statements=["H317", "EUH031"]
    )
    IngredientFactory(version=version, name="Sulfite", amount=Decimal(20))
    text = text_of(ada_client.get(url("recipe", fixer)))

    order = [
        *(
            "Weighing the powders",
            "<b>Danger</b>",
            "H317",
            "Splash goggles",
            "The working solution",
        ),
        *("Not known here", "safety data sheet always decides", "What goes in", "Sulfite"),
    ]
    places = [text.lower().index(word.lower()) for word in order]
    assert places == sorted(places)
    assert "May cause an allergic skin reaction" in text
    assert "Contact with acids liberates toxic gas" in text


@pytest.mark.parametrize(
    ("asked", "amount"), [("", "20"), ("?volume_ml=2500", "50"), ("?volume_ml=62.5", "1.25")]
)
def test_recipe_gives_the_amounts_for_the_volume_that_is_asked_for(
    ada_client: Client, fixer: Recipe, asked: str, amount: str
) -> None:
    IngredientFactory(version=fixer.latest(), name="Sulfite", amount=Decimal(20))
    text = text_of(ada_client.get(url("recipe", fixer) + asked))

    assert f'<b>{amount}</b> <span class="unit">g</span>' in text


@pytest.mark.parametrize("written", ["0", "-1", "much", "1,200", "", "1e9"])
def test_recipe_keeps_to_a_litre_where_the_volume_cannot_be(
    ada_client: Client, fixer: Recipe, written: str
) -> None:
    IngredientFactory(version=fixer.latest(), name="Sulfite", amount=Decimal(20))
    answer = ada_client.get(url("recipe", fixer), {"volume_ml": written})

    assert answer.status_code == 200
    assert answer.context["asked"].errors
    assert "The amounts for one litre stand here." in text_of(answer)
    assert '<b>20</b> <span class="unit">g</span>' in text_of(answer)


def test_recipe_answers_with_the_formula_alone_while_somebody_types(
    ada_client: Client, fixer: Recipe
) -> None:
    IngredientFactory(version=fixer.latest(), name="Sulfite", amount=Decimal(20))
    headers = {"HX-Request": "true", "HX-Target": "formula"}
    text = text_of(ada_client.get(url("recipe", fixer), {"volume_ml": "500"}, headers=headers))

    assert text.strip().startswith('<div class="stack" id="formula"')
    assert '<b>10</b> <span class="unit">g</span>' in text
    assert "<html" not in text


def test_recipe_says_which_amounts_are_missing(ben_client: Client, fixer: Recipe) -> None:
    IngredientFactory(version=fixer.latest(), name="Hydroxide", amount=None)
    text = text_of(ben_client.get(url("recipe", fixer)))

    assert "Known too uncertainly to weigh by: hydroxide." in text
    assert "Enter the amounts" in text


def test_recipe_names_what_it_is_kept_apart_from(ada_client: Client, fixer: Recipe) -> None:
    fixer.versions.update(classes=["SULFITE_THIOSULFATE", "ACID"])
    for name, classes in {
        "A sour stop": ["ACID"],
        "Another fixer": ["SULFITE_THIOSULFATE", "ACID"],
        "A brown toner": ["SULFIDE"],
        "A rinse": [],
    }.items():
        RecipeVersionFactory(recipe__name=name, classes=classes)
    answer = ada_client.get(url("recipe", fixer))

    kept = {one.meaning.label: one for one in answer.context["neighbours"]}
    assert kept["acid"].recipes == ("A sour stop",)
    assert kept["sulfide"].recipes == ("A brown toner",)
    assert (kept["sulfide"].is_blocked, kept["acid"].is_blocked) == (True, False)
    assert "hydrogen sulfide" in text_of(answer)
    assert "A rinse" not in text_of(answer)


def test_recipe_that_counts_as_nothing_is_kept_apart_from_nothing(
    ada_client: Client, fixer: Recipe
) -> None:
    assert "Keep apart from" not in text_of(ada_client.get(url("recipe", fixer)))


def test_process_shows_its_baths_and_that_it_is_only_for_reference(ada_client: Client) -> None:
    reversal = ProcessFactory(name="Colour reversal", is_bookable=False)
    ProcessStepFactory(process=reversal, name="First developer", tolerance_c=Decimal("0.3"))
    listed = text_of(ada_client.get(LIST))
    text = text_of(ada_client.get(reverse("chemistry:process", args=[reversal.code])))

    assert reverse("chemistry:process", args=[reversal.code]) in listed
    assert "First developer" in text
    assert "± 0.3" in text
    assert "it cannot be booked" in text
    assert "Invented for a test." in text


def test_an_unknown_process_is_not_found(ada_client: Client) -> None:
    assert ada_client.get(reverse("chemistry:process", args=["none"])).status_code == 404


def test_recipe_leads_stewards_on_and_nobody_else(
    ada_client: Client, ben_client: Client, fixer: Recipe
) -> None:
    leads = (url("mix-recipe", fixer), url("recipe-figures", fixer))
    seen = [[lead in text_of(c.get(url("recipe", fixer))) for lead in leads]
            for c in (ada_client, ben_client)]  # fmt: skip

    assert seen == [[False, False], [True, True]]


def test_recipe_keeps_older_versions(ada_client: Client, fixer: Recipe) -> None:
    RecipeVersionFactory(recipe=fixer, number=2, contents="Now with five parts of water.")
    latest = text_of(ada_client.get(url("recipe", fixer)))
    older = text_of(ada_client.get(url("recipe", fixer), {"version": "1"}))

    assert "five parts" in latest
    assert "not the latest" in older
    assert "five parts" not in older


@pytest.mark.parametrize("version", ["3", "x", "-1"])
def test_an_unknown_version_is_not_found(ada_client: Client, fixer: Recipe, version: str) -> None:
    assert ada_client.get(url("recipe", fixer), {"version": version}).status_code == 404


@pytest.mark.parametrize("page", ["recipe", "recipe-figures", "recipe-times"])
def test_an_unknown_recipe_is_not_found(ben_client: Client, page: str) -> None:
    assert ben_client.get(reverse(f"chemistry:{page}", args=["none"])).status_code == 404


def test_a_recipe_without_a_version_is_not_found(ben_client: Client) -> None:
    bare = Recipe.objects.create(code="bare", name="Bare", role=Role.FIXER, letter="F")

    assert ben_client.get(url("recipe", bare)).status_code == 404
    assert ben_client.get(url("mix-recipe", bare)).status_code == 404


def test_recipe_lists_its_times_with_their_sources(ada_client: Client, developer: Recipe) -> None:
    row = TimeRowFactory(developer=developer, film__name="Test 100", dilution_n=50)
    TimePointFactory(row=row, temp_c=Decimal("20"), minutes=Decimal("9.5"))
    text = text_of(ada_client.get(url("recipe", developer)))

    assert "Test 100" in text
    assert "<b>9:30</b>" in text
    assert "1+50" in text


@pytest.mark.parametrize("rows", [3, 30])
def test_recipes_ask_the_database_the_same_for_many(
    ada_client: Client, rows: int, django_assert_num_queries
) -> None:
    for _ in range(rows):
        reused_way()
    ada_client.get(LIST)

    with django_assert_num_queries(10):
        ada_client.get(LIST)


@pytest.mark.parametrize("rows", [3, 30])
def test_recipe_asks_the_database_the_same_for_many(
    ada_client: Client, developer: Recipe, rows: int, django_assert_num_queries
) -> None:
    way = WayOfUseFactory(version__recipe=developer, version__number=2)
    for number in range(rows):
        TimePointFactory(row=TimeRowFactory(developer=developer))
        RecipeVersionFactory(recipe=developer, number=number + 3)
    for name in list(FigureName)[: min(rows, len(FigureName))]:
        FigureFactory(way=way, name=name)
    address = url("recipe", developer) + "?version=2"
    ada_client.get(address)

    with django_assert_num_queries(13):
        ada_client.get(address)


@pytest.mark.parametrize("who", ["ada_client", "aud_client"])
@pytest.mark.parametrize("page", ["recipe-figures", "recipe-times"])
def test_entering_is_kept_from_others(
    who: str, page: str, developer: Recipe, request: pytest.FixtureRequest
) -> None:
    client = request.getfixturevalue(who)

    assert client.get(url(page, developer)).status_code == 403
    assert client.post(url(page, developer), {}).status_code == 403


@pytest.mark.parametrize("page", ["recipe-figures", "recipe-times"])
def test_entering_knows_only_its_methods(ben_client: Client, developer: Recipe, page: str) -> None:
    assert ben_client.put(url(page, developer)).status_code == 405


def test_figures_show_what_stands_and_what_is_missing(ben_client: Client, fixer: Recipe) -> None:
    text = text_of(ben_client.get(url("recipe-figures", fixer)))

    assert "Now 20: Invented for a test., the house&#x27;s own." in text
    assert "Missing. An old table, remembered, uncertain." in text
    assert 'name="reused-capacity-tabular"' in text
    assert 'name="reused-usable_after"' in text


def test_figures_entered_make_a_new_version(ben_client: Client, fixer: Recipe, send, told) -> None:
    sent = {"version": "1", "reused-capacity-tabular": "13.5", "reused-keeping_full": "90"}
    answer = send(ben_client, url("recipe-figures", fixer), **sent)

    figures = Figure.objects.filter(way__version__number=2, standing=Standing.HOUSE)
    own = {(f.name, f.material): (f.value, f.unit) for f in figures if "Ben" in f.source}
    assert answer["Location"] == url("recipe", fixer)
    assert told(answer) == [f"{fixer} now has version 2."]
    assert own == {
        ("capacity", "tabular"): (Decimal("13.5"), "AU/L"),
        ("keeping_full", ""): (Decimal(90), "days"),
    }


def test_amounts_entered_make_a_new_version(ben_client: Client, fixer: Recipe, send) -> None:
    version = fixer.latest()
    IngredientFactory(version=version, order=1, name="Sulfite", amount=Decimal(20))
    IngredientFactory(version=version, order=2, name="Hydroxide", amount=None)
    answer = send(ben_client, url("recipe-figures", fixer), **{"version": "1", "amount-2": "7.5"})

    assert answer["Location"] == url("recipe", fixer)
    rows = fixer.latest().ingredients.all()
    assert [(row.name, row.amount) for row in rows] == [
        ("Sulfite", Decimal(20)),
        ("Hydroxide", Decimal("7.5")),
    ]


@pytest.mark.parametrize("written", ["0", "-1", "2001", "much", "1.23456"])
def test_amounts_refuse_beside_the_field_and_keep_it(
    ben_client: Client, fixer: Recipe, written: str, send
) -> None:
    IngredientFactory(version=fixer.latest(), order=2, name="Hydroxide", amount=None)
    sent = {"version": "1", "amount-2": written}
    answer = send(ben_client, url("recipe-figures", fixer), **sent)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["amount-2"]
    assert answer.context["form"]["amount-2"].value() == written


def test_figures_sent_twice_make_one_version(ben_client: Client, fixer: Recipe, send) -> None:
    sent = {"version": "1", "reused-capacity-film": "18", "key": str(uuid4())}
    answers = [send(ben_client, url("recipe-figures", fixer), **sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert RecipeVersion.objects.count() == 2


def test_figures_against_an_older_version_are_asked_about(
    ben_client: Client, fixer: Recipe, send
) -> None:
    RecipeVersionFactory(recipe=fixer, number=2)
    WayOfUseFactory(version=fixer.latest())
    sent = {"version": "1", "reused-capacity": "18"}
    answer = send(ben_client, url("recipe-figures", fixer), **sent)

    assert answer.status_code == 409
    assert answer.context["form"]["reused-capacity"].value() == "18"
    assert RecipeVersion.objects.count() == 2


@pytest.mark.parametrize("written", ["0", "-3", "many", "1e400", "123456789012", "1.23456"])
def test_figures_refuse_beside_the_field_and_keep_it(
    ben_client: Client, fixer: Recipe, written: str, send
) -> None:
    field = "reused-capacity-tabular"
    answer = send(ben_client, url("recipe-figures", fixer), **{"version": "1", field: written})

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == written
    assert RecipeVersion.objects.count() == 1


@pytest.mark.parametrize("sent", [{"version": "1"}, {"version": "9"}, {}, {"version": "1e3"}])
def test_figures_with_nothing_in_them_are_refused(
    ben_client: Client, fixer: Recipe, sent: dict[str, str], send
) -> None:
    assert send(ben_client, url("recipe-figures", fixer), **sent).status_code in {404, 422}
    assert RecipeVersion.objects.count() == 1


TIME = {"index": "100", "dilution_n": "50", "agitation": "rotary", "points": "20 = 9:30; 24 = 7"}


def test_times_stand_beside_the_printed_ones(ben_client: Client, developer: Recipe, send, told):
    film = FilmFactory(name="Test 100")
    answer = send(
        ben_client, url("recipe-times", developer), film=film.pk, note="Three sheets", **TIME
    )

    row = TimeRow.objects.get()
    assert answer["Location"] == url("recipe", developer)
    assert told(answer) == ["The time for Test 100 is entered as the house's own."]
    assert (row.standing, row.source) == (Standing.HOUSE, "Three sheets (Ben, 2026-03-02)")
    assert [(p.temp_c, p.minutes) for p in row.points.all()] == [
        (Decimal(20), Decimal("9.5")),
        (Decimal(24), Decimal(7)),
    ]


@pytest.mark.parametrize(
    ("field", "written"),
    [
        ("film", "999"),
        ("index", "0"),
        ("dilution_n", "9"),
        ("agitation", "wild"),
        ("points", "20 = 7; 24 = 9"),
        ("points", "90 = 7"),
        ("points", ""),
        ("note", ""),
    ],
)
def test_times_refuse_beside_the_field_and_keep_it(
    ben_client: Client, developer: Recipe, field: str, written: str, send
) -> None:
    sent = {"film": FilmFactory().pk, "note": "Three sheets", **TIME, field: written}
    answer = send(ben_client, url("recipe-times", developer), **sent)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == written
    assert not TimeRow.objects.exists()


def test_times_are_only_a_developer_s(ben_client: Client, fixer: Recipe) -> None:
    assert ben_client.get(url("recipe-times", fixer)).status_code == 404
