"""Who sees which induction, and who gives, renews and withdraws it."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from darkroom.models import Doing, Induction
from tests.factories.chemistry import ProcessFactory
from tests.factories.darkroom import NOW, EquipmentFactory, MemberFactory
from tests.factories.inductions import InductionFactory, TopicFactory, fixed_topic
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]
LIST = "/inductions/"
DAY = timedelta(days=1)
ROLES = ("ada", "ben", "aud", "adm")


def url(name, *args):
    return reverse(f"sessions:induction-{name}", args=args)


@pytest.fixture
def topic(db):
    return TopicFactory(code="reels", name="Rotary drums", valid_days=365)


@pytest.fixture
def client_of(request):
    return lambda who: request.getfixturevalue(f"{who}_client")


def text_of(response):
    return response.content.decode()


def test_pages_are_where_they_are_promised(topic):
    assert reverse("sessions:inductions") == LIST
    assert url("topic", "reels") == "/inductions/reels/"


@pytest.mark.parametrize("who", ROLES)
def test_everybody_opens_the_list_and_it_has_the_topics_of_every_house(client_of, who):
    response = client_of(who).get(LIST)

    assert response.status_code == 200
    assert {one.topic.allows for one in response.context["topics"]} == set(Doing.values)


def test_members_see_their_own_and_nobody_elses(ada, cyd, topic, client_of):
    InductionFactory(member=ada, topic=topic)
    InductionFactory(member=MemberFactory(name="Zoe"), topic=topic, expires_at=NOW + DAY)

    for page in (LIST, url("topic", "reels")):
        own, other = (text_of(client_of(who).get(page)) for who in ("ada", "cyd"))
        assert "<b>You have it</b>, for good." in own
        assert "You do not have it." in other
        assert "Zoe" not in own + other


@pytest.mark.parametrize("who", ["ben", "aud", "adm"])
def test_stewards_and_auditors_see_who_has_it_and_for_whom_it_ends(topic, client_of, who):
    for name, days in (("Late", 31), ("Soon", 30), ("Over", 0)):
        member = MemberFactory(name=name)
        InductionFactory(member=member, topic=topic, expires_at=NOW + days * DAY)
    InductionFactory(member=MemberFactory(name="Gone", is_active=False), topic=topic)

    card = next(o for o in client_of(who).get(LIST).context["topics"] if o.topic == topic)
    assert [one.induction.member.name for one in card.held] == ["Over", "Soon", "Late"]
    assert [one.induction.member.name for one in card.standing] == ["Soon", "Late"]
    assert [one.induction.member.name for one in card.expiring] == ["Soon"]
    assert [one.induction.member.name for one in card.expired] == ["Over"]


def test_a_named_giver_sees_who_has_it(ada, topic, client_of):
    topic.givers.add(ada)
    InductionFactory(member=MemberFactory(name="Zoe"), topic=topic)

    page = client_of("ada").get(url("topic", "reels"))
    assert "Zoe" in text_of(page)
    assert page.context["form"] is not None


def test_it_says_what_asks_for_it_and_who_gives_it(cyd, topic, client_of):
    EquipmentFactory(code="REEL-1", name="Reel of six", topic=topic)
    ProcessFactory(name="Colour negative", topic=topic)
    topic.givers.add(MemberFactory(name="Zoe"))

    text = text_of(client_of("cyd").get(url("topic", "reels")))
    assert "Asked for by REEL-1 Reel of six, Colour negative." in text
    assert "Good for 365 days. Given by Zoe." in text
    assert "Ask Zoe." in text


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (31, "<b>You have it</b> until 2 April 2026."),
        (30, "Yours ends on 1 April 2026."),
        (0, "Yours expired on 2 March 2026."),
    ],
)
def test_members_are_told_how_theirs_stands(ada, topic, client_of, days, said):
    InductionFactory(member=ada, topic=topic, expires_at=NOW + days * DAY)

    assert said in text_of(client_of("ada").get(LIST))


@pytest.mark.parametrize("number", [3, 30])
def test_list_takes_the_same_queries_for_any_number(ben_client, number, django_assert_num_queries):
    for _ in range(number):
        topic = TopicFactory()
        topic.givers.add(MemberFactory())
        EquipmentFactory(topic=topic)
        InductionFactory(topic=topic, expires_at=NOW + DAY)
    ben_client.get(LIST)

    # house, browser session, reader; which topics there are, topics, their givers, stewards,
    # inductions, equipment, processes
    with django_assert_num_queries(10):
        ben_client.get(LIST)


@pytest.mark.parametrize("number", [3, 30])
def test_topic_takes_the_same_queries_for_any_number(
    ben_client, topic, number, django_assert_num_queries
):
    for _ in range(number):
        InductionFactory(topic=topic)
        MemberFactory()
    ben_client.get(url("topic", "reels"))

    # house, browser session, reader; topic, givers, people, stewards, inductions, equipment,
    # processes
    with django_assert_num_queries(10):
        ben_client.get(url("topic", "reels"))


@pytest.mark.parametrize("number", [3, 30])
def test_person_takes_the_same_queries_for_any_number(
    ben_client, ada, number, django_assert_num_queries
):
    for _ in range(number):
        InductionFactory(member=ada)
        TopicFactory()
    ben_client.get(url("person", ada.pk))

    # house, browser session, reader; member, which topics there are, rows, topics, givers, stewards
    with django_assert_num_queries(9):
        ben_client.get(url("person", ada.pk))


def give(client, topic, **form):
    given = {"key": str(uuid4()), "given_on": "2026-03-02"} | form
    return client.post(url("topic", topic.code), given)


def test_steward_enters_to_whom_it_was_shown(ada, topic, ben_client):
    response = give(ben_client, topic, member=ada.pk)

    given = Induction.objects.get()
    assert (response.status_code, response["Location"]) == (303, url("topic", "reels"))
    assert (given.member, given.given_at, given.expires_at) == (ada, NOW, NOW + 365 * DAY)
    assert "Ada has “Rotary drums” until 2 March 2027." in text_of(ben_client.get(LIST))


def test_shown_on_an_earlier_day_it_counts_from_then(ada, topic, ben_client):
    give(ben_client, topic, member=ada.pk, given_on="2026-02-20")

    assert Induction.objects.get().given_at == NOW.replace(month=2, day=20, hour=12)


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"member": ""}, "member", "required"),
        ({"member": "999999"}, "member", "Select a valid choice"),
        ({"member": "9" * 400}, "member", "Select a valid choice"),
        ({"given_on": "2026-03-03"}, "given_on", "lies in the future"),
        ({"given_on": "0001-01-01"}, "given_on", "Check the year."),
        ({"given_on": "yesterday"}, "given_on", "Write a day"),
        ({"given_on": "2025-03-02"}, "given_on", "has expired already"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_is_kept(
    ada, topic, ben_client, typed, field, said
):
    response = give(ben_client, topic, **{"member": ada.pk} | typed)

    form = response.context["form"]
    assert (response.status_code, list(form.errors)) == (422, [field])
    assert said in form.errors[field][0]
    assert form[field].value() == typed[field]
    assert not Induction.objects.exists()


@pytest.mark.parametrize("who", ["ben", "adm", "aud"])
def test_who_cannot_be_given_it_is_not_offered(topic, ben_client, who, request):
    member = request.getfixturevalue(who)

    response = give(ben_client, topic, member=member.pk)
    assert (response.status_code, list(response.context["form"].errors)) == (422, ["member"])


@pytest.mark.parametrize("who", ["ada", "aud"])
def test_others_enter_nothing(cyd, topic, client_of, who):
    assert give(client_of(who), topic, member=cyd.pk).status_code == 403


def test_a_steward_does_not_give_what_somebody_else_is_named_for(ada, cyd, topic, ben_client):
    topic.givers.add(cyd)

    assert ben_client.get(url("topic", "reels")).context["form"] is None
    assert give(ben_client, topic, member=ada.pk).status_code == 403


def test_form_sent_twice_gives_it_once(ada, topic, ben_client):
    key = str(uuid4())

    answers = [give(ben_client, topic, member=ada.pk, key=key) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert Induction.objects.count() == 1


def test_one_tap_renews_it(ada, topic, ben_client):
    before = InductionFactory(member=ada, topic=topic, expires_at=NOW)

    response = ben_client.post(url("renew", before.pk), {"key": str(uuid4())})

    assert (response.status_code, response["Location"]) == (303, url("topic", "reels"))
    assert Induction.objects.current().get().expires_at == NOW + 365 * DAY


def test_what_cannot_be_renewed_is_told(ada, topic, ben_client):
    before = InductionFactory(member=ada, topic=topic)
    ada.is_active = False
    ada.save()

    response = ben_client.post(url("renew", before.pk), {"key": str(uuid4())})
    assert "Ada is no longer in the house." in text_of(ben_client.get(response["Location"]))
    assert Induction.objects.get() == before


@pytest.mark.parametrize("who", ["ada", "aud"])
@pytest.mark.parametrize("page", ["renew", "withdraw"])
def test_others_renew_and_withdraw_nothing(ada, topic, client_of, who, page):
    row = InductionFactory(member=ada, topic=topic)

    response = client_of(who).post(url(page, row.pk), {"key": str(uuid4()), "reason": "x"})
    assert response.status_code == 403
    assert Induction.objects.current().get() == row


def test_steward_withdraws_it_with_a_reason(ada, ben, topic, ben_client):
    row = InductionFactory(member=ada, topic=topic)
    page = ben_client.get(url("withdraw", row.pk))
    silent = ben_client.post(url("withdraw", row.pk), {"key": str(uuid4()), "reason": " "})
    done = ben_client.post(url("withdraw", row.pk), {"key": str(uuid4()), "reason": "Spilt."})

    row.refresh_from_db()
    assert (page.status_code, silent.status_code, done.status_code) == (200, 422, 303)
    assert list(silent.context["form"].errors) == ["reason"]
    assert (row.withdrawn_by, row.reason) == (ben, "Spilt.")


def test_withdrawing_names_the_sessions_that_count_on_it(ada, topic, ben_client):
    house = bench()
    visit = house.book(ada, starts_at=TOMORROW_NOON)
    house.tank.topic = topic
    house.tank.save()
    row = InductionFactory(member=ada, topic=topic)

    page = ben_client.get(url("withdraw", row.pk))
    assert list(page.context["counting"]) == [visit]
    assert visit.get_absolute_url() in text_of(page)


def test_withdrawn_meanwhile_is_told(ada, ben, topic, ben_client):
    row = InductionFactory(member=ada, topic=topic)
    first, second = (
        ben_client.post(url("withdraw", row.pk), {"key": str(uuid4()), "reason": "Spilt."})
        for _ in range(2)
    )

    assert (first.status_code, second.status_code) == (303, 409)
    assert "withdrawn or renewed meanwhile" in text_of(second)


@pytest.mark.parametrize(
    ("who", "status"), [("ben", 200), ("aud", 200), ("adm", 200), ("cyd", 404)]
)
def test_a_person_is_seen_by_themselves_and_those_who_may_audit(ada, client_of, who, status):
    assert client_of(who).get(url("person", ada.pk)).status_code == status
    assert client_of("ada").get(url("person", ada.pk)).status_code == 200


def test_a_person_has_all_they_were_ever_shown(ada, ben, topic, ada_client):
    InductionFactory(member=ada, topic=topic, renewed_at=NOW, given_at=NOW - 90 * DAY)
    InductionFactory(member=ada, topic=topic, withdrawn_at=NOW, withdrawn_by=ben, reason="Spilt.")

    page = ada_client.get(url("person", ada.pk))
    text = text_of(page)
    assert "Renewed on 2 March 2026." in text
    assert "Withdrawn on 2 March 2026 by Ben: Spilt." in text
    assert topic in [line.topic for line in page.context["missing"]]
    assert 'method="post" action="/inductions/' not in text


def test_a_steward_gives_what_is_missing_with_one_tap(ada, topic, ben_client):
    page = ben_client.get(url("person", ada.pk))
    (line,) = [one for one in page.context["missing"] if one.topic == topic]

    give(ben_client, topic, member=ada.pk, given_on=f"{line.today}", key=str(line.key))
    assert line.may_give
    assert Induction.objects.get().member == ada


def test_an_auditor_is_not_told_what_they_lack(aud, aud_client):
    page = aud_client.get(url("person", aud.pk))

    assert (page.context["missing"], page.context["gives"]) == ([], [])


@pytest.mark.parametrize(
    ("name", "args"),
    [("topic", ["none"]), ("person", [10**9]), ("renew", [10**9]), ("withdraw", [10**9])],
)
def test_what_is_not_there_is_not_found(ben_client, name, args):
    form = {"key": str(uuid4())}
    send = ben_client.post if name in {"renew", "withdraw"} else ben_client.get

    assert send(url(name, *args), form).status_code == 404


def test_each_page_knows_only_its_methods(ada, topic, ben_client):
    row = InductionFactory(member=ada, topic=topic)
    asked = {
        LIST: "post",
        url("topic", "reels"): "delete",
        url("person", ada.pk): "post",
        url("renew", row.pk): "get",
        url("withdraw", row.pk): "delete",
    }

    assert {getattr(ben_client, how)(page).status_code for page, how in asked.items()} == {405}


def test_fixed_topics_say_what_they_open(ada_client):
    topic = fixed_topic(Doing.POUR_OUT)

    text = text_of(ada_client.get(url("topic", topic.code)))
    assert "Opens what otherwise a steward does: pour out." in text
