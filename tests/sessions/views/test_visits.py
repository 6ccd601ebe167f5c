from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from sessions.models import Session
from tests.factories.chemistry import mixed_batch
from tests.factories.darkroom import NOW
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
LATER = TOMORROW_NOON + timedelta(hours=4)
LIST = "/sessions/"


def move_url(visit):
    return reverse("sessions:visit-move", args=[visit.code])


def cancel_url(visit):
    return reverse("sessions:visit-cancel", args=[visit.code])


def moving(start=LATER):
    return {"key": uuid4(), "start": f"{start:%Y-%m-%dT%H:%MZ}"}


def test_the_list_shows_ones_own_to_come_and_over(ada_client, ada, cyd):
    house = bench()
    mine = house.book(ada)
    over = house.book(ada, starts_at=NOW, at=NOW)
    house.book(cyd, starts_at=LATER)
    Session.objects.filter(pk=over.pk).update(ends_at=NOW + timedelta(seconds=1), ended_at=NOW)

    response = ada_client.get(LIST)

    assert list(response.context["ahead"]) == [mine]
    assert list(response.context["behind"]) == [over]


@pytest.mark.parametrize("who", ["ben_client", "aud_client"])
def test_stewards_and_auditors_see_everybodys(request, ada, cyd, who):
    house = bench()
    house.book(ada)
    house.book(cyd, starts_at=LATER)

    response = request.getfixturevalue(who).get(LIST)

    assert len(response.context["ahead"]) == 2


@pytest.mark.parametrize("count", [3, 30])
def test_the_list_asks_as_much_of_the_database_for_30_as_for_3(
    ada_client, ada, count, django_assert_num_queries
):
    house = bench()
    for n in range(count):
        start = TOMORROW_NOON + timedelta(days=n // 6, hours=(n % 6) * 1.5)
        house.book(ada, starts_at=start, sheets=1)
    ada_client.get(LIST)

    # Sign-in, member, house; two counts; the sessions to come, their lines, films and formats.
    with django_assert_num_queries(9):
        response = ada_client.get(LIST)

    assert len(response.context["ahead"]) == count


def test_an_empty_list_says_what_to_do_first(ada_client):
    assert "Nothing is booked" in ada_client.get(LIST).content.decode()


def test_moving_works_without_javascript_and_with_htmx(ada_client, ada):
    visit = bench().book(ada)
    page = ada_client.get(move_url(visit), {"day": "2026-03-03"})
    plain = ada_client.post(move_url(visit), moving())
    back = moving(TOMORROW_NOON)
    htmx = ada_client.post(
        move_url(visit), back, headers={"HX-Request": "true", "HX-Target": "move"}
    )

    assert 'value="2026-03-03T16:00Z"' in page.content.decode()
    assert (plain.status_code, plain["Location"]) == (303, visit.get_absolute_url())
    assert htmx["HX-Redirect"] == visit.get_absolute_url()
    visit.refresh_from_db()
    assert visit.starts_at == TOMORROW_NOON


def test_htmx_gets_the_form_for_moving_alone(ada_client, ada):
    visit = bench().book(ada)

    part = ada_client.get(
        move_url(visit), headers={"HX-Request": "true", "HX-Target": "move"}
    ).content.decode()

    assert "<title>" not in part
    assert 'id="move"' in part


def test_a_slot_lost_while_moving_is_told(ada_client, ada, cyd):
    house = bench()
    visit = house.book(ada)
    house.book(cyd, starts_at=LATER)

    response = ada_client.post(move_url(visit), moving())

    assert response.status_code == 409
    assert "kept for somebody else" in response.context["form"].errors["start"][0]
    visit.refresh_from_db()
    assert visit.starts_at == TOMORROW_NOON


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"start": ""}, "start"),
        ({"other": "2026-03-02T10:00"}, "other"),
        ({"other": "2026-03-03T23:00"}, "other"),
        ({"other": "never"}, "other"),
    ],
)
def test_a_move_that_cannot_be_is_refused_beside_its_field(ada_client, ada, typed, field):
    visit = bench().book(ada)

    response = ada_client.post(move_url(visit), moving() | typed)

    assert response.status_code == 422
    assert set(response.context["form"].errors) == {field}


