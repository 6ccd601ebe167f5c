"""A session or a run becomes a plan with one press."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from django.urls import reverse

from chemistry.models import Role
from chemistry.stopping import stop_batch
from sessions.cancelling import cancel_session
from sessions.models import Session
from sessions.recording import BathDraft, RunDraft, record_run
from tests.factories.chemistry import mixed_batch
from tests.factories.darkroom import NOW
from tests.factories.sessions import bench, drum, printed_times, stock_developer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
BUTTON = re.compile(r'href="(/plan/\?[^"]+)"[^>]*>.*?<span>(.*?)</span>', re.DOTALL)


def again(client, page):
    """What the page's button says, and the plan it leads to."""
    address, says = BUTTON.search(client.get(page).content.decode()).groups()
    return says, client.get(unescape(address))


def asked(response):
    """What the plan's form holds, as far as it holds anything."""
    said = response.context["form"].said()
    return {name: value for name, value in said if value != ""}


def over(visit):
    Session.objects.filter(pk=visit.pk).update(
        starts_at=NOW - timedelta(days=2), ends_at=NOW - timedelta(days=2, hours=-1)
    )
    return visit.get_absolute_url()


def recorded(house, visit, by):
    """One load of three sheets in the session's vessel."""
    baths = tuple(
        BathDraft(step, house.bottles.get(str(step.role)), 400_000, Decimal(step.minutes or 8))
        for step in house.steps
    )
    draft = RunDraft(
        visit=visit,
        process=house.process,
        vessel=visit.vessel,
        agitation=visit.agitation,
        film=house.film,
        index=100,
        format=house.four_by_five,
        sheets=3,
        happened_at=NOW - timedelta(hours=1),
        baths=baths,
    )
    return record_run(draft=draft, key=uuid4(), by=by, at=NOW)


def question(house, **changes):
    developer = house.developer.version.recipe.code
    return {
        "sheets": "4",
        "format": str(house.four_by_five.pk),
        "film": str(house.film.pk),
        "index": "100",
        "developer": f"{developer}:reused",
        "agitation": "inversion",
    } | changes


def test_a_session_that_is_over_is_asked_for_as_it_was(ada_client, ada):
    house = bench()
    page = over(house.book(ada, sheets=4))

    says, response = again(ada_client, page)

    assert says == "Plan it again"
    assert asked(response) == question(house)
    assert response.context["answer"].option.plan.sheets == 4
    assert response.context["answer"].shown_starts


def test_the_developer_and_agitation_that_it_had_are_asked_for_though_others_come_first(
    ada_client, ada
):
    house = bench()
    other = stock_developer()
    mixed_batch(other, volume_ml=1000)
    printed_times(house.film, other, "rocking")
    drum()
    visit = house.book(ada, developer=other, agitation="rocking", sheets=6)

    _, response = again(ada_client, over(visit))

    developer = f"{other.version.recipe.code}:to_draw"
    assert asked(response) == question(house, developer=developer, agitation="rocking", sheets="6")
    assert response.context["answer"].option.key == "J-1:rocking"


def test_it_is_planned_with_the_bottles_of_today(ada_client, ada, ben):
    house = bench()
    visit = house.book(ada)
    worn = house.bottles["developer"]
    stop_batch(batch=worn, seen="Brown", key=uuid4(), by=ben, at=NOW)
    fresh = mixed_batch(house.developer)

    _, response = again(ada_client, over(visit))

    baths = response.context["answer"].option.baths
    (choice,) = [bath for bath in baths if bath.bath.name == Role.DEVELOPER.label]
    assert [one.supply.batch for one in choice.serving] == [fresh]


def test_an_own_time_comes_along_with_its_temperature(ada_client, ada):
    house = bench()
    visit = house.book(ada, own_minutes=Decimal("7.5"), temp_c=Decimal(22))

    _, response = again(ada_client, over(visit))

    assert asked(response) == question(house, own_minutes="7:30", temp_c="22.0")
    assert response.context["answer"].option is not None


def test_a_printed_time_leaves_the_temperature_to_today(ada_client, ada):
    house = bench()
    visit = house.book(ada, temp_c=Decimal(22))

    _, response = again(ada_client, over(visit))

    assert "temp_c" not in asked(response)


def test_further_lines_are_asked_for_with_it(ada_client, ada):
    house = bench()
    visit = house.book(ada)
    first = visit.lines.get()
    visit.lines.create(
        film=first.film,
        index=200,
        format=first.format,
        sheets=2,
        own_minutes=Decimal(9),
        temp_c=Decimal(21),
    )

    _, response = again(ada_client, over(visit))

    further = {"sheets_2": "2", "index_2": "200", "own_minutes_2": "9:00", "temp_c": "21.0"}
    further |= {"format_2": str(first.format.pk), "film_2": str(first.film.pk)}
    assert asked(response) == question(house) | further
    assert [line.sheets for line in response.context["form"].ask().lines] == [4, 2]


def test_a_session_to_come_and_a_cancelled_one_can_be_repeated_too(ada_client, ada):
    house = bench()
    visit = house.book(ada)

    before = again(ada_client, visit.get_absolute_url())[0]
    cancel_session(visit=visit, key=uuid4(), by=ada, at=NOW)
    after = again(ada_client, visit.get_absolute_url())[0]

    assert (before, after) == ("Plan one like it", "Plan it again")


def test_a_run_is_asked_for_as_one_load_like_it(ada_client, ada):
    house = bench()
    run = recorded(house, house.book(ada, starts_at=NOW, sheets=4), ada)

    says, response = again(ada_client, reverse("sessions:run", args=[run.code]))

    assert says == "Plan it again"
    assert asked(response) == question(house, sheets="3")
    assert response.context["answer"].option is not None


def test_a_steward_repeats_a_members_session_for_themself(ben_client, ada, ben):
    house = bench()
    page = over(house.book(ada))

    _, response = again(ben_client, page)

    assert response.context["form"].ask().member == ben


def test_an_auditor_plans_nothing(aud_client, ada):
    house = bench()
    visit = house.book(ada, starts_at=NOW)
    run = recorded(house, visit, ada)

    for page in (visit.get_absolute_url(), reverse("sessions:run", args=[run.code])):
        assert not BUTTON.search(aud_client.get(page).content.decode())
