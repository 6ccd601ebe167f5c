from datetime import time, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from chemistry.models import Role
from darkroom.models import HouseRules
from sessions.models import Session
from tests.factories.darkroom import NOW, open_daily
from tests.factories.sessions import TOMORROW_NOON, bench, drum, eight_by_ten

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
HTMX = {"HX-Request": "true", "HX-Target": "planner"}
PLAN, BOOK = "/plan/", "/plan/book/"


def asked(house, **changes):
    given = {"sheets": 4, "format": house.four_by_five.pk, "film": house.film.pk}
    return given | changes


def booking(house, **changes):
    given = {"key": uuid4(), "option": "T-1:inversion", "start": f"{TOMORROW_NOON:%Y-%m-%dT%H:%MZ}"}
    return asked(house) | given | changes


def errors(response, form="form"):
    return {name: list(found) for name, found in response.context[form].errors.items()}


def test_the_pages_are_where_they_are_promised():
    assert (reverse("sessions:plan"), reverse("sessions:book")) == (PLAN, BOOK)


def test_the_empty_page_asks(ada_client):
    response = ada_client.get(PLAN)

    assert response.status_code == 200
    assert response.context["answer"] is None


def test_the_developers_have_names_before_anything_is_asked(ada_client):
    way = bench().developer

    (_, named) = ada_client.get(PLAN).context["form"].fields["developer"].choices
    assert named[1] == f"{way.version.recipe}, reused"


def test_the_answer_shows_vessels_bottles_and_starts(ada_client):
    house = bench()
    drum()

    response = ada_client.get(PLAN, asked(house, sheets=6))

    assert response.status_code == 200
    text = response.content.decode()
    assert "3 + 3 sheets" in text
    assert "D-1, 71 sheets left afterwards" in text
    assert "First free Monday 2 March, 18:15." in text
    assert "One vessel cannot take this" in text
    assert 'value="2026-03-02T18:15Z"' in text


@pytest.mark.parametrize("page", [PLAN])
def test_htmx_gets_the_answer_alone(ada_client, page):
    house = bench()

    whole = ada_client.get(page, asked(house)).content.decode()
    part = ada_client.get(page, asked(house), headers=HTMX).content.decode()

    assert "<title>Plan a session" in whole
    assert "<title>Plan a session" not in part
    assert part.strip().startswith('<div class="stack-loose" id="planner">')
    assert "First free" in part


def test_another_vessel_and_another_day_can_be_chosen(ada_client):
    house = bench()
    drum()

    response = ada_client.get(
        PLAN, asked(house, own_minutes="8", option="J-1:rocking", day="2026-03-05")
    )

    answer = response.context["answer"]
    assert answer.option.key == "J-1:rocking"
    assert {f"{at:%Y-%m-%d}" for at in answer.shown_starts} == {"2026-03-05"}


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"sheets": 0}, "sheets", "greater than or equal to 1"),
        ({"sheets": -3}, "sheets", "greater than or equal to 1"),
        ({"sheets": "six"}, "sheets", "Enter a whole number"),
        ({"sheets": 201}, "sheets", "less than or equal to 200"),
        ({"sheets": "9" * 5000}, "sheets", "Enter a whole number"),
        ({"sheets": 120}, "sheets", "It would take 30 loads; a session has at most 24."),
        ({"film": 999_999}, "film", "Select a valid choice"),
        ({"film": ""}, "film", "required"),
        ({"format": "nonsense"}, "format", "Select a valid choice"),
        ({"index": 0}, "index", "greater than or equal to 1"),
        ({"developer": "brew:secret"}, "developer", "Select a valid choice"),
        ({"agitation": "shaken"}, "agitation", "Select a valid choice"),
        ({"agitation": "rotary"}, "agitation", "No vessel here can take that."),
        ({"temp_c": "warm"}, "temp_c", "Write degrees as a number"),
        ({"temp_c": "99"}, "temp_c", "Between 10 and 45"),
        ({"own_minutes": "0"}, "own_minutes", "more than nothing"),
        ({"own_minutes": "960:01"}, "own_minutes", "at most sixteen hours"),
        ({"from_day": "2.3.2026"}, "from_day", "Write a day like 2026-03-14."),
        ({"from_day": "2026-02-30"}, "from_day", "Write a day like 2026-03-14."),
        ({"from_day": "2026-03-01"}, "from_day", "That day has passed."),
        ({"from_day": "2026-04-01"}, "from_day", "until 30 March 2026"),
        ({"from_day": "x" * 100_000}, "from_day", "Write a day like 2026-03-14."),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_is_kept(ada_client, typed, field, said):
    house = bench()

    response = ada_client.get(PLAN, asked(house, **typed))

    assert response.status_code == 422
    assert set(errors(response)) == {field}
    assert said in errors(response)[field][0]
    assert response.context["form"][field].value() == str(typed[field])


