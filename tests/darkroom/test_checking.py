"""Looking at the house, and what is known from it."""

from __future__ import annotations

from datetime import UTC, timedelta
from uuid import uuid4

import pytest

from darkroom.checking import NotInUse, in_the_way, mark_check, states, who_looks
from darkroom.errors import NotAllowed
from darkroom.models import CheckMark, Gates
from darkroom.operations import AlreadySent
from darkroom.words import WordsWanted
from tests.factories.darkroom import NOW
from tests.factories.inductions import CheckMarkFactory, HouseCheckFactory

TICK = timedelta(microseconds=1)
pytestmark = pytest.mark.django_db


def mark(check, by, **changes):
    figures = {"is_good": True, "key": uuid4(), "at": NOW} | changes
    return mark_check(check=check, by=by, **figures)


def state(at=NOW):
    (found,) = states(at=at)
    return found


def test_nobody_has_looked_yet():
    HouseCheckFactory(name="Eyewash runs clear")

    assert (state().is_overdue, state().is_bad, state().is_fine) == (True, False, False)
    assert state().says(UTC) == "Eyewash runs clear: nobody has looked yet."


def test_it_is_due_again_at_its_very_moment():
    check = HouseCheckFactory(every_days=7)
    CheckMarkFactory(house_check=check, at=NOW)
    due_at = NOW + timedelta(days=7)

    assert state(due_at - TICK).is_fine
    assert not state(due_at).is_fine


def test_the_latest_mark_counts_and_none_that_is_still_to_come():
    check = HouseCheckFactory(name="Extraction is running")
    for days, is_good in ((3, True), (1, False), (-1, True)):
        at = NOW - timedelta(days=days)
        CheckMarkFactory(house_check=check, at=at, is_good=is_good, note="Rattles")

    assert state().says(UTC) == "Extraction is running: not so on 1 March 2026, “Rattles”."
    assert state(NOW + timedelta(days=1)).is_fine


def test_overdue_says_since_when_and_how_often():
    check = HouseCheckFactory(name="Eyewash runs clear", every_days=7)
    CheckMarkFactory(house_check=check, at=NOW - timedelta(days=8))

    said = "Eyewash runs clear: looked at last on 22 February 2026, and wanted every week."
    assert state().says(UTC) == said


def test_what_is_no_longer_looked_at_is_not_asked_for():
    HouseCheckFactory(is_in_use=False)

    assert states(at=NOW) == []


@pytest.mark.parametrize(
    ("gates", "colour", "blocks"),
    [
        (Gates.NONE, True, False),
        (Gates.NONE, False, False),
        (Gates.COLOUR_AND_TONER, True, True),
        (Gates.COLOUR_AND_TONER, False, False),
        (Gates.ALL, True, True),
        (Gates.ALL, False, True),
    ],
)
@pytest.mark.parametrize("how", ["overdue", "bad", "fine"])
def test_only_what_gates_stands_in_the_way_and_only_when_it_is_not_fine(gates, colour, blocks, how):
    check = HouseCheckFactory(gates=gates)
    if how != "overdue":
        CheckMarkFactory(house_check=check, is_good=how == "fine", note="Dry")

    found = in_the_way(states(at=NOW), is_colour_or_toner=colour)
    assert bool(found) == (blocks and how != "fine")


@pytest.mark.parametrize("number", [3, 30])
def test_any_number_of_checks_is_read_in_two_queries(number, django_assert_num_queries):
    for _ in range(number):
        mark = CheckMarkFactory()
        CheckMarkFactory(house_check=mark.house_check, at=NOW)

    with django_assert_num_queries(2):
        assert len([found.last.by.name for found in states(at=NOW)]) == number


@pytest.mark.parametrize(
    ("by_stewards", "may"), [(False, {"ada", "ben", "adm"}), (True, {"ben", "adm"})]
)
@pytest.mark.parametrize("who", ["ada", "ben", "aud", "adm"])
def test_who_may_look(by_stewards, may, who, request):
    check, by = HouseCheckFactory(by_stewards=by_stewards), request.getfixturevalue(who)

    if who in may:
        assert mark(check, by).by == by
    else:
        with pytest.raises(NotAllowed):
            mark(check, by)


def test_what_is_wrong_is_said(ada):
    check = HouseCheckFactory()

    with pytest.raises(WordsWanted) as refusal:
        mark(check, ada, is_good=False, note="  ")
    assert refusal.value.field == "note"
    assert mark(check, ada, is_good=False, note=" No  water ").note == "No water"


def test_form_sent_twice_marks_once(ada):
    check, key = HouseCheckFactory(), uuid4()

    assert mark(check, ada, key=key) == mark(check, ada, key=key, at=NOW + TICK)
    with pytest.raises(AlreadySent):
        mark(check, ada, key=key, is_good=False, note="No water")
    assert CheckMark.objects.count() == 1


def test_what_is_not_in_use_is_not_marked(ada):
    with pytest.raises(NotInUse) as refusal:
        mark(HouseCheckFactory(is_in_use=False), ada)
    assert (refusal.value.code, refusal.value.status) == ("not_in_use", 409)


def test_it_is_said_who_can_look(ben):
    assert "Any member" in who_looks(HouseCheckFactory())
    said = who_looks(HouseCheckFactory(by_stewards=True))
    assert said == "That is for a steward: Ben."
