"""Faults from the phone: who is told, where they show, and how they are done with."""

from uuid import uuid4

import pytest
from django.db import IntegrityError
from django.urls import reverse

from darkroom.errors import NotAllowed
from darkroom.models import HouseRules
from darkroom.operations import AlreadySent
from darkroom.words import WordsWanted
from sessions import hands
from sessions.faults import ResolvedAlready, doubtful, report_fault, resolve_fault
from sessions.models import Fault, Notice
from tests.factories.darkroom import NOW, EquipmentFactory
from tests.factories.sessions import bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


def reported(piece, by, **given):
    given = {"seen": "Leaks at the lid", "better_not_used": True, "key": uuid4()} | given
    return report_fault(equipment=piece, by=by, at=NOW, **given)


def resolved(fault, by, resolution="New seal in the lid"):
    return resolve_fault(fault=fault, resolution=resolution, key=uuid4(), by=by, at=NOW)


def url(name, *args):
    return reverse(f"sessions:{name}", args=args)


def shown(client, address):
    return client.get(address).content.decode()


def test_any_member_reports_and_the_stewards_are_told_once(ada, ben, adm):
    tank, key = bench().tank, uuid4()

    assert reported(tank, ada, key=key) == reported(tank, ada, key=key)

    told = Notice.objects.filter(member__in=(ada, ben, adm)).order_by("member__name")
    says = "Ada saw on T-1 Small tank: Leaks at the lid. It had better not be used."
    assert [(notice.member, notice.body) for notice in told] == [(adm, says), (ben, says)]
    with pytest.raises(AlreadySent):
        reported(tank, ada, key=key, seen="Something else")


def test_it_shows_on_the_card_on_the_piece_and_among_what_is_to_be_done(ada, ada_client, ben):
    tank = bench().tank
    reported(tank, ada)

    for page in (url("equipment"), url("equipment-item", "T-1")):
        assert "It had better not be used." in shown(ada_client, page)
        assert "Leaks at the lid" in shown(ada_client, page)
    (line,) = [h for h in hands.needed([], at=NOW, rules=HouseRules.current()) if "T-1" in h.says]
    assert line.says == (
        "T-1 Small tank, since 2 March: Leaks at the lid. It had better not be used."
    )


def test_whoever_has_the_piece_booked_reads_so(ada, cyd, ada_client):
    house = bench()
    visit = house.book(ada)
    reported(house.sink, cyd, better_not_used=False)
    reported(EquipmentFactory(code="X-1"), cyd)
    fault = reported(house.tank, cyd)

    assert doubtful(visit) == [fault]
    assert "Something it keeps had better not be used." in shown(
        ada_client, visit.get_absolute_url()
    )


def test_a_steward_is_done_with_it_and_it_shows_no_more(ada, ben, ada_client):
    house = bench()
    visit = house.book(ada)
    fault = resolved(reported(house.tank, ada), ben)

    assert (fault.resolved_by, fault.resolution) == (ben, "New seal in the lid")
    assert doubtful(visit) == []
    assert "Leaks at the lid" not in shown(ada_client, url("equipment"))
    with pytest.raises(ResolvedAlready):
        resolved(fault, ben, "Another word")


def test_who_may_report_and_resolve(ada, aud, ben):
    tank = bench().tank
    fault = reported(tank, ada)

    with pytest.raises(NotAllowed):
        reported(tank, aud)
    with pytest.raises(NotAllowed):
        resolved(fault, ada)


def test_words_are_wanted(ada, ben):
    tank = bench().tank
    fault = reported(tank, ada)

    with pytest.raises(WordsWanted):
        reported(tank, ada, seen=" ")
    with pytest.raises(WordsWanted):
        resolved(fault, ben, " ")


def test_pages_from_the_report_to_the_last_word(ada_client, ben_client):
    bench()
    page = url("equipment-fault", "T-1")
    assert page in shown(ada_client, url("equipment-item", "T-1"))
    assert ada_client.get(page).status_code == 200

    sent = ada_client.post(page, {"key": uuid4(), "seen": "Leaks", "better_not_used": "on"})
    fault = Fault.objects.get()
    last = url("fault-resolve", fault.pk)
    asked = shown(ben_client, last)
    done = ben_client.post(last, {"key": uuid4(), "resolution": "New seal"})

    assert (sent.status_code, sent["Location"]) == (303, url("equipment-item", "T-1"))
    assert "Leaks" in asked
    assert (done.status_code, done["Location"]) == (303, url("equipment-item", "T-1"))
    assert "New seal" in shown(ben_client, last)


@pytest.mark.parametrize("seen", ["", "x" * 301, "x" * 10_000_000], ids=len)
def test_bad_words_are_refused_beside_the_field_and_kept(ada_client, seen):
    bench()

    answer = ada_client.post(
        url("equipment-fault", "T-1"), {"key": uuid4(), "seen": seen, "better_not_used": "on"}
    )

    form = answer.context["form"]
    assert (answer.status_code, list(form.errors)) == (422, ["seen"])
    assert (form["seen"].value(), form["better_not_used"].value()) == (seen, True)


def test_a_steward_without_words_is_refused_beside_the_field(ada, ben_client):
    fault = reported(bench().tank, ada)

    answer = ben_client.post(url("fault-resolve", fault.pk), {"key": uuid4(), "resolution": ""})

    assert (answer.status_code, list(answer.context["form"].errors)) == (422, ["resolution"])


def test_pages_are_for_those_who_may(ada, ada_client, aud_client, ben_client, client):
    fault = reported(bench().tank, ada)
    report, resolve = url("equipment-fault", "T-1"), url("fault-resolve", fault.pk)

    assert [aud_client.get(page).status_code for page in (report, resolve)] == [403, 403]
    assert [ada_client.get(resolve).status_code, ada_client.post(resolve).status_code] == [403, 403]
    assert client.get(report).status_code == 302
    assert ada_client.get(url("equipment-fault", "T-77")).status_code == 404
    assert ben_client.get(url("fault-resolve", 10**9)).status_code == 404
    assert [ben_client.put(page).status_code for page in (report, resolve)] == [405, 405]


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"seen": ""}, "fault_says_what_was_seen"),
        ({"resolved_at": NOW}, "fault_resolved_with_reason"),
        ({"resolution": "New seal"}, "fault_resolved_with_reason"),
    ],
)
def test_fault_past_every_form(ada, changes, name):
    given = {"seen": "Leaks", "reported_at": NOW, "reported_by": ada}

    with pytest.raises(IntegrityError) as error:
        Fault.objects.bulk_create([Fault(equipment=EquipmentFactory(), **given | changes)])
    assert error.value.__cause__.diag.constraint_name == name


@pytest.mark.parametrize("count", [3, 30])
def test_the_list_asks_the_same_however_many_faults(
    ada, ada_client, count, django_assert_num_queries
):
    for n in range(count):
        reported(EquipmentFactory(code=f"V-{n}"), ada)
    ada_client.get(url("equipment"))

    with django_assert_num_queries(11):
        ada_client.get(url("equipment"))