def test_a_format_that_no_vessel_takes_is_said_beside_the_format(ada_client):
    house = bench()

    response = ada_client.get(PLAN, asked(house, format=eight_by_ten().pk))

    assert "No vessel here can take that. It takes no 8×10." in errors(response)["format"][0]


def test_a_process_without_baths_says_so(ada_client):
    house = bench()
    house.process.is_bookable = False
    house.process.save()

    response = ada_client.get(PLAN, asked(house))

    assert "This house keeps no baths for Black-and-white negative" in response.content.decode()
    assert response.context["book"] is None


def test_booking_works_without_javascript(ada_client, ada):
    house = bench()

    response = ada_client.post(BOOK, booking(house, sheets=6))

    visit = Session.objects.get()
    assert (response.status_code, response["Location"]) == (303, visit.get_absolute_url())
    assert (visit.member, visit.starts_at) == (ada, TOMORROW_NOON)
    assert visit.lines.get().index == house.film.speed


def test_booking_through_htmx_goes_to_the_session(ada_client):
    house = bench()

    response = ada_client.post(BOOK, booking(house), headers=HTMX)

    assert response.status_code == 200
    assert response["HX-Redirect"] == Session.objects.get().get_absolute_url()


def test_a_form_sent_twice_answers_the_same(ada_client):
    house = bench()
    form = booking(house)

    first, second = (ada_client.post(BOOK, form) for _ in range(2))

    assert first["Location"] == second["Location"]
    assert Session.objects.count() == 1


def test_a_lost_slot_is_told_and_the_next_one_offered(ada_client, cyd):
    house = bench()
    house.book(cyd)

    for headers in ({}, HTMX):
        response = ada_client.post(BOOK, booking(house), headers=headers)

        assert response.status_code == 409
        assert "kept for somebody else" in errors(response, "book")["start"][0]
        assert "The next free start is Tuesday 3 March, 13:00." in response.content.decode()
    assert Session.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"start": ""}, "start", "Choose when to start."),
        ({"start": "soon"}, "start", "Choose one of the starts"),
        ({"start": "2026-03-03T12:00"}, "start", "Choose one of the starts"),
        ({"start": "0001-01-01T00:00Z"}, "start", "Choose one of the starts"),
        ({"start": "2026-03-02T12:00Z"}, "start", "That moment has passed"),
        ({"other": "2026-03-02T12:00"}, "other", "That moment has passed"),
        ({"other": "2026-03-03T21:30"}, "other", "start by 21:17 at the latest"),
        ({"other": "2026-05-03T12:00"}, "other", "Sessions can be booked until"),
        ({"other": "3 March at noon"}, "other", "Write a day and a time"),
        ({"bottle_{fixer}": 999}, "bottle_{fixer}", "not a bottle for the fixer"),
        ({"bottle_{fixer}": "F-1"}, "bottle_{fixer}", "Enter a whole number."),
    ],
)
def test_a_booking_that_cannot_be_is_refused_beside_its_field(ada_client, typed, field, said):
    house = bench()
    pk = house.step(Role.FIXER).pk
    typed = {name.format(fixer=pk): value for name, value in typed.items()}

    response = ada_client.post(BOOK, booking(house, **typed))

    assert response.status_code == 422
    found = errors(response, "book")
    assert set(found) == {field.format(fixer=pk)}
    assert said in found[field.format(fixer=pk)][0]
    assert not Session.objects.exists()


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"sheets": 0}, "sheets"), ({"format": "x"}, "format"), ({"from_day": "x"}, "from_day")],
)
def test_a_question_that_went_wrong_books_nothing(ada_client, typed, field):
    response = ada_client.post(BOOK, booking(bench(), **typed))

    assert response.status_code == 422
    assert set(errors(response)) == {field}
    assert not Session.objects.exists()


