from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from chemistry.checks import WordsWanted
from chemistry.models import Account, Batch, Use
from darkroom.errors import NotAllowed
from darkroom.models import Member
from sessions.models import Allotment, Run, Session
from sessions.recording import record_run
from sessions.voiding import AlreadyVoided, may_void, void_run
from tests.sessions.bench import NOW, Bench

pytestmark = pytest.mark.django_db

SOON = NOW + timedelta(minutes=5)


def record(wet: Bench, by: Member, **changes: object) -> Run:
    return record_run(draft=wet.draft(**changes), key=uuid4(), by=by, at=NOW)


def void(run: Run, by: Member, **changes: object) -> Run:
    usual = {"reason": "wrong bottle", "key": uuid4(), "by": by, "at": SOON}
    return void_run(run=run, **usual | changes)


def balances() -> dict[int, int]:
    return dict(Account.objects.values_list("pk", "balance"))


def test_void_puts_everything_back(wet: Bench, ada: Member) -> None:
    run = record(wet, ada)
    record(wet, ada)
    before = balances()
    worn = dict(Batch.objects.values_list("pk", "wear"))
    second = record(wet, ada, sheets=2)

    void(second, ada)

    assert dict(Batch.objects.values_list("pk", "wear")) == worn
    assert balances() == before
    assert Run.objects.standing().filter(pk=run.pk).exists()


def test_void_keeps_the_record_with_its_reason(wet: Bench, ada: Member) -> None:
    run = void(record(wet, ada), ada)

    run.refresh_from_db()
    assert (run.voided_at, run.voided_by, run.void_reason) == (SOON, ada, "wrong bottle")
    assert Use.objects.count() == 4


def test_void_succeeds_when_the_bottle_was_poured_out(wet: Bench, ada: Member) -> None:
    run = record(wet, ada)
    Batch.objects.update(discarded_at=NOW)

    assert void(run, ada).voided_at == SOON


def test_void_sent_twice_is_done_once(wet: Bench, ada: Member) -> None:
    run, key = record(wet, ada), uuid4()
    void(run, ada, key=key)

    again = void(run, ada, key=key)

    assert (again.voided_at, Use.objects.count()) == (SOON, 4)


def test_void_of_a_voided_run_is_refused(wet: Bench, ada: Member) -> None:
    run = void(record(wet, ada), ada)

    with pytest.raises(AlreadyVoided):
        void(run, ada)


@pytest.mark.parametrize("reason", ["", "   "])
def test_void_needs_a_reason(wet: Bench, ada: Member, reason: str) -> None:
    with pytest.raises(WordsWanted) as refused:
        void(record(wet, ada), ada, reason=reason)

    assert refused.value.field == "reason"


def test_own_run_can_be_voided_for_two_days(wet: Bench, ada: Member) -> None:
    run = record(wet, ada)

    assert may_void(run, by=ada, at=NOW + timedelta(hours=48))
    with pytest.raises(NotAllowed):
        void(run, ada, at=NOW + timedelta(hours=49))


def test_others_need_a_steward(wet: Bench, ada: Member, ben: Member, cyd: Member) -> None:
    run = record(wet, ada)

    with pytest.raises(NotAllowed):
        void(run, cyd)
    assert void(run, ben, at=NOW + timedelta(days=30)).voided_by == ben


def shares(visit: Session) -> dict[str, tuple[str, Decimal, int, int]]:
    return {
        row.step.name: (row.state, row.area_mm2, row.loads, row.consumed_ul)
        for row in visit.allotments.select_related("step")
    }


@pytest.mark.parametrize("is_last", [None, True])
def test_void_in_time_promises_the_share_again(
    wet: Bench, ada: Member, is_last: bool | None
) -> None:
    visit = wet.booked(ada)
    first = record(wet, ada, visit=visit, is_last=False)
    record(wet, ada, visit=visit, is_last=is_last)

    void(first, ada)

    visit.refresh_from_db()
    share = (Allotment.State.OPEN, 4 * wet.size.area_mm2, 1, 20_000)
    assert (visit.ended_at, shares(visit)) == (None, {"Develop": share, "Fix": share})


def test_void_of_both_loads_promises_both_again(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada)
    planned = shares(visit)
    runs = [record(wet, ada, visit=visit) for _ in range(2)]

    for run in runs:
        void(run, ada)

    assert shares(visit) == planned


def test_void_after_the_session_promises_nothing(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=4)
    run = record(wet, ada, visit=visit)

    void(run, ada, at=visit.ends_at)

    visit.refresh_from_db()
    assert (visit.ended_at, visit.allotments.filter(state="open").count()) == (NOW, 0)


def test_what_was_released_stays_released(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, sheets=4)
    run = record(wet, ada, visit=visit)

    void(run, ada)

    assert [hold.phase for hold in visit.holds.live()] == ["dry"]
