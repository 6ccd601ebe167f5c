from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client

from chemistry.models import Account, AccountKind, Batch, FigureName, Standing, Stream
from chemistry.stopping import stop_batch
from darkroom.models import HouseRules, Member
from sessions import bottles, hands
from sessions.models import Allotment, Notice, Session
from sessions.recording import record_run
from tests.factories.chemistry import FigureFactory, mixed_batch, opened_container, replenished_way
from tests.factories.inductions import CheckMarkFactory, HouseCheckFactory, TopicFactory
from tests.sessions.bench import NOW, Bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]

TOMORROW = NOW + timedelta(days=1)


def needed() -> list[tuple[str, str]]:
    rules = HouseRules.current()
    found = bottles.shown(Batch.objects.open(), at=NOW, rules=rules)
    return [(hand.button, hand.says) for hand in hands.needed(found, at=NOW, rules=rules)]


def record(wet: Bench, by: Member, times: int = 1, **changes: object) -> None:
    for _ in range(times):
        record_run(draft=wet.draft(**changes), key=uuid4(), by=by, at=NOW)


def test_nothing_is_needed_while_all_is_well(wet: Bench) -> None:
    assert needed() == []


def test_a_bath_that_owes_is_topped_up_by_what_it_owes(wet: Bench, ada: Member) -> None:
    bath = mixed_batch(replenished_way(ml_per_au=70, arrears_au_per_l=3))
    baths = wet.baths()
    record(wet, ada, 3, baths=(type(baths[0])(wet.steps[0], bath, 400_000, Decimal(8)),))

    assert ("Top up", f"Top up {bath.code} by 210 mL.") in needed()


def test_a_spent_bottle_is_poured_out(wet: Bench, ada: Member) -> None:
    record(wet, ada, 20)

    name = wet.fixer.way.version.recipe.name
    assert ("Pour out", f"{name} {wet.fixer.code} is spent: pour out 1\u00a0000 mL.") in needed()


