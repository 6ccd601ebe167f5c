"""The page for planning says what is missing and whom to ask, and the button says the same."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from darkroom.models import Equipment, EquipmentKind, Gates
from sessions.models import Session
from sessions.offers import NothingFits
from tests.factories.darkroom import NOW, EquipmentFactory
from tests.factories.inductions import HouseCheckFactory, InductionFactory, TopicFactory
from tests.factories.sessions import TOMORROW_NOON, bench, drum
from tests.sessions.test_admission import asking, book, colour

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
PLAN, BOOK = "/plan/", "/plan/book/"
DAY = timedelta(days=1)


def asked(house, **changes):
    given = {"sheets": 4, "format": house.four_by_five.pk, "film": house.film.pk}
    return given | changes


def booking(house, **changes):
    given = {"key": uuid4(), "option": "T-1:inversion", "start": f"{TOMORROW_NOON:%Y-%m-%dT%H:%MZ}"}
    return asked(house) | given | changes


def text_of(response):
    return response.content.decode()


def test_a_vessel_says_which_induction_is_missing_and_whom_to_ask(ada, cyd, ada_client):
    house = bench()
    drum()
    asking(house.tank, "Small tanks").givers.add(cyd)

    response = ada_client.get(PLAN, asked(house, own_minutes=8))

    answer = response.context["answer"]
    assert [option.vessel.code for option in answer.offer.options] == ["J-1"]
    assert [(one.code, one.sentence) for one in answer.offer.refused] == [
        ("induction", f"{house.tank} needs the induction “Small tanks”, which is missing. Ask Cyd.")
    ]
    assert "Kept for an induction" in text_of(response).partition("Ask Cyd.")[0]
    assert not answer.refused


def test_a_vessel_that_would_not_do_anyway_is_no_reason_for_an_induction(ada_client):
    house = bench()
    drum(max_ml=100)
    asking(Equipment.objects.get(code="J-1"))

    answer = ada_client.get(PLAN, asked(house, own_minutes=8)).context["answer"]
    assert (answer.for_an_induction, len(answer.refused)) == ([], 1)


def test_the_button_is_refused_with_the_same_words(ada, cyd, ada_client):
    house = bench()
    asking(house.tank, "Small tanks").givers.add(cyd)

    response = ada_client.post(BOOK, booking(house))

    (error,) = response.context["form"].non_field_errors()
    assert response.status_code == 422
    assert error.endswith("needs the induction “Small tanks”, which is missing. Ask Cyd.")
    assert not Session.objects.exists()


def test_a_pair_is_offered_only_of_vessels_that_are_open(ada_client):
    house = bench()
    drum()
    asking(house.tank)

    response = ada_client.get(PLAN, asked(house, sheets=8, own_minutes=8))

    offer = response.context["answer"].offer
    used = {v.code for o in offer.options for v, _ in o.manner.places}
    assert used == {"J-1"}


def test_a_process_says_it_before_all_vessels(ada, ben, ada_client):
    house = bench()
    topic = asking(house.process, "Colour chemistry")
    topic.givers.add(ben)

    response = ada_client.get(PLAN, asked(house))
    blocker = response.context["answer"].offer.blocker
    assert blocker.title == "You have not been shown this yet"
    assert "needs the induction “Colour chemistry”, which is missing. Ask Ben." in blocker.sentence
    assert f'href="/inductions/{topic.code}/"' in text_of(response)
    assert response.context["book"] is None

    refused = ada_client.post(BOOK, booking(house))
    assert refused.context["form"].errors["film"] == [blocker.sentence]
    with pytest.raises(NothingFits) as error:
        house.plan(ada)
    assert error.value.message == blocker.sentence


def test_with_the_induction_nothing_is_said_of_it(ada, ada_client):
    house = bench()
    for what in (house.tank, house.process, house.booth):
        InductionFactory(member=ada, topic=asking(what))

    response = ada_client.get(PLAN, asked(house))
    assert "the induction “" not in text_of(response)
    assert ada_client.post(BOOK, booking(house)).status_code == 303


def test_only_starts_that_end_in_time_are_offered_and_it_is_said_why(ada, ada_client):
    house = bench()
    ends = TOMORROW_NOON + timedelta(minutes=43)
    InductionFactory(member=ada, topic=asking(house.tank, "Small tanks"), expires_at=ends)

    response = ada_client.get(PLAN, asked(house))
    option = response.context["answer"].option
    assert max(option.starts) == TOMORROW_NOON
    assert "which expires on 3 March 2026 at 12:43, before the session ends." in text_of(response)

    later = f"{TOMORROW_NOON + timedelta(minutes=15):%Y-%m-%dT%H:%MZ}"
    refused = ada_client.post(BOOK, booking(house, start=later))
    assert (refused.status_code, list(refused.context["book"].errors)) == (422, ["start"])
    assert ada_client.post(BOOK, booking(house)).status_code == 303


def test_an_end_beyond_the_days_shown_is_not_spoken_of(ada, ada_client):
    house = bench()
    InductionFactory(member=ada, topic=asking(house.tank), expires_at=NOW + 20 * DAY)

    response = ada_client.get(PLAN, asked(house))
    assert response.context["answer"].option.lack is None


def test_a_booth_that_is_not_open_is_left_out_and_said_where_there_is_no_other(ada_client):
    house = bench()
    asking(house.booth, "Loading booths")

    response = ada_client.get(PLAN, asked(house))
    assert response.context["answer"].option.starts == []
    assert "B-1 Booth needs the induction “Loading booths”, which is missing." in text_of(response)

    EquipmentFactory(kind=EquipmentKind.BOOTH)
    option = ada_client.get(PLAN, asked(house)).context["answer"].option
    assert option.starts
    assert option.lack is None


def test_moving_offers_only_starts_that_end_in_time(ada, ada_client):
    house = bench()
    visit = house.book(ada)
    ends = TOMORROW_NOON + timedelta(minutes=43)
    InductionFactory(member=ada, topic=asking(house.tank), expires_at=ends)

    page = ada_client.get(f"{visit.get_absolute_url()}move/")
    assert max(start for day in page.context["days"] for start in day.starts) == TOMORROW_NOON


def test_what_was_not_looked_at_is_said_with_who_can(ada_client):
    house = bench()
    HouseCheckFactory(name="Eyewash runs clear", gates=Gates.ALL)

    response = ada_client.get(PLAN, asked(house))
    text = text_of(response)
    assert "Eyewash runs clear: nobody has looked yet. Any member who is in the house" in text
    assert 'href="/checks/"' in text.partition("<main")[2]
    assert response.context["book"] is None
    assert "film" in ada_client.post(BOOK, booking(house)).context["form"].errors


@pytest.mark.parametrize("number", [3, 30])
def test_the_page_asks_the_same_for_any_number_of_vessels(
    ada, ada_client, number, django_assert_num_queries
):
    house = bench()
    for n in range(number):
        vessel = drum(f"J-{n}")
        vessel.topic = TopicFactory()
        vessel.save()
        HouseCheckFactory()
    InductionFactory(member=ada, topic=vessel.topic)
    ada_client.get(PLAN, asked(house))

    with django_assert_num_queries(28):
        ada_client.get(PLAN, asked(house))


# Company


def test_company_is_asked_for_beside_its_field(ada, cyd, aud, ada_client):
    house = colour(bench())

    page = ada_client.get(PLAN, asked(house))
    offered = list(page.context["book"].fields["companion"].queryset)
    assert cyd in offered
    assert not {ada, aud} & set(offered)
    assert "Nobody else is booked that day." in text_of(page)

    refused = ada_client.post(BOOK, booking(house))
    assert (refused.status_code, list(refused.context["book"].errors)) == (422, ["companion"])
    assert "Nobody else is booked from 12:00 to 12:43" in text_of(refused)


def test_with_company_it_is_booked_and_the_session_says_so(ada, cyd, ada_client):
    response = ada_client.post(BOOK, booking(colour(bench()), companion=cyd.pk))

    assert response.status_code == 303
    assert Session.objects.get().companion == cyd
    assert "Cyd comes along." in text_of(ada_client.get(response["Location"]))


@pytest.mark.parametrize("wrong", ["0", "x", "9" * 400])
def test_company_that_is_not_there_is_refused(ada_client, wrong):
    refused = ada_client.post(BOOK, booking(colour(bench()), companion=wrong))

    assert (refused.status_code, list(refused.context["book"].errors)) == (422, ["companion"])


def test_when_others_are_there_is_said(ada, cyd, ada_client):
    house = colour(bench())
    drum(max_ml=400)
    Equipment.objects.update(holds_temperature=True)
    for kind in (EquipmentKind.BOOTH, EquipmentKind.SINK, EquipmentKind.PEGS):
        EquipmentFactory(kind=kind)
    book(house, cyd, ada, plan=house.plan(cyd, vessel="J-1", own_minutes=20))

    text = text_of(ada_client.get(PLAN, asked(house, day="2026-03-03")))
    assert "Others are booked that day from 12:00 to 12:55." in text


def test_nobody_is_asked_for_company_otherwise(ada_client):
    page = ada_client.get(PLAN, asked(bench()))

    assert page.context["book"].company_field is None


# What a session that stands says


def test_a_session_says_what_it_lacks_and_to_whom_it_matters(ada, cyd, ada_client):
    house = bench()
    visit = house.book(ada)
    topic = asking(house.tank, "Small tanks")
    topic.givers.add(cyd)

    text = text_of(ada_client.get(visit.get_absolute_url()))
    assert f"{house.tank} needs the induction “Small tanks”, which is missing. Ask Cyd." in text
    InductionFactory(member=ada, topic=topic)
    assert "Ask Cyd." not in text_of(ada_client.get(visit.get_absolute_url()))


def test_a_session_left_alone_says_so(ada, cyd, ada_client):
    house = colour(bench())
    ada_client.post(BOOK, booking(house, companion=cyd.pk))
    visit = Session.objects.get()
    cyd.is_active = False
    cyd.save()

    text = text_of(ada_client.get(visit.get_absolute_url()))
    assert "Nobody else is booked from 12:00 to 12:43" in text
