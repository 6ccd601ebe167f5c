from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from darkroom.errors import NotAllowed
from darkroom.models import Member
from sessions.leaving import CannotEnd, end_session
from sessions.models import Run, Session
from sessions.recording import record_run
from sessions.voiding import void_run
from tests.sessions.bench import NOW, Bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


@pytest.fixture
def visit(wet: Bench, ada: Member) -> Session:
    """Two loads planned, one recorded."""
    return wet.booked(ada)


@pytest.fixture
def run(wet: Bench, visit: Session, ada: Member) -> Run:
    return record_run(draft=wet.draft(visit=visit), key=uuid4(), by=ada, at=NOW)


def end(visit: Session, by: Member, **changes: object) -> Session:
    return end_session(**{"visit": visit, "key": uuid4(), "by": by, "at": NOW} | changes)


def states(visit: Session) -> list[str]:
    return list(visit.allotments.order_by("pk").values_list("state", flat=True))


def test_ending_gives_back_what_was_not_run(visit: Session, run: Run, ada: Member) -> None:
    end(visit, ada)

    visit.refresh_from_db()
    assert (visit.ended_at, states(visit)) == (NOW, ["released", "released"])
    assert [hold.phase for hold in visit.holds.live()] == ["dry"]


def test_ending_twice_under_one_key_is_done_once(visit: Session, run: Run, ada: Member) -> None:
    key = uuid4()

    assert end(visit, ada, key=key).pk == end(visit, ada, key=key).pk


def test_an_ended_session_cannot_be_ended(visit: Session, run: Run, ada: Member) -> None:
    end(visit, ada)

    with pytest.raises(CannotEnd):
        end(visit, ada)


def test_a_session_without_a_run_is_cancelled_instead(visit: Session, ada: Member) -> None:
    with pytest.raises(CannotEnd):
        end(visit, ada)


def test_only_the_member_or_a_steward_ends_it(
    visit: Session, run: Run, ben: Member, cyd: Member, aud: Member
) -> None:
    for who in (cyd, aud):
        with pytest.raises(NotAllowed):
            end(visit, who)
    assert end(visit, ben).ended_at == NOW


def test_a_run_voided_after_leaving_is_promised_again(
    wet: Bench, visit: Session, run: Run, ada: Member
) -> None:
    end(visit, ada)

    void_run(run=run, reason="wrong", key=uuid4(), by=ada, at=NOW)

    rows = visit.allotments.values_list("state", "area_mm2", "loads", "consumed_ul")
    assert set(rows) == {("open", 4 * wet.size.area_mm2, 1, 20_000)}


def test_the_page_ends_it(visit: Session, run: Run, ada_client: Client) -> None:
    path = reverse("sessions:visit-end", args=[visit.code])

    answer = ada_client.post(path, {"key": uuid4()})

    visit.refresh_from_db()
    assert (answer["Location"], visit.ended_at) == (visit.get_absolute_url(), NOW)


def test_the_page_says_why_it_does_not(visit: Session, ada_client: Client) -> None:
    path = reverse("sessions:visit-end", args=[visit.code])

    ada_client.post(path, {"key": uuid4()})

    page = ada_client.get(visit.get_absolute_url()).content.decode()
    assert "Nothing was recorded for it." in page


def test_the_page_is_for_the_member_and_posts_only(
    visit: Session, run: Run, ada_client: Client, cyd_client: Client, aud_client: Client
) -> None:
    path = reverse("sessions:visit-end", args=[visit.code])

    assert cyd_client.post(path, {"key": uuid4()}).status_code == 404
    assert aud_client.post(path, {"key": uuid4()}).status_code == 403
    assert ada_client.get(path).status_code == 405