def test_a_vessel_that_does_not_take_it_is_refused_beside_the_format(ada_client):
    house = bench()
    drum()
    form = booking(house, format=eight_by_ten().pk, own_minutes="8")

    response = ada_client.post(BOOK, form)

    assert response.status_code == 422
    assert errors(response) == {"format": ["T-1 Small tank: It takes no 8×10. It is made for 4×5."]}


@pytest.mark.parametrize("option", ["", "T-1", "T-9:inversion", "T-1:rotary", "::"])
def test_an_unknown_vessel_is_refused(ada_client, option):
    response = ada_client.post(BOOK, booking(bench(), option=option))

    assert response.status_code == 422
    assert not Session.objects.exists()


def test_a_bottle_still_to_be_mixed_has_to_be_accepted(ada_client):
    house = bench(with_bottles=False)

    page = ada_client.get(PLAN, asked(house)).content.decode()
    refused = ada_client.post(BOOK, booking(house))
    booked = ada_client.post(BOOK, booking(house, accepts_mixing="on"))

    assert "Mix at least 400 mL of" in page
    assert refused.status_code == 422
    assert booked.status_code == 303


def test_the_hour_that_never_comes_and_the_one_that_comes_twice(ada_client):
    house = bench()
    open_daily(time(0), time(23, 59), zone="Europe/Lisbon", booking_days_ahead=365)

    gap = ada_client.post(BOOK, booking(house, other="2026-03-29T01:30"))
    double = ada_client.post(BOOK, booking(house, other="2026-10-25T01:30"))
    second = ada_client.post(BOOK, booking(house, other="2026-10-25T01:30", which="second"))

    assert "never was" in errors(gap, "book")["other"][0]
    assert "comes twice" in errors(double, "book")["other"][0]
    assert 'name="which"' in double.content.decode()
    assert second.status_code == 303
    assert f"{Session.objects.get().starts_at:%d %H:%M}" == "25 01:30"


@pytest.mark.parametrize(
    ("field", "form"), [("sheets", "form"), ("own_minutes", "form"), ("other", "book")]
)
def test_ten_megabytes_are_refused_beside_their_field(ada_client, field, form):
    house = bench()

    response = ada_client.post(BOOK, booking(house, **{field: "9" * 10_000_000}))

    assert response.status_code == 422
    assert set(errors(response, form)) == {field}


def test_more_than_the_house_reads_at_all_is_refused(ada_client):
    response = ada_client.post(BOOK, booking(bench(), other="x" * 20_000_000))

    assert response.status_code == 400


def test_whoever_may_not_write_may_not_plan(aud_client):
    assert aud_client.get(PLAN).status_code == 403
    assert aud_client.post(BOOK, booking(bench())).status_code == 403


def test_strangers_are_sent_to_sign_in(client):
    for response in (client.get(PLAN), client.post(BOOK)):
        assert response.status_code == 302
        assert "sign-in" in response["Location"]


def test_wrong_methods_are_refused(ada_client):
    assert ada_client.post(PLAN).status_code == 405
    assert ada_client.get(BOOK).status_code == 405


def test_starts_are_shown_in_the_time_of_the_house(ada_client):
    house = bench()
    HouseRules.objects.update_or_create(pk=1, defaults={"zone": "Asia/Tokyo"})

    answer = ada_client.get(PLAN, asked(house)).context["answer"]

    # At the factory's eighteen hours UTC it is three in the night in Tokyo.
    assert answer.option.starts[0] == NOW.replace(hour=0) + timedelta(days=1)
    assert answer.days[0].day.isoformat() == "2026-03-03"


def test_starts_that_come_twice_say_which_they_are(ada_client):
    house = bench()
    open_daily(time(0), time(23, 59), zone="Europe/Lisbon", booking_days_ahead=365)

    page = ada_client.get(PLAN, asked(house, from_day="2026-10-25")).content.decode()

    assert "<span>00:45</span>" in page
    assert "<span>01:15 WEST</span>" in page
    assert "<span>01:15 WET</span>" in page
    assert "<span>02:00</span>" in page