def test_a_session_that_has_begun_cannot_be_moved(ada_client, ada):
    visit = bench().book(ada)
    Session.objects.filter(pk=visit.pk).update(starts_at=NOW - timedelta(minutes=5))

    response = ada_client.post(move_url(visit), moving())

    assert response.status_code == 409
    assert "has begun" in response.content.decode()


def test_cancelling(ada_client, ada):
    visit = bench().book(ada)

    page = ada_client.get(cancel_url(visit))
    done = ada_client.post(cancel_url(visit), {"key": uuid4()})

    assert "Cancel this session?" in page.content.decode()
    assert (done.status_code, done["Location"]) == (303, LIST)
    visit.refresh_from_db()
    assert visit.cancelled_at == NOW


def test_cancelling_what_is_cancelled_is_told(ada_client, ada):
    visit = bench().book(ada)
    ada_client.post(cancel_url(visit), {"key": uuid4()})

    again = ada_client.post(cancel_url(visit), {"key": uuid4()})

    assert again.status_code == 409
    assert "cancelled already" in again.content.decode()


@pytest.mark.parametrize("url", [move_url, cancel_url])
def test_somebody_elses_session_is_not_there(cyd_client, ada, url):
    visit = bench().book(ada)

    assert cyd_client.get(url(visit)).status_code == 404
    assert cyd_client.post(url(visit), moving()).status_code == 404
    visit.refresh_from_db()
    assert (visit.cancelled_at, visit.starts_at) == (None, TOMORROW_NOON)


@pytest.mark.parametrize("url", [move_url, cancel_url])
def test_an_auditor_changes_nothing(aud_client, ada, url):
    visit = bench().book(ada)

    assert aud_client.get(url(visit)).status_code == 403
    assert aud_client.post(url(visit), moving()).status_code == 403


def test_a_steward_cancels_for_a_member(ben_client, ada):
    visit = bench().book(ada)

    assert ben_client.post(cancel_url(visit), {"key": uuid4()}).status_code == 303


@pytest.mark.parametrize("url", [move_url, cancel_url])
def test_wrong_methods_and_strangers(ada_client, client, ada, url):
    visit = bench().book(ada)

    assert ada_client.put(url(visit)).status_code == 405
    assert client.get(url(visit)).status_code == 302


def test_the_list_is_only_read(ada_client):
    assert ada_client.post(LIST).status_code == 405


def fetch_url(visit):
    return reverse("sessions:visit-bottles", args=[visit.code])


def test_bottles_mixed_meanwhile_are_taken_from_the_sessions_page(ada_client, ada):
    house = bench(with_bottles=False)
    plan = house.plan(ada).with_bottles({}, accepts_mixing=True)
    visit = house.book(ada, plan=plan)

    def pressed():
        sent = ada_client.post(fetch_url(visit), {"key": uuid4()})
        return ada_client.get(sent["Location"]).content.decode()

    too_early = pressed()
    mixed_batch(house.developer)
    taken = pressed()

    assert "No bottle that would serve" in too_early
    assert "Take what has been mixed" in too_early
    assert "are promised to this session now" in taken
    assert visit.allotments.exclude(batch=None).count() == 1


def test_fetching_is_only_for_whoever_may(ada_client, cyd_client, aud_client, client, ada):
    visit = bench().book(ada)

    assert ada_client.get(fetch_url(visit)).status_code == 405
    assert cyd_client.post(fetch_url(visit), {"key": uuid4()}).status_code == 404
    assert aud_client.post(fetch_url(visit), {"key": uuid4()}).status_code == 403
    assert client.post(fetch_url(visit)).status_code == 302
