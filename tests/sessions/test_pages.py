"""Every page: who may open it, by which method, and at what cost."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from chemistry.models import Batch
from chemistry.stopping import stop_batch
from darkroom.models import Member
from sessions.models import Notice, Run, Session
from sessions.models.notices import NoticeKind
from sessions.recording import record_run
from tests.factories.chemistry import mixed_batch, replenished_way, reused_way
from tests.factories.darkroom import MemberFactory, VesselFactory
from tests.sessions.bench import NOW, Bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]

SignIn = Callable[[Member], Client]


@pytest.fixture
def visit(wet: Bench, ada: Member) -> Session:
    return wet.booked(ada)


@pytest.fixture
def run(wet: Bench, ada: Member, visit: Session) -> Run:
    return record_run(draft=wet.draft(visit=visit), key=uuid4(), by=ada, at=NOW)


def paths(wet: Bench, visit: Session, run: Run) -> dict[str, str]:
    return {
        "today": "/",
        "shelf": "/shelf/",
        "batch": f"/shelf/{wet.fixer.code}/",
        "notices": "/notices/",
        "visit": visit.get_absolute_url(),
        "run": reverse("sessions:run", args=[run.code]),
        "record-loose": "/record/",
        "record": reverse("sessions:record", args=[visit.code]),
        "run-void": reverse("sessions:run-void", args=[run.code]),
    }


@pytest.fixture
def answers(
    wet: Bench, visit: Session, run: Run, signed_in: SignIn
) -> Callable[[Member], dict[str, int]]:
    def ask(member: Member) -> dict[str, int]:
        client = signed_in(member)
        return {name: client.get(path).status_code for name, path in paths(wet, visit, run).items()}

    return ask


@pytest.mark.parametrize("who", ["ada", "ben", "adm"])
def test_owner_and_stewards_open_everything(
    answers: Callable[[Member], dict[str, int]], request: pytest.FixtureRequest, who: str
) -> None:
    assert set(answers(request.getfixturevalue(who)).values()) == {200}


def test_a_stranger_finds_no_session_and_no_run(
    answers: Callable[[Member], dict[str, int]], cyd: Member
) -> None:
    got = answers(cyd)

    assert {name for name, status in got.items() if status == 404} == {
        "visit",
        "run",
        "record",
        "run-void",
    }
    assert set(got.values()) == {200, 404}


def test_an_auditor_reads_everything_and_writes_nothing(
    answers: Callable[[Member], dict[str, int]], aud: Member
) -> None:
    got = answers(aud)

    assert {name for name, status in got.items() if status == 403} == {
        "record",
        "record-loose",
        "run-void",
    }
    assert set(got.values()) == {200, 403}


@pytest.mark.parametrize("name", ["today", "shelf", "batch", "notices", "visit", "run"])
@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_reading_pages_refuse_other_methods(
    wet: Bench, visit: Session, run: Run, ada_client: Client, name: str, method: str
) -> None:
    path = paths(wet, visit, run)[name]

    assert getattr(ada_client, method)(path).status_code == 405


@pytest.mark.parametrize("name", ["record", "record-loose", "run-void"])
@pytest.mark.parametrize("method", ["put", "delete"])
def test_forms_refuse_other_methods(
    wet: Bench, visit: Session, run: Run, ada_client: Client, name: str, method: str
) -> None:
    path = paths(wet, visit, run)[name]

    assert getattr(ada_client, method)(path).status_code == 405


@pytest.mark.parametrize("code", ["F-99", "x" * 300, "%00", "..%2F"])
def test_a_bottle_that_is_not_there_is_404(ada_client: Client, code: str) -> None:
    assert ada_client.get(f"/shelf/{code}/").status_code == 404


def test_a_private_bottle_is_its_owners_and_the_stewards(
    wet: Bench, ada: Member, ben: Member, cyd: Member, signed_in: SignIn
) -> None:
    hidden = mixed_batch(wet.fixer.way, owner=ada)

    path = f"/shelf/{hidden.code}/"
    assert [signed_in(who).get(path).status_code for who in (ada, ben, cyd)] == [200, 200, 404]
    listed = [
        f'href="{path}"' in signed_in(w).get("/shelf/").content.decode() for w in (ada, ben, cyd)
    ]
    assert listed == [True, True, False]


def test_a_discarded_bottle_says_so_in_plain_words(wet: Bench, ada_client: Client) -> None:
    Batch.objects.filter(pk=wet.fixer.pk).update(discarded_at=NOW)

    text = ada_client.get(f"/shelf/{wet.fixer.code}/").content.decode()

    assert "This bottle has been poured out." in text
    assert reverse("chemistry:batch-pour", args=[wet.fixer.code]) not in text


def test_the_shelf_is_filtered_by_state(wet: Bench, ada: Member, ada_client: Client) -> None:
    stop_batch(batch=wet.fixer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    kept = {
        state: [
            bottle.batch.code
            for group in ada_client.get("/shelf/", {"state": state}).context["groups"]
            for bottle in group.bottles
        ]
        for state in ("", "stopped", "fresh", "nonsense")
    }

    assert kept == {
        "": [wet.developer.code, wet.fixer.code],
        "stopped": [wet.fixer.code],
        "fresh": [wet.developer.code],
        "nonsense": [],
    }


def test_within_a_role_the_worst_comes_first(wet: Bench, ada: Member, ada_client: Client) -> None:
    second = mixed_batch(wet.fixer.way)
    stop_batch(batch=second, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    groups = ada_client.get("/shelf/").context["groups"]

    assert [[b.batch.code for b in group.bottles] for group in groups] == [
        [wet.developer.code],
        [second.code, wet.fixer.code],
    ]


@pytest.mark.parametrize(("path", "partial"), [("/shelf/", "bottles"), ("/notices/", "notices")])
def test_lists_answer_htmx_with_the_list_alone(
    wet: Bench, ada_client: Client, path: str, partial: str
) -> None:
    whole = ada_client.get(path).content.decode()
    part = ada_client.get(path, headers={"HX-Request": "true", "HX-Target": partial})

    assert ("<html" in whole, "<html" in part.content.decode()) == (True, False)
    assert f'id="{partial}"' in part.content.decode()


def queries(client: Client, path: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as captured:
        assert client.get(path).status_code == 200
    return len(captured)


def one_more(wet: Bench, member: Member, n: int) -> None:
    """One more of everything that a list may show."""
    owner = MemberFactory()
    way = replenished_way() if n % 2 else reused_way()
    batch = mixed_batch(way)
    visit = type(wet)(
        **{
            **vars(wet),
            "vessel": VesselFactory(),
            "sink": VesselFactory(),
            "pegs": VesselFactory(),
            "fixer": batch,
        }
    ).booked(owner, starts_at=NOW - timedelta(days=2 + n), sheets=4)
    record_run(draft=wet.draft(visit=visit, is_last=False, sheets=1), key=uuid4(), by=owner, at=NOW)
    record_run(draft=wet.draft(), key=uuid4(), by=member, at=NOW)
    stop_batch(batch=batch, seen="cloudy", key=uuid4(), by=owner, at=NOW)
    Notice.objects.create(
        member=member,
        kind=NoticeKind.BATCH_BAD,
        fact_key=f"more:{n}",
        subject="More",
        body="More of it.",
        url="/",
        created_at=NOW,
    )


@pytest.mark.parametrize("who", ["ada", "ben"])
def test_no_page_costs_more_with_more_to_show(
    wet: Bench,
    visit: Session,
    run: Run,
    signed_in: SignIn,
    request: pytest.FixtureRequest,
    who: str,
) -> None:
    reader = request.getfixturevalue(who)
    client, asked = signed_in(reader), paths(wet, visit, run)
    for n in range(3):
        one_more(wet, reader, n)
    few = {name: queries(client, path) for name, path in asked.items()}

    for n in range(3, 30):
        one_more(wet, reader, n)

    more = {name: queries(client, path) for name, path in asked.items()}
    assert {name: (few[name], n) for name, n in more.items() if n > few[name]} == {}


def test_a_session_of_many_loads_costs_no_more(wet: Bench, ada: Member, ada_client: Client) -> None:
    visit = wet.booked(ada, sheets=80, starts_at=NOW + timedelta(days=1))
    costs: dict[int, Any] = {}
    for done in (3, 15):
        while visit.runs.count() < done:
            record_run(draft=wet.draft(visit=visit), key=uuid4(), by=ada, at=NOW)
        costs[done] = queries(ada_client, visit.get_absolute_url())

    assert costs[3] == costs[15]
