"""Booking and moving ask for inductions, for what was looked at, and for company."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry.models import Process
from darkroom.inducted import FOREVER, Inducted
from darkroom.models import Equipment, EquipmentKind, Gates, HouseRules
from darkroom.operations import AlreadySent
from sessions import admission, pieces
from sessions.admission import ChecksWanting, NotInducted
from sessions.booking import book_session
from sessions.company import NoCompany, WouldBeAlone
from sessions.models import Session
from sessions.moving import move_session
from tests.factories.darkroom import NOW, EquipmentFactory
from tests.factories.inductions import (
    CheckMarkFactory,
    HouseCheckFactory,
    InductionFactory,
    TopicFactory,
)
from tests.factories.sessions import TOMORROW_NOON, Bench, bench, drum

pytestmark = pytest.mark.django_db
TICK, HOUR, DAY = timedelta(microseconds=1), timedelta(hours=1), timedelta(days=1)
ENDS = TOMORROW_NOON + timedelta(minutes=43)


def asking(row, name="Small tanks"):
    """The row, asking for an induction from now on."""
    row.topic = TopicFactory(name=name)
    row.save()
    return row.topic


def colour(house: Bench) -> Bench:
    """Colour work in the tank, and nobody may be alone with it."""
    Process.objects.update(needs_held_temperature=True)
    Equipment.objects.update(holds_temperature=True)
    HouseRules.current()
    HouseRules.objects.update(no_colour_alone=True)
    house.process.refresh_from_db()
    house.film.process = house.process
    return house


def move(visit, by, starts_at):
    return move_session(visit=visit, starts_at=starts_at, key=uuid4(), by=by, at=NOW)


def refusal(act, kind):
    with pytest.raises(kind) as info:
        act()
    return info.value


# Inductions


@pytest.mark.parametrize(("what", "field"), [("tank", "option"), ("process", "film")])
def test_without_the_induction_it_is_refused_with_whom_to_ask(ada, ben, what, field):
    house = bench()
    plan, topic = house.plan(ada), asking(getattr(house, what))
    topic.givers.add(ben)

    error = refusal(lambda: house.book(ada, plan=plan), NotInducted)

    assert (error.code, error.status, error.field) == ("not_inducted", 422, field)
    assert error.facts == {"why": "missing", "topic": topic.code}
    assert error.message == (
        f"{getattr(house, what)} needs the induction “Small tanks”, which is missing. Ask Ben."
    )
    assert not Session.objects.exists()


@pytest.mark.parametrize("what", ["tank", "process"])
def test_with_the_induction_it_is_booked(ada, what):
    house = bench()
    plan = house.plan(ada)
    InductionFactory(member=ada, topic=asking(getattr(house, what)))

    assert house.book(ada, plan=plan).ends_at == ENDS


@pytest.mark.parametrize("what", ["tank", "process"])
def test_it_must_last_until_the_session_ends_and_no_longer(ada, what):
    house = bench()
    plan, topic = house.plan(ada), asking(getattr(house, what))
    row = InductionFactory(member=ada, topic=topic, expires_at=ENDS - TICK)

    error = refusal(lambda: house.book(ada, plan=plan), NotInducted)
    assert (error.field, error.facts["why"]) == ("start", "expires")
    assert "expires on 3 March 2026 at 12:42, before the session ends." in error.message

    row.expires_at = ENDS
    row.save()
    assert house.book(ada, plan=plan).ends_at == ENDS


def test_expired_and_withdrawn_are_told_apart(ada, ben):
    house = bench()
    plan, topic = house.plan(ada), asking(house.tank)
    row = InductionFactory(member=ada, topic=topic, expires_at=NOW)
    assert refusal(lambda: house.book(ada, plan=plan), NotInducted).facts["why"] == "expired"

    row.withdrawn_at, row.withdrawn_by, row.reason = NOW, ben, "Left it open."
    row.save()
    error = refusal(lambda: house.book(ada, plan=plan), NotInducted)
    assert error.facts["why"] == "withdrawn"
    assert "Left it open." in error.message


def test_who_gives_it_books_without(ben):
    house = bench()
    plan = house.plan(ben)
    asking(house.tank)

    assert house.book(ben, plan=plan).vessel == house.tank


def test_of_several_pieces_one_is_kept_that_the_member_was_shown(ada):
    house = bench()
    other = EquipmentFactory(code="B-2", kind=EquipmentKind.BOOTH)
    plan = house.plan(ada)
    asking(house.booth)

    visit = house.book(ada, plan=plan)
    assert other in {hold.equipment for hold in visit.holds.all()}
    assert house.booth not in {hold.equipment for hold in visit.holds.all()}


def test_where_every_piece_of_a_kind_asks_for_it_that_is_said(ada):
    house = bench()
    plan = house.plan(ada)
    asking(house.booth, "Loading booths")

    error = refusal(lambda: house.book(ada, plan=plan), NotInducted)
    assert error.message.startswith("B-1 Booth needs the induction “Loading booths”")


def test_moving_asks_for_it_until_the_new_end(ada):
    house = bench()
    visit = house.book(ada)
    topic = asking(house.tank)
    InductionFactory(member=ada, topic=topic, expires_at=ENDS + HOUR)

    assert move(visit, ada, TOMORROW_NOON + HOUR).starts_at == TOMORROW_NOON + HOUR
    error = refusal(lambda: move(visit, ada, TOMORROW_NOON + 2 * HOUR), NotInducted)
    assert error.field == "start"
    visit.refresh_from_db()
    assert visit.starts_at == TOMORROW_NOON + HOUR


def test_a_steward_moves_it_by_the_members_inductions(ada, ben):
    house = bench()
    visit = house.book(ada)
    asking(house.tank)

    refusal(lambda: move(visit, ben, TOMORROW_NOON + HOUR), NotInducted)


def test_by_when_a_session_must_have_ended(ada):
    house = bench()
    plan = house.plan(ada)
    topics = asking(house.tank), asking(house.process)
    for topic, days in zip(topics, (3, 2), strict=True):
        InductionFactory(member=ada, topic=topic, expires_at=NOW + days * DAY)

    found = {piece.pk: piece for piece in Equipment.objects.all()}
    wanted = pieces.candidates(plan.timeline.needs, found.values())
    inducted = Inducted(ada, zone=HouseRules.current().tz, at=NOW)
    process = Process.objects.get()
    assert admission.lasts_until(process, wanted, found, inducted) == NOW + 2 * DAY

    process.topic = None
    assert admission.lasts_until(process, wanted, found, inducted) == NOW + 3 * DAY
    Equipment.objects.update(topic=None)
    found = {piece.pk: piece for piece in Equipment.objects.all()}
    assert admission.lasts_until(process, wanted, found, inducted) == FOREVER


# What the house looks at


@pytest.mark.parametrize("how", ["overdue", "bad"])
def test_what_was_not_looked_at_keeps_from_booking_where_the_house_says_so(ada, how):
    house = bench()
    plan = house.plan(ada)
    check = HouseCheckFactory(name="Eyewash runs clear", gates=Gates.ALL)
    if how == "bad":
        CheckMarkFactory(house_check=check, is_good=False, note="Only a drip")

    error = refusal(lambda: house.book(ada, plan=plan), ChecksWanting)
    assert (error.code, error.status, error.field) == ("checks_wanting", 422, None)
    said = {"overdue": "nobody has looked yet.", "bad": "“Only a drip”."}[how]
    assert f"Eyewash runs clear: {said}" in error.message.replace("not so on 1 March 2026, ", "")
    assert "Any member who is in the house may look" in error.message

    CheckMarkFactory(house_check=check, at=NOW)
    assert house.book(ada, plan=plan)


@pytest.mark.parametrize("gates", [Gates.NONE, Gates.COLOUR_AND_TONER])
def test_what_does_not_gate_this_work_keeps_nobody_from_it(ada, gates):
    house = bench()
    HouseCheckFactory(gates=gates)

    assert house.book(ada)


def test_what_gates_colour_gates_colour(ada, cyd):
    house = colour(bench())
    plan = house.plan(ada)
    HouseCheckFactory(gates=Gates.COLOUR_AND_TONER)

    refusal(
        lambda: book_session(
            plan=plan, starts_at=TOMORROW_NOON, companion=cyd, key=uuid4(), by=ada, at=NOW
        ),
        ChecksWanting,
    )


def test_what_is_booked_may_still_be_moved(ada):
    visit = bench().book(ada)
    HouseCheckFactory(gates=Gates.ALL)

    assert move(visit, ada, TOMORROW_NOON + HOUR)


# Company


def book(house, by, companion=None, **changes):
    given = {"plan": house.plan(by), "starts_at": TOMORROW_NOON, "key": uuid4()} | changes
    return book_session(companion=companion, by=by, at=NOW, **given)


def test_alone_with_colour_is_refused_with_what_to_do(ada):
    house = colour(bench())

    error = refusal(lambda: book(house, ada), WouldBeAlone)
    assert (error.code, error.status, error.field) == ("alone", 422, "companion")
    assert error.message == (
        "Nobody else is booked from 12:00 to 12:43, and this house does no colour or toner work "
        "alone. Name who comes along, or start while others are booked."
    )


def test_with_somebody_named_it_is_booked(ada, cyd):
    assert book(colour(bench()), ada, cyd).companion == cyd


def test_while_others_are_booked_it_is_booked(ada, cyd):
    house = colour(bench())
    drum(max_ml=400)
    Equipment.objects.update(holds_temperature=True)
    for kind in (EquipmentKind.BOOTH, EquipmentKind.SINK, EquipmentKind.PEGS):
        EquipmentFactory(kind=kind)
    book(house, cyd, ada, plan=house.plan(cyd, vessel="J-1", own_minutes=20))

    assert book(house, ada).companion is None


def test_company_is_another_who_works_here(ada, aud):
    house = colour(bench())

    for companion in (ada, aud):
        refusal(lambda who=companion: book(house, ada, who), NoCompany)


def test_company_may_be_named_where_nobody_asks_for_it(ada, cyd, aud):
    house = bench()

    refusal(lambda: book(house, ada, aud), NoCompany)
    assert book(house, ada, cyd).companion == cyd


def test_other_company_is_another_form(ada, cyd, ben):
    house, key = colour(bench()), uuid4()
    plan = house.plan(ada)
    first = book(house, ada, cyd, key=key, plan=plan)

    assert book(house, ada, cyd, key=key, plan=plan) == first
    refusal(lambda: book(house, ada, ben, key=key, plan=plan), AlreadySent)


def test_moving_keeps_the_company_and_asks_for_it(ada, cyd):
    house = colour(bench())
    visit = book(house, ada, cyd)
    assert move(visit, ada, TOMORROW_NOON + HOUR).companion == cyd

    cyd.is_active = False
    cyd.save()
    refusal(lambda: move(visit, ada, TOMORROW_NOON + 2 * HOUR), WouldBeAlone)
