"""Many hands at once on one form and on one bottle."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Event, current_thread, main_thread
from typing import Any, TypeVar
from uuid import uuid4

import pytest
from django.db import connections
from django.test import Client
from django.urls import reverse

from chemistry import accounts
from chemistry.models import Account, AccountKind, Batch, Movement, Use
from chemistry.wear_cache import cached_state, replay_batch
from darkroom.models import Member
from sessions.models import Run
from sessions.recording import record_run
from tests.sessions.bench import NOW, Bench, bench

pytestmark = pytest.mark.django_db(transaction=True)

THREADS = 32
T = TypeVar("T")


def together(act: Callable[[int], T], count: int = THREADS) -> list[T]:
    """The answers of ``count`` threads, each with a connection of its own."""

    def run(n: int) -> T:
        try:
            return act(n)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(run, range(count)))


@pytest.fixture
def wet(transactional_db: None) -> Bench:
    return bench(developer_ml=5000, fixer_ml=5000)


def test_one_form_sent_by_many_is_one_run(wet: Bench, ada: Member) -> None:
    key = uuid4()

    runs = together(lambda n: record_run(draft=wet.draft(), key=key, by=ada, at=NOW).pk)

    assert (len(set(runs)), Run.objects.count(), Use.objects.count()) == (1, 1, 2)


def test_one_page_posted_by_many_is_one_run_and_one_answer(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada)
    path = reverse("sessions:record", args=[visit.code])
    client = Client()
    client.force_login(ada)
    form = client.get(path).context["form"]
    sent: dict[str, Any] = {bound.html_name: bound.value() for bound in form if bound.value()}

    def post(n: int) -> tuple[int, str]:
        browser = Client()
        browser.cookies = client.cookies
        answer = browser.post(path, sent)
        return answer.status_code, answer["Location"]

    assert set(together(post)) == {(303, visit.get_absolute_url())}
    assert Run.objects.count() == 1


def test_many_runs_on_one_bottle_wear_it_exactly(wet: Bench, ada: Member) -> None:
    together(lambda n: record_run(draft=wet.draft(), key=uuid4(), by=ada, at=NOW).pk)

    developer = Batch.objects.select_related("account").get(pk=wet.developer.pk)
    assert developer.used_mm2 == THREADS * wet.draft().area_mm2
    assert developer.account.balance == 5_000_000 - THREADS * 20_000
    assert cached_state(developer) == replay_batch(developer)


def test_many_runs_leave_one_unbroken_chain(wet: Bench, ada: Member) -> None:
    together(lambda n: record_run(draft=wet.draft(), key=uuid4(), by=ada, at=NOW).pk)

    moves = list(Movement.objects.order_by("seq").values_list("seq", "prev_hash", "hash"))
    assert [seq for seq, _, _ in moves] == list(range(1, len(moves) + 1))
    assert [prev for _, prev, _ in moves[1:]] == [hash_ for _, _, hash_ in moves[:-1]]


def test_loads_of_one_session_recorded_at_once_end_it_once(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=32)

    together(
        lambda n: record_run(draft=wet.draft(visit=visit), key=uuid4(), by=ada, at=NOW).pk, count=8
    )

    visit.refresh_from_db()
    assert (visit.runs.count(), visit.ended_at) == (8, NOW)
    assert set(visit.allotments.values_list("state", flat=True)) == {"used"}


def test_two_that_empty_a_bottle_together_are_both_recorded(ada: Member) -> None:
    wet = bench(developer_ml=25)

    together(lambda n: record_run(draft=wet.draft(), key=uuid4(), by=ada, at=NOW).pk, count=2)

    unexplained = Account.objects.get(kind=AccountKind.UNEXPLAINED)
    assert (Run.objects.count(), unexplained.balance) == (2, -15_000)


def test_without_the_lock_the_later_of_two_would_be_lost(
    ada: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The control: the later one reads the bottle before the earlier one has taken from it."""
    wet = bench(developer_ml=25)
    has_read, may_go, lock = Event(), Event(), accounts.lock

    def unlocked(**wanted: Any) -> accounts.Locked:
        if current_thread() is main_thread():
            return lock(**wanted)
        rows = Account.objects.select_related("batch__way__version__recipe", "container")
        found = {row.pk: row for row in rows.filter(kind__in=accounts.VESSELS)}
        has_read.set()
        assert may_go.wait(10)
        return accounts.Locked(found, frozenset(wanted["streams"]))

    monkeypatch.setattr(accounts, "lock", unlocked)
    with ThreadPoolExecutor(1) as pool:
        later = pool.submit(record_apart, wet, ada)
        assert has_read.wait(10)
        record_run(draft=wet.draft(), key=uuid4(), by=ada, at=NOW)
        may_go.set()
        with pytest.raises(AssertionError, match="the database refused a volume"):
            later.result()

    assert Run.objects.count() == 1


def record_apart(wet: Bench, by: Member) -> Run:
    try:
        return record_run(draft=wet.draft(), key=uuid4(), by=by, at=NOW)
    finally:
        connections.close_all()
