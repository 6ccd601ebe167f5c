"""The page on which people say what they have looked at."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from darkroom.models import CheckMark, Gates, Member
from tests.factories.darkroom import NOW
from tests.factories.inductions import CheckMarkFactory, HouseCheckFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
LIST = "/checks/"


def send(client, check, **form):
    return client.post(f"/checks/{check.code}/mark/", {"key": str(uuid4())} | form)


@pytest.mark.parametrize("who", ["ada", "ben", "aud", "adm"])
def test_everybody_sees_how_the_house_stands(who, request):
    HouseCheckFactory(name="Eyewash runs clear", gates=Gates.ALL)

    response = request.getfixturevalue(f"{who}_client").get(LIST)
    text = response.content.decode()
    assert response.status_code == 200
    assert "Eyewash runs clear" in text
    assert "<b>nothing can be booked</b>" in text
    assert ("It is so" in text) == (who != "aud")


def test_without_a_check_it_says_what_to_do(ada_client, adm_client):
    assert "The house looks at nothing yet" in ada_client.get(LIST).content.decode()
    assert "/office/darkroom/housecheck/add/" in adm_client.get(LIST).content.decode()


def test_one_tap_marks_it(ada, ada_client):
    check = HouseCheckFactory()

    response = send(ada_client, check, is_good="on")

    mark = CheckMark.objects.get()
    assert (response.status_code, response["Location"]) == (303, LIST)
    assert (mark.house_check, mark.by, mark.at, mark.is_good) == (check, ada, NOW, True)


def test_what_is_wrong_is_kept_in_words(ada_client):
    send(ada_client, HouseCheckFactory(), note="Only a drip.")

    assert not CheckMark.objects.get().is_good
    text = ada_client.get(LIST).content.decode()
    assert "<b>Not as it should be:</b> Only a drip." in text


@pytest.mark.parametrize("note", ["", "  ", "x" * 301])
def test_words_that_do_not_do_are_refused_beside_their_field(ada_client, note):
    check = HouseCheckFactory()
    HouseCheckFactory()

    response = send(ada_client, check, note=note)

    (line,) = [line for line in response.context["lines"] if line.is_refused]
    assert (response.status_code, line.state.check) == (422, check)
    assert list(line.form.errors) == ["note"]
    assert not CheckMark.objects.exists()


@pytest.mark.parametrize(
    ("who", "status"), [("ada", 403), ("aud", 403), ("ben", 303), ("adm", 303)]
)
def test_what_stewards_look_at_only_they_mark(who, status, request):
    check = HouseCheckFactory(by_stewards=True)
    client = request.getfixturevalue(f"{who}_client")

    assert ("It is so" in client.get(LIST).content.decode()) == (status == 303)
    assert send(client, check, is_good="on").status_code == status


def test_an_auditor_marks_nothing(aud_client):
    assert send(aud_client, HouseCheckFactory(), is_good="on").status_code == 403


def test_form_sent_twice_marks_once(ada_client):
    check, key = HouseCheckFactory(), str(uuid4())

    answers = [send(ada_client, check, is_good="on", key=key) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert CheckMark.objects.count() == 1


def test_what_is_not_fine_stands_first(ada_client):
    fine = CheckMarkFactory(house_check__name="A").house_check
    overdue = CheckMarkFactory(house_check__name="B", at=NOW - timedelta(days=7)).house_check

    lines = ada_client.get(LIST).context["lines"]
    assert [line.state.check for line in lines] == [overdue, fine]


@pytest.mark.parametrize("number", [3, 30])
def test_list_takes_the_same_queries_for_any_number(ada_client, number, django_assert_num_queries):
    by = Member.objects.get(name="Ada")
    for _ in range(number):
        CheckMarkFactory(by=by)
    ada_client.get(LIST)

    with django_assert_num_queries(5):  # house, browser session, reader, checks, marks
        ada_client.get(LIST)


def test_pages_know_only_their_methods(ada_client):
    check = HouseCheckFactory()

    statuses = [ada_client.post(LIST), ada_client.get(f"/checks/{check.code}/mark/")]
    assert [answer.status_code for answer in statuses] == [405, 405]
    assert ada_client.post("/checks/none/mark/", {}).status_code == 404
