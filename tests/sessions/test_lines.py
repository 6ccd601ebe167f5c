"""Sessions that take several films, indices or formats through one process."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import IntegrityError

from chemistry.models import FigureName, Role
from darkroom.models import HouseRules, Material
from sessions.asking import AskLine
from sessions.loads import planned_loads
from sessions.models import Session
from sessions.moving import move_session
from sessions.offers import NothingFits, offer, plan_for
from sessions.planning.plan import hardest
from sessions.promising import BottleRefused
from sessions.runcard import card
from tests.factories.chemistry import FigureFactory, FilmFactory, ProcessFactory
from tests.factories.darkroom import NOW
from tests.factories.sessions import TOMORROW_NOON, bench, drum, eight_by_ten, printed_times

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


def other_film(house, **changes):
    film = FilmFactory(process=house.process, name="Slow 25", **changes)
    printed_times(film, house.developer)
    return film


def further(house, *, sheets=2, film=None, size=None, own=None):
    film = film or other_film(house)
    return AskLine(film, 100, size or house.four_by_five, sheets, own)


def test_sheets_of_two_films_never_share_a_load(ada):
    house = bench()

    visit = house.book(ada, sheets=6, more=(further(house),))

    loads = [(load.line.film.name, load.sheets) for load in planned_loads(visit)]
    assert loads == [(house.film.name, 3), (house.film.name, 3), ("Slow 25", 2)]
    assert visit.ends_at - visit.starts_at == timedelta(minutes=3 * (10 + 23) + 10)


def test_one_film_at_two_indices_makes_two_lines_each_with_its_time(ada):
    house = bench()
    again = further(house, film=house.film, own=Decimal(11))

    plan = house.plan(ada, sheets=4, more=(again,))

    assert [line.own_minutes for line in plan.lines] == [None, 11]
    assert plan.timeline.attended_min == 2 * 10 + 23 + 26 + 10


def test_every_bottle_is_promised_the_area_of_all_lines(ada):
    house = bench()

    visit = house.book(ada, sheets=4, more=(further(house, sheets=3),))

    areas = {a.area_mm2 for a in visit.allotments.all()}
    assert areas == {7 * house.four_by_five.area_mm2}
    assert {a.loads for a in visit.allotments.all()} == {2}


def test_a_format_that_needs_more_a_sheet_has_its_own_loads(ada):
    house = bench()
    drum()
    large = further(house, film=house.film, size=eight_by_ten(), own=Decimal(8))

    plan = house.plan(ada, vessel="J-1", own_minutes=Decimal(8), more=(large,))

    assert [(line.sheets_per_load, line.loads) for line in plan.lines] == [(4, 1), (1, 2)]


def test_a_vessel_must_take_every_line(ada):
    house = bench()
    large = further(house, film=house.film, size=eight_by_ten())

    with pytest.raises(NothingFits) as refusal:
        house.plan(ada, more=(large,))

    assert refusal.value.message == "It takes no 8×10. It is made for 4×5."


def test_loads_of_all_lines_together_are_limited(ada):
    house = bench()

    found = offer(house.ask(ada, sheets=60, more=(further(house, sheets=40),)), at=NOW)

    assert [one.code for one in found.refused] == ["loads"]
    assert "25 loads" in found.refused[0].sentence


def test_a_bath_is_promised_the_class_that_it_bears_least(ada):
    house = bench()
    for way, value in ((house.developer, 20), (house.stop, 20), (house.fixer, 1)):
        given = {"name": FigureName.CAPACITY, "material": Material.TABULAR, "unit": "AU/L"}
        FigureFactory(way=way, value=value, **given)
    tabular = further(house, film=other_film(house, material=Material.TABULAR))

    with pytest.raises(BottleRefused) as refusal:
        house.book(ada, sheets=4, more=(tabular,))

    # Six sheets are 1.5 units, as if all were of the film that wears the fixer most.
    assert "F-1 would be used to 150 % of its capacity. 4 sheets would go." in refusal.value.message


def test_a_class_that_the_bath_does_not_admit_is_the_hardest():
    class Figures:
        capacity_mm2_per_l = {"film": Decimal(20), "tabular": Decimal(10)}

    assert hardest(["film", "tabular"], Figures) == "tabular"
    assert hardest(["film", "paper"], Figures) == "paper"


def test_moving_keeps_every_line(ada):
    house = bench()
    visit = house.book(ada, sheets=4, more=(further(house),))

    moved = move_session(
        visit=visit, starts_at=TOMORROW_NOON + timedelta(hours=4), key=uuid4(), by=ada, at=NOW
    )

    assert [line.sheets for line in moved.lines.all()] == [4, 2]
    assert {a.area_mm2 for a in moved.allotments.open()} == {6 * house.four_by_five.area_mm2}


def test_later_lines_are_timed_for_what_the_earlier_ones_have_used(ada):
    house = bench()
    FigureFactory(way=house.developer, name=FigureName.REUSE_STEP_AREA, value=1, unit="AU/L")
    FigureFactory(way=house.developer, name=FigureName.REUSE_STEP_PCT, value=10, unit="%")

    visit = house.book(ada, sheets=4, more=(further(house, sheets=4),))

    found = card(visit, at=NOW, rules=HouseRules.current())
    assert [load.steps[0].minutes for load in found.loads] == [Decimal("8.00"), Decimal("8.80")]


def test_sessionline_has_all_of_its_vessel(ada):
    line = bench().book(ada).lines.get()
    line.load_ml = None

    with pytest.raises(IntegrityError) as error:
        line.save()

    name = error.value.__cause__.diag.constraint_name
    assert name == "sessionline_has_all_of_its_vessel"


# On the page


def asked(house, **changes):
    given = {"sheets": 4, "format": house.four_by_five.pk, "film": house.film.pk}
    return given | changes


def second(house, film, **changes):
    given = {"film_2": film.pk, "format_2": house.four_by_five.pk, "sheets_2": 2, "index_2": 100}
    return asked(house, **(given | changes))


def errors(response):
    return {name: list(found) for name, found in response.context["form"].errors.items()}


def test_another_line_is_added_without_javascript(ada_client):
    house = bench()

    page = ada_client.get("/plan/", asked(house, add="1")).content.decode()
    more = ada_client.get("/plan/", second(house, other_film(house), add="1")).content.decode()

    assert 'name="film_2"' in page
    assert 'name="film_3"' not in page
    assert 'name="film_3"' in more


def test_a_line_without_a_film_is_none(ada_client):
    house = bench()

    response = ada_client.get("/plan/", second(house, house.film, film_2="", sheets_2="many"))

    assert response.status_code == 200
    assert len(response.context["answer"].option.plan.lines) == 1


def test_six_lines_are_the_most(ada_client):
    house = bench()
    full = {f"film_{n}": "" for n in range(2, 7)}

    page = ada_client.get("/plan/", asked(house, **full, add="1")).content.decode()

    assert 'name="film_6"' in page
    assert 'name="film_7"' not in page
    assert "Add another line" not in page


def test_two_lines_are_answered_and_booked(ada_client):
    house = bench()
    given = second(house, other_film(house))

    page = ada_client.get("/plan/", given).content.decode()
    start = f"{TOMORROW_NOON:%Y-%m-%dT%H:%MZ}"
    booking = {"key": uuid4(), "option": "T-1:inversion", "start": start}
    response = ada_client.post("/plan/book/", given | booking)
    told = ada_client.get(response["Location"]).content.decode()

    assert "4; 2 sheets" in page
    assert "4 sheets of 4×5, " in page
    assert [line.sheets for line in Session.objects.get().lines.all()] == [4, 2]
    assert "Slow 25 in T-1 Small tank" in told


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"sheets_2": ""}, "sheets_2", "Say how many."),
        ({"sheets_2": "0"}, "sheets_2", "greater than or equal to 1"),
        ({"film_2": "999999"}, "film_2", "Select a valid choice"),
        ({"index_2": "0"}, "index_2", "greater than or equal to 1"),
        ({"own_minutes_2": "soon"}, "own_minutes_2", "Write minutes like"),
    ],
)
def test_what_is_wrong_with_a_further_line_stands_beside_it(ada_client, typed, field, said):
    house = bench()

    response = ada_client.get("/plan/", second(house, other_film(house), **typed))

    assert response.status_code == 422
    assert set(errors(response)) == {field}
    assert said in errors(response)[field][0]


def test_a_session_runs_one_process(ada_client):
    house = bench()
    colour = FilmFactory(process=ProcessFactory(name="Colour negative"), name="Colour 160")

    response = ada_client.get("/plan/", second(house, colour))

    assert "goes through Colour negative" in errors(response)["film_2"][0]


def test_the_record_comes_filled_in_for_the_line_that_is_next(ada_client, ada):
    house = bench()
    visit = house.book(ada, sheets=4, more=(further(house),))
    first, second = visit.lines.all()

    form = ada_client.get(f"{visit.get_absolute_url()}record/").context["form"]

    assert (form.initial["line"], form.initial["sheets"]) == (first.pk, 4)
    assert set(form.lines) == {first.pk, second.pk}


def test_plan_for_names_what_a_further_line_lacks(ada):
    house = bench()
    untimed = FilmFactory(process=house.process, name="Rare 12")

    with pytest.raises(NothingFits) as refusal:
        plan_for(house.ask(ada, more=(further(house, film=untimed),)), at=NOW)

    assert "No printed time for Rare 12 at 100" in refusal.value.message
    assert house.step(Role.DEVELOPER).minutes is None
