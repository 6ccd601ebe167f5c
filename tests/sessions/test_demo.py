from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction

from chemistry import verify
from chemistry.conditions import Condition
from chemistry.figures import missing_figures
from chemistry.models import (
    Account,
    AccountKind,
    Batch,
    Consignment,
    Figure,
    Film,
    Movement,
    Standing,
    WasteContainer,
)
from darkroom import checking
from darkroom.inducted import WARN_AHEAD
from darkroom.models import (
    Equipment,
    EquipmentKind,
    Format,
    HouseRules,
    Induction,
    Member,
    Role,
    VesselFit,
)
from sessions import admission
from sessions.asking import Ask
from sessions.demo.loading import Made, NotEmpty, load_demo
from sessions.models import Notice, Run, Session
from sessions.models.notices import NoticeKind
from sessions.offers import offer

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("demo")]
NOW = datetime(2026, 5, 20, 13, 10, tzinfo=UTC)
DAYS = 34


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: pytest.FixtureRequest) -> Iterator[Made]:
    """The demo of some weeks, made once for all tests here and then undone."""
    with django_db_blocker.unblock():
        whole = transaction.atomic()
        # As Django's own test cases do, so that durable operations run inside.
        whole._from_testcase = True
        with whole:
            yield load_demo(now=NOW, days=DAYS)
            transaction.set_rollback(True)


@pytest.mark.usefixtures("made")
def test_demo_has_its_people_and_nobody_has_a_password() -> None:
    people = list(Member.objects.all())

    assert Counter(person.role for person in people) == {
        Role.ADMINISTRATOR: 1,
        Role.AUDITOR: 1,
        Role.STEWARD: 3,
        Role.MEMBER: 24,
    }
    assert all(person.email.endswith(".example") for person in people)
    assert not any(person.has_usable_password() for person in people)


@pytest.mark.usefixtures("made")
def test_demo_has_the_vessels_of_common_practice() -> None:
    fits = {
        (fit.equipment.code, fit.format.name): (fit.positions, fit.advised, fit.min_ml)
        for fit in VesselFit.objects.select_related("equipment", "format")
    }

    assert Equipment.objects.vessels().count() == 10
    tank, drum, reel = fits["TANK-1", "4×5"], fits["DRUM-1", "4×5"], fits["REEL-1", "4×5"]
    assert (tank[1], drum[1:]) == (4, (4, 200))
    assert tank[2] < 500
    assert fits["DRUM-1", "8×10"] == (1, 1, 200)
    assert reel[:2] == (6, 4)
    assert reel[2] < 500
    heated = Equipment.objects.get(code="HEAT-1")
    assert (heated.kind, heated.holds_temperature) == (EquipmentKind.DRUM, True)


@pytest.mark.usefixtures("made")
def test_demo_shelf_shows_every_state() -> None:
    shelf = Batch.objects.open().with_condition(at=NOW, rules=HouseRules.current())

    states = set(shelf.values_list("condition", flat=True))
    assert states >= set(Condition) - {Condition.DISCARDED, Condition.EMPTY}
    assert shelf.count() >= 12
    assert shelf.filter(owner__isnull=False).count() == 1


@pytest.mark.usefixtures("made")
def test_demo_bottles_rest_on_figures_that_the_steward_entered() -> None:
    ways = {batch.way for batch in Batch.objects.select_related("way").all()}

    assert all(missing_figures(way) == [] for way in ways)
    own = Figure.objects.filter(way__in=ways, standing=Standing.HOUSE)
    assert own.filter(source__startswith="Entered by ").count() == own.count() > 5


@pytest.mark.usefixtures("made")
def test_demo_waste_has_one_consignment_and_a_container_nearly_full() -> None:
    cans = WasteContainer.objects.filter(consignment=None).select_related("account")

    assert Consignment.objects.count() == 1
    assert any(can.account.balance >= can.limit_ul * 8 // 10 for can in cans)
    carried = Account.objects.get(kind=AccountKind.CARRIER)
    assert carried.balance > 0


@pytest.mark.usefixtures("made")
def test_demo_has_sessions_ahead_and_some_today() -> None:
    ahead = Session.objects.live().filter(starts_at__gt=NOW)

    assert ahead.count() >= 6
    assert Session.objects.live().filter(starts_at__date=NOW.date()).exists()
    assert ahead.filter(starts_at__gt=NOW + timedelta(days=1)).exists()


@pytest.mark.usefixtures("made")
def test_demo_has_a_bottle_for_every_bath_of_who_asks_today() -> None:
    film = Film.objects.get(name="HP5 Plus")
    line = {"film": film, "index": film.speed, "format": Format.objects.get(name="4×5")}
    member = Member.objects.filter(role=Role.MEMBER).first()

    found = offer(Ask(member=member, sheets=6, **line), at=NOW)
    assert found.options
    assert [bath.bath.name for bath in found.options[0].baths if bath.best is None] == []


@pytest.mark.usefixtures("made")
def test_demo_session_is_let_down_by_a_stopped_bottle() -> None:
    told = Notice.objects.filter(kind=NoticeKind.SESSION_AFFECTED, subject__contains="stopped")

    stopped = Batch.objects.filter(stops__released_at=None, stops__isnull=False)
    let_down = Session.objects.live().filter(allotments__batch__in=stopped, starts_at__gt=NOW)
    assert let_down.exists()
    assert set(let_down.values_list("member", flat=True)) <= set(
        told.values_list("member", flat=True)
    )


def test_demo_history_is_made_by_operations_in_order(made: Made) -> None:
    runs = list(Run.objects.order_by("pk").values_list("entered_at", flat=True))

    assert made.done["recorded"] == len(runs) > 40
    assert runs == sorted(runs)
    assert runs[0] < NOW - timedelta(days=DAYS - 10)
    assert max(runs) <= NOW
    entered = list(Movement.objects.order_by("seq").values_list("entered_at", flat=True))
    assert entered == sorted(entered)
    assert entered[-1] <= NOW


@pytest.mark.usefixtures("made")
def test_demo_ledger_and_caches_hold() -> None:
    assert [*verify.chain(), *verify.balances(), *verify.wear()] == []


@pytest.mark.usefixtures("made")
def test_demo_is_marked_and_goes_only_into_an_empty_house() -> None:
    assert HouseRules.current().is_demo
    with pytest.raises(NotEmpty):
        load_demo(now=NOW)


@pytest.mark.usefixtures("made")
def test_demo_has_inductions_in_every_way_they_can_stand() -> None:
    rotary = Induction.objects.filter(topic__code="rotary-drums")
    heated = Induction.objects.filter(topic__code="heated-drum")

    assert rotary.standing(at=NOW).count() == 24
    ending = rotary.expiring(at=NOW, within=WARN_AHEAD).get()
    assert Notice.objects.filter(kind=NoticeKind.INDUCTION, member=ending.member).count() == 1
    assert (
        heated.current().exclude(pk__in=heated.standing(at=NOW)).get().member.name[:6] == "Gwilym"
    )
    assert heated.get(withdrawn_at__isnull=False).reason
    assert admission.lacking(rules=HouseRules.current(), at=NOW) == []


@pytest.mark.usefixtures("made")
def test_demo_has_checks_that_are_fine_overdue_and_bad() -> None:
    found = {state.check.code: state for state in checking.states(at=NOW)}

    assert found["eyewash"].is_fine
    assert found["extraction"].is_overdue
    assert found["first-aid"].is_bad
    assert checking.in_the_way(found.values(), is_colour_or_toner=False) == []
