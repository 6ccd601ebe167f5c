import pytest
from django.test import Client
from django.urls import reverse

from darkroom.models import Member
from sessions.models import Notice
from sessions.models.notices import NoticeKind
from tests.factories.darkroom import NOW

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


@pytest.fixture
def notice(ada: Member) -> Notice:
    return Notice.objects.create(
        member=ada,
        kind=NoticeKind.BATCH_BAD,
        fact_key="batch:1:spent:1-0",
        subject="F-3: spent",
        body="100 % of its capacity is used.",
        url="/shelf/F-3/",
        created_at=NOW,
    )


def seen(notice: Notice) -> str:
    return reverse("sessions:notice-seen", args=[notice.pk])


def test_ones_own_notices_are_listed_and_nobody_elses(
    notice: Notice, ada_client: Client, cyd_client: Client
) -> None:
    pages = [client.get("/notices/").content.decode() for client in (ada_client, cyd_client)]

    assert ["F-3: spent" in page for page in pages] == [True, False]


def test_new_ones_stand_on_the_front_page_until_seen(notice: Notice, ada_client: Client) -> None:
    before = "F-3: spent" in ada_client.get("/").content.decode()
    ada_client.post(seen(notice))

    assert (before, "F-3: spent" in ada_client.get("/").content.decode()) == (True, False)


def test_looking_at_one_marks_it_and_leads_to_its_subject(
    notice: Notice, ada_client: Client
) -> None:
    answer = ada_client.post(seen(notice))

    notice.refresh_from_db()
    assert (answer.status_code, answer["Location"], notice.seen_at) == (303, "/shelf/F-3/", NOW)


def test_all_can_be_marked_at_once(notice: Notice, ada_client: Client) -> None:
    ada_client.post(reverse("sessions:notices-seen"))

    notice.refresh_from_db()
    assert notice.seen_at == NOW


def test_marking_all_leaves_other_members_alone(notice: Notice, cyd_client: Client) -> None:
    cyd_client.post(reverse("sessions:notices-seen"))

    notice.refresh_from_db()
    assert notice.seen_at is None


def test_anothers_notice_is_404(notice: Notice, cyd_client: Client) -> None:
    assert cyd_client.post(seen(notice)).status_code == 404


def test_marking_needs_a_post(notice: Notice, ada_client: Client) -> None:
    assert ada_client.get(seen(notice)).status_code == 405
    assert ada_client.get(reverse("sessions:notices-seen")).status_code == 405


@pytest.mark.parametrize("page", ["2", "0", "last", "x", "-1", "9" * 30])
def test_any_page_number_is_answered(notice: Notice, ada_client: Client, page: str) -> None:
    assert ada_client.get("/notices/", {"page": page}).status_code == 200
