"""What goes in by weight, for the volume that is wanted."""

from decimal import Decimal
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.catalogue.load import load_catalogue
from chemistry.formulas import for_bottle, formula, missing_amounts
from chemistry.models import Ingredient, Recipe, Unit
from chemistry.science.formula import measured, measuring_step
from chemistry.units import ul_from_ml
from tests.factories.chemistry import IngredientFactory, RecipeVersionFactory

AMOUNTS = st.decimals(Decimal("0.01"), Decimal(1000), places=2)
VOLUMES = st.decimals(Decimal(1), Decimal(100_000), places=3)


@given(AMOUNTS, VOLUMES)
def test_measured_is_within_half_a_step_and_never_a_float(amount, to_ml):
    exact = amount * to_ml / 1000
    got = measured(amount, from_ml=Decimal(1000), to_ml=to_ml)

    assert isinstance(got, Decimal)
    assert abs(got - exact) <= measuring_step(exact) / 2


@given(AMOUNTS, VOLUMES, VOLUMES)
def test_more_solution_never_takes_less(amount, one_ml, other_ml):
    low, high = sorted((one_ml, other_ml))
    litre = Decimal(1000)

    less, more = (measured(amount, from_ml=litre, to_ml=ml) for ml in (low, high))
    assert less <= more


@pytest.fixture
def loaded(db):
    load_catalogue()
    return lambda code: Recipe.objects.get(code=code).latest()


def amounts_of(solution):
    return [(line.ingredient.name, line.amount, line.unit) for line in solution.lines]


def test_d_76_for_two_and_a_half_litres(loaded):
    (solution,) = formula(loaded("d-76"), 2_500_000)

    assert amounts_of(solution) == [
        ("Water", Decimal(1875), "mL"),
        ("Metol", Decimal(5), "g"),
        ("Sodium sulfite, anhydrous", Decimal(250), "g"),
        ("Hydroquinone", Decimal("12.5"), "g"),
        ("Borax", Decimal(5), "g"),
    ]


def test_parts_of_the_working_solution_sum_to_it_and_its_stocks_are_made_beforehand(loaded):
    now, beforehand = for_bottle(loaded("pyrocat-hd"), ul_from_ml(Decimal(1000)))

    assert [solution.title for solution in now] == ["Working solution"]
    assert amounts_of(now[0]) == [
        ("Water", Decimal("980.4"), "mL"),
        ("Solution A", Decimal("9.8"), "mL"),
        ("Solution B", Decimal("9.8"), "mL"),
    ]
    assert [(one.title, one.volume_ul) for one in beforehand] == [
        ("Solution A", 1_000_000),
        ("Solution B", 1_000_000),
    ]


@given(st.integers(1, 100_000_000))
def test_parts_always_sum_to_the_whole(volume_ul):
    rows = [Ingredient(order=n, amount=n, unit=Unit.PARTS) for n in map(Decimal, (1, 2, 100))]

    (solution,) = formula(SimpleNamespace(ingredients=SimpleNamespace(all=lambda: rows)), volume_ul)
    assert sum(ul_from_ml(line.amount) for line in solution.lines) == volume_ul


@pytest.mark.django_db
def test_what_is_missing_is_said_and_not_guessed():
    version = RecipeVersionFactory()
    IngredientFactory(version=version, order=2, name="Hydroxide", amount=None)
    IngredientFactory(version=version, order=1, name="Sulfite", amount=20)

    (solution,) = formula(version, 500_000)
    assert amounts_of(solution) == [("Sulfite", Decimal(10), "g"), ("Hydroxide", None, "g")]
    assert missing_amounts(version) == ["Hydroxide"]


@pytest.mark.django_db
def test_too_little_to_weigh_is_not_nothing():
    version = RecipeVersionFactory()
    IngredientFactory(version=version, name="Restrainer", amount=Decimal("0.1"))

    (line,) = formula(version, 10_000)[0].lines
    assert (line.amount, line.is_too_little) == (0, True)


@pytest.mark.django_db
def test_parts_without_a_proportion_stay_unknown():
    version = RecipeVersionFactory()
    IngredientFactory(version=version, name="A", amount=None, unit=Unit.PARTS)
    IngredientFactory(version=version, name="Water", amount=100, unit=Unit.PARTS)

    assert [line.amount for line in formula(version)[0].lines] == [None, None]
