from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from chemistry.checks import InTheFuture
from chemistry.models import Account, AccountKind, Batch, Movement, Use
from darkroom.errors import NotAllowed
from darkroom.models import Member
from darkroom.operations import AlreadySent
from sessions.models import Allotment, Run, Session
from sessions.recording import NotPossible, RunDraft, SessionCancelled, record_run
from tests.sessions.bench import LOAD_UL, NOW, Bench, bench

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(minutes=1)
CARRY_UL = 20_000
"""A load of four 4×5 is one unit; the house says 20 mL for it."""


def record(draft: RunDraft, by: Member, **changes: object) -> Run:
    return record_run(**{"draft": draft, "key": uuid4(), "by": by, "at": NOW} | changes)


def held_ul(batch: Batch) -> int:
    return Account.objects.get(batch=batch).balance


def test_record_wears_every_bottle_by_its_area(wet: Bench, ada: Member) -> None:
    record(wet.draft(), ada)

    wear = dict(Batch.objects.values_list("pk", "wear"))
    assert wear[wet.developer.pk] == Decimal(1) / 16
    assert wear[wet.fixer.pk] == Decimal(1) / 20


def test_record_takes_carry_out_and_what_is_missing_from_the_bottles(
    wet: Bench, ada: Member
) -> None:
    record(wet.draft(baths=wet.baths(short_ul=5_000)), ada)

    assert held_ul(wet.developer) == 1_000_000 - CARRY_UL - 5_000
    assert held_ul(wet.fixer) == 1_000_000 - 5_000


def test_record_keeps_what_happened(wet: Bench, ada: Member) -> None:
    run = record(wet.draft(note="alone"), ada)

    baths = list(run.baths.values_list("step__name", "batch", "poured_ul", "minutes"))
    assert baths == [
        ("Develop", wet.developer.pk, LOAD_UL, Decimal(8)),
        ("Rinse", None, LOAD_UL, Decimal(1)),
        ("Fix", wet.fixer.pk, LOAD_UL, Decimal(5)),
    ]
    assert (run.member, run.sheets, run.note) == (ada, 4, "alone")
    assert {use.operation for use in Use.objects.all()} == {run.operation}


def test_record_twice_under_one_key_is_one_run(wet: Bench, ada: Member) -> None:
    key = uuid4()

    first = record(wet.draft(), ada, key=key)
    again = record(wet.draft(), ada, key=key, at=LATER)

    assert (first.pk, Run.objects.count(), Use.objects.count()) == (again.pk, 1, 2)


def test_record_with_other_figures_under_one_key_is_refused(wet: Bench, ada: Member) -> None:
    key = uuid4()
    record(wet.draft(), ada, key=key)

    with pytest.raises(AlreadySent) as refused:
        record(wet.draft(sheets=3), ada, key=key)

    assert (refused.value.status, Run.objects.count()) == (409, 1)


@pytest.mark.parametrize("state", ["spent", "stopped", "discarded"])
def test_record_is_never_refused_for_the_state_of_a_bottle(
    wet: Bench, ada: Member, state: str
) -> None:
    if state == "spent":
        for _ in range(21):
            record(wet.draft(), ada)
    elif state == "stopped":
        wet.fixer.stops.create(seen="cloudy", stopped_at=NOW, stopped_by=ada)
    else:
        Batch.objects.filter(pk=wet.fixer.pk).update(discarded_at=NOW - timedelta(hours=2))

    assert record(wet.draft(), ada).pk


def test_record_posts_what_a_bottle_did_not_hold_as_unexplained(ada: Member) -> None:
    wet = bench(developer_ml=10)

    record(wet.draft(), ada)

    unexplained = Account.objects.get(kind=AccountKind.UNEXPLAINED)
    assert (held_ul(wet.developer), unexplained.balance) == (0, 10_000 - CARRY_UL)


def test_record_with_a_bottle_that_is_empty_wears_it_all_the_same(ada: Member) -> None:
    wet = bench(developer_ml=10)
    record(wet.draft(), ada)

    record(wet.draft(), ada)

    assert Batch.objects.get(pk=wet.developer.pk).used_mm2 == 8 * wet.size.area_mm2


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"sheets": 0}, "sheets"),
        ({"sheets": 5}, "sheets"),
        ({"happened_at": NOW - timedelta(days=400)}, "happened_at"),
        ({"baths": ()}, None),
    ],
)
def test_record_refuses_what_cannot_have_happened(
    wet: Bench, ada: Member, change: dict[str, object], field: str | None
) -> None:
    with pytest.raises(NotPossible) as refused:
        record(wet.draft(**change), ada)

    assert (refused.value.field, Run.objects.count(), Movement.objects.count()) == (field, 0, 2)


def test_record_refuses_the_future(wet: Bench, ada: Member) -> None:
    with pytest.raises(InTheFuture):
        record(wet.draft(happened_at=LATER), ada)


def test_record_refuses_another_members_session(wet: Bench, ada: Member, cyd: Member) -> None:
    visit = wet.booked(ada)

    with pytest.raises(NotAllowed):
        record(wet.draft(visit=visit), cyd)


def test_record_refuses_an_auditor(wet: Bench, aud: Member) -> None:
    with pytest.raises(NotAllowed):
        record(wet.draft(), aud)


def test_record_by_a_steward_is_the_members_run(wet: Bench, ada: Member, ben: Member) -> None:
    run = record(wet.draft(visit=wet.booked(ada)), ben)

    assert (run.member, Use.objects.first().by) == (ada, ben)


def test_record_refuses_a_cancelled_session(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada)
    Session.objects.update(cancelled_at=NOW)

    with pytest.raises(SessionCancelled):
        record(wet.draft(visit=visit), ada)


def open_shares(visit: Session) -> set[tuple[Decimal, int, int]]:
    rows = Allotment.objects.open().filter(session=visit)
    return set(rows.values_list("area_mm2", "loads", "consumed_ul"))


def test_first_of_two_loads_takes_its_share_of_the_promise(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=7)

    record(wet.draft(visit=visit), ada)

    visit.refresh_from_db()
    assert open_shares(visit) == {(3 * wet.size.area_mm2, 1, 20_000)}
    assert (visit.ended_at, visit.holds.live().count()) == (None, 3)


def test_last_load_ends_the_session_and_gives_the_rest_back(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=7)
    record(wet.draft(visit=visit), ada)

    record(wet.draft(visit=visit, sheets=3), ada)

    visit.refresh_from_db()
    assert (visit.ended_at, open_shares(visit)) == (NOW, set())
    assert set(visit.allotments.values_list("state", flat=True)) == {"used"}
    assert [hold.phase for hold in visit.holds.live()] == ["dry"]


def test_leaving_early_gives_back_what_was_not_run(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada)

    record(wet.draft(visit=visit, is_last=True), ada)

    visit.refresh_from_db()
    assert (visit.ended_at, open_shares(visit)) == (NOW, set())


def test_more_to_come_keeps_the_session_open(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=4)

    record(wet.draft(visit=visit, sheets=3, is_last=False), ada)

    visit.refresh_from_db()
    assert (visit.ended_at, open_shares(visit)) == (None, {(wet.size.area_mm2, 1, 20_000)})