def test_a_stopped_bottle_waits_for_a_decision(wet: Bench, ada: Member) -> None:
    stop_batch(batch=wet.fixer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    ((button, says),) = needed()
    assert (button, says.endswith("Stopped on 2 March 2026: cloudy.")) == ("Decide", True)


def test_a_container_near_its_limit_is_handed_over(wet: Bench) -> None:
    drum = opened_container(Stream.STOP, capacity_ml=1000, code="W-9")
    Account.objects.filter(container=drum).update(balance=860_000)

    assert needed() == [("Hand over", "Waste container W-9 is at 86 %: hand it over.")]


def test_waste_beside_the_containers_is_placed(wet: Bench, ada: Member) -> None:
    record(wet, ada)

    heap = Account.objects.get(kind=AccountKind.UNPLACED, stream=Stream.DEVELOPER)
    assert heap.balance == 20_000
    assert needed() == [
        ("Place", "20 mL of used developer stand beside the containers: place them.")
    ]


def test_a_session_whose_bottle_will_not_do_is_told_before_all_else(
    wet: Bench, ada: Member
) -> None:
    visit = wet.booked(ada, starts_at=TOMORROW)
    stop_batch(batch=wet.developer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    button, says = needed()[0]
    assert button == "See the session"
    assert says == f"Tuesday 3 March, 18:00, Ada: {wet.developer.code} is stopped."
    assert visit.pk


def test_a_session_whose_bottle_is_still_to_be_mixed_says_how_much(wet: Bench, ada: Member) -> None:
    wet.booked(ada, starts_at=TOMORROW)
    Allotment.objects.filter(batch=wet.developer).update(batch=None)

    recipe = wet.developer.way.version.recipe
    assert needed() == [
        (
            "Mix it",
            "Tuesday 3 March, 18:00, Ada: develop is still to be mixed, "
            f"at least 400 mL of {recipe}.",
        )
    ]


def test_sessions_that_wait_for_one_recipe_are_one_line(
    wet: Bench, ada: Member, cyd: Member
) -> None:
    wet.booked(ada, starts_at=TOMORROW)
    wet.booked(cyd, starts_at=TOMORROW + timedelta(days=1))
    Allotment.objects.filter(batch=wet.developer).update(batch=None)

    (line,) = needed()
    assert line[1].startswith("2 sessions, the first Tuesday 3 March, 18:00, Ada: develop is still")


def test_sessions_that_one_bottle_lets_down_are_one_line(
    wet: Bench, ada: Member, cyd: Member
) -> None:
    wet.booked(cyd, starts_at=TOMORROW + timedelta(days=1))
    wet.booked(ada, starts_at=TOMORROW)
    stop_batch(batch=wet.developer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    assert needed()[0] == (
        "See them",
        f"{wet.developer.code} is stopped, and 2 sessions count on it, "
        "the first Tuesday 3 March, 18:00, Ada.",
    )


def test_a_session_never_recorded_is_told_after_half_a_day(wet: Bench, ada: Member) -> None:
    visit = wet.booked(ada, starts_at=NOW - timedelta(hours=16))
    Session.objects.filter(pk=visit.pk).update(ends_at=NOW - timedelta(hours=12))

    assert needed() == [
        (
            "See the session",
            "Monday 2 March, 02:00, Ada was never recorded: record it, or cancel it.",
        )
    ]


def test_a_figure_only_remembered_is_for_the_house_to_enter(wet: Bench) -> None:
    FigureFactory(
        way=wet.fixer.way,
        name=FigureName.PER_PASS,
        value=None,
        standing=Standing.REMEMBERED_LOW,
    )

    recipe = wet.fixer.way.version.recipe
    assert needed() == [("Enter", f"{recipe}: enter the house's own figure for most in one pass.")]


def test_recipes_that_lack_figures_are_one_line(wet: Bench) -> None:
    for batch in (wet.fixer, wet.developer):
        FigureFactory(
            way=batch.way,
            name=FigureName.PER_PASS,
            value=None,
            standing=Standing.REMEMBERED_LOW,
        )

    says = "2 recipes lack a figure of the house's own: enter it for those in use."
    assert needed() == [("See which", says)]


def test_the_most_urgent_comes_first(wet: Bench, ada: Member) -> None:
    record(wet, ada)
    wet.booked(ada, starts_at=TOMORROW)
    stop_batch(batch=wet.fixer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    assert [button for button, _ in needed()] == ["See the session", "Decide", "Place"]


def page(client: Client) -> str:
    return client.get("/").content.decode()


def test_a_member_sees_the_next_session_and_its_run_card(
    wet: Bench, ada: Member, ada_client: Client
) -> None:
    wet.booked(ada, starts_at=NOW - timedelta(days=3), sheets=4)
    coming = wet.booked(ada, starts_at=TOMORROW, sheets=4)
    wet.booked(ada, starts_at=TOMORROW + timedelta(days=1), sheets=4)

    context = ada_client.get("/").context
    assert context["card"].visit == coming
    assert len(context["unrecorded"]) == 1


def test_only_stewards_are_asked_for_their_hands(
    wet: Bench, ada: Member, ada_client: Client, ben_client: Client
) -> None:
    stop_batch(batch=wet.fixer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    found = ["Hands needed" in page(client) for client in (ada_client, ben_client)]
    assert found == [False, True]


def test_what_waits_for_hands_is_told_a_steward_once(
    wet: Bench, ada: Member, ben: Member, ben_client: Client
) -> None:
    stop_batch(batch=wet.fixer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    context = ben_client.get("/").context
    assert Notice.objects.filter(member=ben, subject__startswith=wet.fixer.code).exists()
    assert [hand.bottle.batch for hand in context["hands"] if hand.bottle] == [wet.fixer]
    assert (list(context["notices"]), [b.batch for b in context["shelf"]]) == ([], [wet.developer])


def test_an_auditor_is_led_to_the_audit(wet: Bench, aud_client: Client) -> None:
    text = page(aud_client)

    assert ("/audit/" in text, "/record/" in text) == (True, False)


def test_members_see_only_what_can_be_used(wet: Bench, ada: Member, ada_client: Client) -> None:
    stop_batch(batch=wet.fixer, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    shelf = ada_client.get("/").context["shelf"]
    assert [bottle.batch for bottle in shelf] == [wet.developer]


def test_the_strip_names_others_only_to_those_who_may_know(
    wet: Bench, ada: Member, ada_client: Client, ben_client: Client, cyd_client: Client
) -> None:
    wet.booked(ada)

    lanes = {
        who: c.get("/").context["day"].lanes
        for who, c in (("ada", ada_client), ("ben", ben_client), ("cyd", cyd_client))
    }

    told = {
        who: {(p.says, bool(p.url), p.is_mine) for lane in found for p in lane.phases}
        for who, found in lanes.items()
    }
    assert told == {
        "ada": {("", True, True)},
        "ben": {("Ada", True, False)},
        "cyd": {("", False, False)},
    }


def first_buttons(client: Client) -> list[str]:
    return [hand.button for hand in client.get("/").context["hands"]]


def test_an_empty_house_says_what_to_do_first(
    ada_client: Client, ben_client: Client, adm_client: Client
) -> None:
    assert "No session ahead of you" in page(ada_client)
    assert first_buttons(ada_client) == []
    assert first_buttons(ben_client) == ["Open one", "Mix"]
    assert first_buttons(adm_client) == ["House rules", "Enter the first", "Open one", "Mix"]


def test_the_first_steps_are_over_once_a_bottle_has_been_mixed(
    wet: Bench, adm_client: Client
) -> None:
    assert first_buttons(adm_client) == []


def test_what_nobody_has_looked_at_needs_hands_and_first_if_it_gates(wet: Bench) -> None:
    HouseCheckFactory(name="The floor is dry")
    HouseCheckFactory(name="Eyewash runs clear", gates="all", code="eyewash")
    CheckMarkFactory(house_check__name="Extraction is running", house_check__gates="all", at=NOW)

    assert needed() == [
        (
            "Look at it",
            "Eyewash runs clear: nobody has looked yet. It keeps sessions from being booked.",
        ),
        ("Look at it", "The floor is dry: nobody has looked yet."),
    ]


def test_a_session_that_lacks_an_induction_needs_hands(
    wet: Bench, ada: Member, ben: Member
) -> None:
    wet.vessel.topic = TopicFactory(name="Small tanks")
    wet.vessel.topic.givers.add(ben)
    wet.vessel.save()
    wet.booked(ada, starts_at=TOMORROW)

    assert needed() == [
        (
            "See the induction",
            f"Tuesday 3 March, 18:00, Ada: {wet.vessel} needs the induction “Small tanks”, "
            "which is missing. Ask Ben.",
        )
    ]


def test_a_session_left_alone_needs_hands(wet: Bench, ada: Member) -> None:
    type(wet.process).objects.update(needs_held_temperature=True)
    HouseRules.current()
    HouseRules.objects.update(no_colour_alone=True)
    wet.booked(ada, starts_at=TOMORROW)

    assert needed() == [
        (
            "See the session",
            "Tuesday 3 March, 18:00, Ada: Nobody else is booked from 18:00 to 22:00, and this "
            "house does no colour or toner work alone.",
        )
    ]
