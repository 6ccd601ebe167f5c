from collections.abc import Callable
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from darkroom.models import Member
from sessions.models import Run, Session
from sessions.recording import record_run
from tests.sessions.bench import NOW, Bench, bench

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _now() -> object:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def wet(db: None) -> Bench:
    return bench()


@pytest.fixture
def visit(wet: Bench, ada: Member) -> Session:
    return wet.booked(ada)


@pytest.fixture
def run(wet: Bench, ada: Member, visit: Session) -> Run:
    return record_run(draft=wet.draft(visit=visit), key=uuid4(), by=ada, at=NOW)


def paths(wet: Bench, visit: Session, run: Run) -> list[str]:
    return [
        "/",
        "/shelf/",
        f"/shelf/{wet.fixer.code}/",
        "/notices/",
        visit.get_absolute_url(),
        reverse("sessions:run", args=[run.code]),
        "/record/",
        reverse("sessions:record", args=[visit.code]),
        reverse("sessions:run-void", args=[run.code]),
    ]


@pytest.mark.parametrize("who", ["ada", "ben", "adm"])
def test_every_page_opens(
    wet: Bench,
    visit: Session,
    run: Run,
    signed_in: Callable[[Member], Client],
    request: pytest.FixtureRequest,
    who: str,
) -> None:
    client = signed_in(request.getfixturevalue(who))

    got = {path: client.get(path).status_code for path in paths(wet, visit, run)}

    assert got == dict.fromkeys(got, 200)
