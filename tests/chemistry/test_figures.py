"""The figures of a way of use, as the sums want them."""

from decimal import Decimal

import pytest

from chemistry.figures import bath_figures, figure, missing_figures, value
from chemistry.models import FigureName, Role, Standing, Way
from chemistry.science.area import AU_MM2
from chemistry.science.wear import BathFigures
from darkroom.models import Material
from tests.factories.chemistry import FigureFactory, WayOfUseFactory, replenished_way, reused_way

pytestmark = pytest.mark.django_db


@pytest.fixture
def way():
    return WayOfUseFactory(version__recipe__role=Role.FIXER, way=Way.REUSED)


def test_figure_of_a_material_goes_before_the_one_for_every_material(way):
    for_all = FigureFactory(way=way, material="", value=20)
    tabular = FigureFactory(way=way, material=Material.TABULAR, value=10)

    assert figure(way, FigureName.CAPACITY, "film") == for_all
    assert figure(way, FigureName.CAPACITY, "tabular") == tabular
    assert value(way, FigureName.CAPACITY) == 20


def test_figure_for_one_material_is_none_for_another(way):
    FigureFactory(way=way, material=Material.FILM)

    assert figure(way, FigureName.CAPACITY, "fb_paper") is None
    assert value(way, FigureName.CAPACITY) is None


def test_capacity_without_a_material_is_for_all(way):
    FigureFactory(way=way, material="", value=20)

    assert bath_figures(way).capacity_mm2_per_l == dict.fromkeys(Material.values, 20 * AU_MM2)


def test_capacity_by_material_excludes_the_rest():
    assert bath_figures(reused_way(au_per_l=20)).capacity_mm2_per_l == {"film": 20 * AU_MM2}


def test_limits_of_a_replenished_bath():
    way = replenished_way(ml_per_au=70, arrears_au_per_l=2, turnover=1, area_au_per_l=30)

    assert bath_figures(way) == BathFigures(
        way="replenished",
        capacity_mm2_per_l={},
        replenish_ul_per_au=Decimal(70_000),
        arrears_limit_mm2_per_l=2 * AU_MM2,
        turnover_limit=Decimal(1),
        area_limit_mm2_per_l=30 * AU_MM2,
    )


def test_what_is_uncertain_is_missing_and_no_default(way):
    for name in (FigureName.KEEPING_PART, FigureName.CAPACITY):
        FigureFactory(way=way, name=name, value=None, standing=Standing.REMEMBERED_LOW)
    FigureFactory(way=way, name=FigureName.KEEPING_FULL, value=90)

    assert missing_figures(way) == [FigureName.CAPACITY, FigureName.KEEPING_PART]
    assert (value(way, FigureName.CAPACITY), bath_figures(way).capacity_mm2_per_l) == (None, {})
