from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry.models import Batch
from chemistry.stopping import release_batch, stop_batch
from darkroom.models import Member
from sessions import alerts
from sessions.models import Notice, Run, Session
from sessions.models.notices import NoticeKind
from sessions.recording import record_run
from sessions.voiding import void_run
from tests.factories.chemistry import mixed_batch, reused_way
from tests.sessions.bench import NOW, Bench, bench

pytestmark = pytest.mark.django_db


@pytest.fixture
def small(db: None) -> Bench:
    """A developer that two loads spend: two units in one litre."""
    return bench(developer=reused_way("developer", au_per_l=2))


def record(wet: Bench, by: Member, **changes: object) -> Run:
    return record_run(draft=wet.draft(**changes), key=uuid4(), by=by, at=NOW)


def stop(batch: Batch, by: Member) -> None:
    stop_batch(batch=batch, seen="cloudy", key=uuid4(), by=by, at=NOW)


def told(member: Member) -> list[tuple[str, str]]:
    notices = Notice.objects.filter(member=member).order_by("pk")
    return [(notice.kind, notice.fact_key.split(":")[2]) for notice in notices]


def test_a_bottle_that_is_spent_is_told_once_to_each_steward(
    small: Bench, ada: Member, ben: Member, adm: Member
) -> None:
    for _ in range(4):
        record(small, ada)

    assert told(ben) == told(adm) == [(NoticeKind.BATCH_BAD, "spent")]
    assert told(ada) == []


def test_who_holds_an_allotment_is_told_where_to_look(
    small: Bench, ada: Member, cyd: Member, ben: Member
) -> None:
    visit = small.booked(cyd, starts_at=NOW + timedelta(days=1))
    for _ in range(2):
        record(small, ada)

    notice = Notice.objects.get(member=cyd)
    assert (notice.kind, notice.url) == (NoticeKind.SESSION_AFFECTED, visit.get_absolute_url())
    assert notice.fact_key == Notice.objects.get(member=ben).fact_key


def test_what_one_has_recorded_oneself_is_no_reason_to_be_told(small: Bench, ada: Member) -> None:
    visit = small.booked(ada)

    for _ in range(2):
        record(small, ada, visit=visit)

    assert told(ada) == []


def test_a_bottle_set_right_and_bad_again_is_told_again(
    small: Bench, ada: Member, ben: Member
) -> None:
    runs = [record(small, ada) for _ in range(2)]
    void_run(run=runs[1], reason="wrong", key=uuid4(), by=ada, at=NOW)

    record(small, ada)

    assert told(ben) == [(NoticeKind.BATCH_BAD, "spent")] * 2


def test_each_stop_is_told_once(wet: Bench, ada: Member, ben: Member) -> None:
    stop(wet.fixer, ada)
    record(wet, ada)
    release_batch(batch=wet.fixer, reason="tested", key=uuid4(), by=ben, at=NOW)

    stop(wet.fixer, ada)

    assert told(ben) == [(NoticeKind.BATCH_BAD, "stopped")] * 2


def test_low_is_not_bad(wet: Bench, ada: Member, ben: Member) -> None:
    for _ in range(15):
        record(wet, ada)

    assert Batch.objects.get(pk=wet.developer.pk).wear > 0.9
    assert told(ben) == []


def test_the_clock_alone_turns_a_bottle_bad(wet: Bench, ben: Member) -> None:
    Batch.objects.filter(pk=wet.fixer.pk).update(good_until=NOW)

    alerts.out_of_date(at=NOW - timedelta(seconds=1))
    assert told(ben) == []
    for _ in range(2):
        alerts.out_of_date(at=NOW)
    assert told(ben) == [(NoticeKind.BATCH_BAD, "out_of_date")]


def test_of_a_bottle_poured_out_only_those_who_count_on_it_are_told(
    wet: Bench, ada: Member, ben: Member
) -> None:
    wet.booked(ada)
    Batch.objects.filter(pk=wet.fixer.pk).update(discarded_at=NOW)

    alerts.batches_changed([wet.fixer.pk], at=NOW)

    assert (told(ada), told(ben)) == ([(NoticeKind.SESSION_AFFECTED, "discarded")], [])


def test_a_discarded_bottle_is_not_out_of_date_as_well(wet: Bench, ben: Member) -> None:
    Batch.objects.update(good_until=NOW, discarded_at=NOW)

    alerts.out_of_date(at=NOW)

    assert told(ben) == []


def test_a_session_without_a_record_is_told_after_half_a_day(
    wet: Bench, ada: Member, ben: Member, cyd: Member
) -> None:
    visit = wet.booked(ada)
    half_a_day_on = visit.ends_at + timedelta(hours=12)

    alerts.overdue(at=half_a_day_on - timedelta(seconds=1))
    assert Notice.objects.count() == 0
    for _ in range(2):
        alerts.overdue(at=half_a_day_on)

    assert told(ada) == told(ben) == [(NoticeKind.OVERDUE, "overdue")]
    assert told(cyd) == []


@pytest.mark.parametrize("field", ["ended_at", "cancelled_at"])
def test_a_session_that_is_done_is_not_overdue(wet: Bench, ada: Member, field: str) -> None:
    visit = wet.booked(ada)
    Session.objects.update(**{field: NOW})

    alerts.overdue(at=visit.ends_at + timedelta(days=1))

    assert Notice.objects.count() == 0


def test_nobody_who_has_left_is_told(wet: Bench, ada: Member, ben: Member) -> None:
    Member.objects.filter(pk=ben.pk).update(is_active=False)

    stop(wet.fixer, ada)

    assert told(ben) == []
    assert Notice.objects.exists()


def test_old_and_other_bottles_stay_silent(wet: Bench, ben: Member) -> None:
    mixed_batch()

    alerts.batches_changed([wet.fixer.pk], at=NOW)

    assert Notice.objects.count() == 0
