from datetime import datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client

from chemistry.models import Batch
from chemistry.stopping import release_batch, stop_batch
from darkroom.models import Member
from sessions import life
from sessions.models import Run
from sessions.recording import record_run
from sessions.voiding import void_run
from tests.sessions.bench import NOW, Bench

pytestmark = pytest.mark.django_db


def record(wet: Bench, by: Member, hours_ago: int = 1, **changes: object) -> Run:
    happened_at = NOW - timedelta(hours=hours_ago)
    return record_run(
        draft=wet.draft(happened_at=happened_at, **changes), key=uuid4(), by=by, at=NOW
    )


def told(batch: Batch, reader: Member, number: str | None = None) -> list[tuple[str, str]]:
    page = life.page_of(batch, number, reader=reader)
    return [(event.says, event.by) for event in page]


def later(hours: int) -> datetime:
    return NOW + timedelta(hours=hours)


def test_everything_that_happened_stands_in_it_newest_first(
    wet: Bench, ada: Member, ben: Member
) -> None:
    run = record(wet, ada)
    stop_batch(batch=wet.fixer, seen="cloudy", key=uuid4(), by=ada, at=later(1))
    release_batch(batch=wet.fixer, reason="tested", key=uuid4(), by=ben, at=later(2))
    void_run(run=run, reason="wrong bottle", key=uuid4(), by=ada, at=later(3))

    mixer = wet.fixer.mixed_by.name
    assert told(wet.fixer, ben) == [
        (f"Voided: 4 sheets of 4×5 {wet.film}", "Ada"),
        ("Released: tested", "Ben"),
        ("Stopped: cloudy", "Ada"),
        (f"4 sheets of 4×5 {wet.film}, voided since", "Ada"),
        ("Mixed: 1\u00a0000 mL", mixer),
    ]


def test_a_bottle_is_mixed_before_it_is_used_in_the_same_minute(wet: Bench, ada: Member) -> None:
    record_run(draft=wet.draft(happened_at=wet.fixer.mixed_at), key=uuid4(), by=ada, at=NOW)

    assert [says for says, _ in told(wet.fixer, ada)] == [
        f"4 sheets of 4×5 {wet.film}",
        "Mixed: 1\u00a0000 mL",
    ]


def test_what_did_not_come_back_is_told(wet: Bench, ada: Member) -> None:
    record(wet, ada, baths=wet.baths(short_ul=12_500))

    assert ("12.5 mL did not come back", "Ada") in told(wet.fixer, ada)


def test_another_members_runs_are_told_without_a_name(wet: Bench, ada: Member, cyd: Member) -> None:
    record(wet, ada)

    assert [told(wet.fixer, reader)[0] for reader in (ada, cyd)] == [
        (f"4 sheets of 4×5 {wet.film}", "Ada"),
        (f"4 sheets of 4×5 {wet.film}", ""),
    ]


def test_a_long_life_has_pages(wet: Bench, ada: Member, ada_client: Client) -> None:
    for n in range(22):
        record(wet, ada, hours_ago=n)

    assert [len(told(wet.fixer, ada, number)) for number in (None, "2", "99")] == [20, 3, 3]
    part = ada_client.get(
        f"/shelf/{wet.fixer.code}/?page=2",
        headers={"HX-Request": "true", "HX-Target": "life"},
    ).content.decode()
    assert (part.count("<li>"), "<html" in part) == (3, False)
