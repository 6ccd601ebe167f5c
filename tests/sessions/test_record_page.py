from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.contrib.messages import get_messages
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from chemistry.models import Account, Batch
from darkroom.models import HouseRules, Member
from sessions.models import Run, RunBath, Session
from tests.factories.chemistry import mixed_batch
from tests.sessions.bench import NOW, Bench

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]


@pytest.fixture
def visit(wet: Bench, ada: Member) -> Session:
    return wet.booked(ada)


def url(visit: Session) -> str:
    return reverse("sessions:record", args=[visit.code])


def prefilled(client: Client, path: str) -> dict[str, Any]:
    """What the page's form would send if nothing were touched."""
    form = client.get(path).context["form"]
    values = {bound.html_name: bound.value() for bound in form}
    return {name: value for name, value in values.items() if value not in (None, False, "")}


def shown(field: str, response: HttpResponse) -> list[str]:
    return list(response.context["form"].errors.get(field, []))


def field(wet: Bench, name: str, step: int) -> str:
    return f"{name}_{wet.steps[step].pk}"


def test_untouched_it_records_what_was_planned(
    wet: Bench, visit: Session, ada_client: Client
) -> None:
    response = ada_client.post(url(visit), prefilled(ada_client, url(visit)))

    run = Run.objects.get()
    baths = [(b.batch, b.poured_ul, b.minutes, b.temp_c) for b in RunBath.objects.all()]
    assert (response.status_code, response["Location"]) == (303, visit.get_absolute_url())
    assert (run.session, run.sheets, run.happened_at) == (visit, 4, NOW)
    assert baths == [
        (wet.developer, 400_000, Decimal(8), Decimal(20)),
        (None, 400_000, Decimal(1), Decimal(20)),
        (wet.fixer, 400_000, Decimal(5), Decimal(20)),
    ]


def test_recorded_after_its_end_a_load_is_taken_to_have_been_run_as_planned(
    wet: Bench, ada: Member, ada_client: Client
) -> None:
    late = wet.booked(ada, starts_at=NOW - timedelta(days=1))
    for _ in range(2):
        ada_client.post(url(late), prefilled(ada_client, url(late)))

    out_of_the_bath = late.holds.get(equipment=wet.vessel).period.upper
    when = list(Run.objects.order_by("pk").values_list("happened_at", flat=True))
    assert when == [out_of_the_bath, late.ends_at]


def test_the_last_load_is_ticked_as_the_last(visit: Session, ada_client: Client) -> None:
    first = prefilled(ada_client, url(visit))
    ada_client.post(url(visit), first)

    second = prefilled(ada_client, url(visit))
    ada_client.post(url(visit), second)

    visit.refresh_from_db()
    assert ("is_last" in first, second["is_last"], visit.ended_at) == (False, True, NOW)


def test_only_differences_need_typing(wet: Bench, visit: Session, ada_client: Client) -> None:
    other = mixed_batch(wet.fixer.way)
    typed = {
        "sheets": "3",
        "happened_at": "2026-03-02T17:15",
        field(wet, "code", 2): other.code.lower(),
        field(wet, "minutes", 2): "6:30",
        field(wet, "temp_c", 2): "19,5",
        field(wet, "short_ml", 2): "12.5",
        "note": "a sheet stuck",
    }

    ada_client.post(url(visit), prefilled(ada_client, url(visit)) | typed)

    run, bath = Run.objects.get(), RunBath.objects.get(step=wet.steps[2])
    assert (run.sheets, run.happened_at, run.note) == (
        3,
        NOW - timedelta(minutes=45),
        "a sheet stuck",
    )
    assert (bath.batch, bath.minutes, bath.temp_c, bath.short_ul) == (
        other,
        Decimal("6.5"),
        Decimal("19.5"),
        12_500,
    )


def test_sent_twice_it_is_recorded_once_with_the_same_answer(
    visit: Session, ada_client: Client
) -> None:
    sent = prefilled(ada_client, url(visit))

    answers = [ada_client.post(url(visit), sent) for _ in range(2)]

    assert {(a.status_code, a["Location"]) for a in answers} == {(303, visit.get_absolute_url())}
    assert Run.objects.count() == 1


def test_sent_again_with_other_figures_it_keeps_them_and_says_so(
    visit: Session, ada_client: Client
) -> None:
    sent = prefilled(ada_client, url(visit))
    ada_client.post(url(visit), sent)

    again = ada_client.post(url(visit), sent | {"sheets": "2"})

    form = again.context["form"]
    assert (again.status_code, Run.objects.count()) == (409, 1)
    assert (form["sheets"].value(), form["key"].value() == sent["key"]) == ("2", False)


@pytest.mark.parametrize(
    ("name", "step", "value"),
    [
        ("sheets", None, "0"),
        ("sheets", None, "-3"),
        ("sheets", None, "5"),
        ("sheets", None, "four"),
        ("poured_ml", None, "0"),
        ("poured_ml", None, "1,200"),
        ("happened_at", None, "2026-03-02T18:01"),
        ("happened_at", None, "yesterday"),
        ("happened_at", None, "2026-02-30T12:00"),
        ("note", None, "x" * 501),
        ("code", 2, "F-99"),
        ("bottle", 2, ""),
        ("minutes", 0, ""),
        ("minutes", 0, "7:75"),
        ("minutes", 0, "0"),
        ("minutes", 0, "-2"),
        ("temp_c", 0, "hot"),
        ("temp_c", 0, "300"),
        ("short_ml", 2, "401"),
        ("short_ml", 2, "-1"),
    ],
)
def test_bad_input_is_refused_beside_its_field_and_kept(
    wet: Bench, visit: Session, ada_client: Client, name: str, step: int | None, value: str
) -> None:
    name = name if step is None else field(wet, name, step)
    sent = prefilled(ada_client, url(visit)) | {name: value}

    response = ada_client.post(url(visit), sent)

    assert (response.status_code, Run.objects.count()) == (422, 0)
    assert len(shown(name, response)) == 1
    assert response.context["form"][name].value() == value


@pytest.mark.parametrize("field_name", ["line", "key"])
@pytest.mark.parametrize("value", ["", "0", "nonsense", "9" * 40])
def test_hidden_fields_tampered_with_are_refused(
    visit: Session, ada_client: Client, field_name: str, value: str
) -> None:
    sent = prefilled(ada_client, url(visit)) | {field_name: value}

    assert ada_client.post(url(visit), sent).status_code == 422


def test_nothing_sent_is_refused(visit: Session, ada_client: Client) -> None:
    assert ada_client.post(url(visit), {}).status_code == 422


def test_a_time_that_never_was_is_refused_and_a_double_one_offers_both(
    visit: Session, ada_client: Client
) -> None:
    HouseRules.objects.update_or_create(pk=1, defaults={"zone": "Europe/Berlin"})
    Batch.objects.update(mixed_at=NOW - timedelta(days=365))
    sent = prefilled(ada_client, url(visit))

    never = ada_client.post(url(visit), sent | {"happened_at": "2025-03-30T02:30"})
    twice = ada_client.post(url(visit), sent | {"happened_at": "2025-10-26T02:30"})
    second = {"happened_at": "2025-10-26T02:30", "which": "second"}
    ada_client.post(url(visit), sent | second)

    assert [response.status_code for response in (never, twice)] == [422, 422]
    assert 'name="which"' in twice.content.decode()
    assert Run.objects.get().happened_at.isoformat() == "2025-10-26T01:30:00+00:00"


def test_a_step_can_be_left_out_or_done_in_plain_water(
    wet: Bench, visit: Session, ada_client: Client
) -> None:
    changes = {field(wet, "bottle", 1): "none", field(wet, "bottle", 2): "water"}

    ada_client.post(url(visit), prefilled(ada_client, url(visit)) | changes)

    assert [(b.step, b.batch) for b in RunBath.objects.all()] == [
        (wet.steps[0], wet.developer),
        (wet.steps[2], None),
    ]


def test_all_steps_left_out_is_no_run(wet: Bench, visit: Session, ada_client: Client) -> None:
    changes = {field(wet, "bottle", n): "none" for n in range(3)}

    response = ada_client.post(url(visit), prefilled(ada_client, url(visit)) | changes)

    assert (response.status_code, Run.objects.count()) == (422, 0)


def test_a_bad_bottle_is_recorded_and_warned_of(
    wet: Bench, visit: Session, ada_client: Client
) -> None:
    Batch.objects.filter(pk=wet.fixer.pk).update(discarded_at=NOW - timedelta(hours=1))

    response = ada_client.post(url(visit), prefilled(ada_client, url(visit)))

    said = [str(message) for message in get_messages(response.wsgi_request)]
    assert (Run.objects.count(), len(said)) == (1, 2)
    assert said[1].startswith(f"Do not use {wet.fixer.code} again: Discarded on")


def test_more_than_a_bottle_was_thought_to_hold_is_recorded_and_told(
    wet: Bench, visit: Session, ada_client: Client
) -> None:
    Account.objects.filter(batch=wet.developer).update(balance=5_000)

    response = ada_client.post(url(visit), prefilled(ada_client, url(visit)))

    said = [str(message) for message in get_messages(response.wsgi_request)]
    assert said[1].startswith(f"15 mL more was taken from {wet.developer.code} than it was thought")


def test_an_odd_bottle_is_asked_about_and_then_recorded(
    wet: Bench, visit: Session, ada_client: Client
) -> None:
    sent = prefilled(ada_client, url(visit)) | {field(wet, "code", 2): wet.developer.code}

    asked = ada_client.post(url(visit), sent)
    ada_client.post(url(visit), sent | {"is_really_so": "on"})

    assert (asked.status_code, len(shown("is_really_so", asked))) == (422, 1)
    assert RunBath.objects.get(step=wet.steps[2]).batch == wet.developer


def test_a_bottle_mixed_only_later_is_refused(
    wet: Bench, visit: Session, ada_client: Client
) -> None:
    sent = prefilled(ada_client, url(visit)) | {"happened_at": "2026-02-20T12:00"}

    response = ada_client.post(url(visit), sent)

    assert response.status_code == 422
    assert len(shown(field(wet, "bottle", 2), response)) == 1


def test_another_members_bottle_is_not_known(
    wet: Bench, visit: Session, cyd: Member, ada_client: Client
) -> None:
    hidden = mixed_batch(wet.fixer.way, owner=cyd)
    page = ada_client.get(url(visit)).content.decode()
    sent = prefilled(ada_client, url(visit)) | {field(wet, "code", 2): hidden.code}

    response = ada_client.post(url(visit), sent)

    assert (hidden.code in page, response.status_code) == (False, 422)


def test_over_htmx_it_answers_with_the_form_and_then_leads_on(
    visit: Session, ada_client: Client
) -> None:
    sent = prefilled(ada_client, url(visit))
    htmx = {"HX-Request": "true", "HX-Target": "record-form"}

    bad = ada_client.post(url(visit), sent | {"sheets": "0"}, headers=htmx)
    good = ada_client.post(url(visit), sent, headers=htmx)

    assert (bad.status_code, bad.content.lstrip()[:5]) == (422, b"<form")
    assert (good.status_code, good["HX-Redirect"]) == (200, visit.get_absolute_url())


def test_a_cancelled_session_leads_to_the_form_without_one(
    visit: Session, ada_client: Client
) -> None:
    Session.objects.update(cancelled_at=NOW)

    response = ada_client.get(url(visit))

    assert response["Location"] == reverse("sessions:record-loose")


@pytest.fixture
def loose(wet: Bench, ada_client: Client) -> Iterator[dict[str, Any]]:
    what = {
        "film": wet.film.pk,
        "index": "100",
        "size": wet.size.pk,
        "vessel": f"{wet.vessel.pk}:inversion",
        "sheets": "2",
        "poured_ml": "400",
        field(wet, "minutes", 0): "8",
    }
    return prefilled(ada_client, reverse("sessions:record-loose")) | what


def test_without_a_booking_it_asks_what_was_run(
    wet: Bench, ada: Member, ada_client: Client, loose: dict[str, Any]
) -> None:
    response = ada_client.post(reverse("sessions:record-loose"), loose)

    run = Run.objects.get()
    assert response["Location"] == reverse("sessions:run", args=[run.code])
    assert (run.member, run.session, run.vessel, run.sheets) == (ada, None, wet.vessel, 2)
    assert [bath.batch for bath in run.baths.all()] == [wet.developer, None, wet.fixer]


@pytest.mark.parametrize("name", ["film", "index", "size", "vessel", "sheets", "poured_ml"])
@pytest.mark.parametrize("value", ["", "0", "999999999999", "a:b"])
def test_without_a_booking_bad_input_is_refused(
    ada_client: Client, loose: dict[str, Any], name: str, value: str
) -> None:
    response = ada_client.post(reverse("sessions:record-loose"), loose | {name: value})

    assert (response.status_code, Run.objects.count()) == (422, 0)
    assert len(shown(name, response)) == 1


def test_a_format_that_the_vessel_does_not_take_is_refused(
    wet: Bench, ada_client: Client, loose: dict[str, Any]
) -> None:
    big = type(wet.size).objects.create(name="8×10", area_mm2=51612, source="1 in = 25.4 mm")
    tray = type(wet.vessel).objects.create(code="T9", name="Tray", kind="tray")
    tray.fits.create(format=big, positions=1, advised=1, min_ml=200)

    response = ada_client.post(reverse("sessions:record-loose"), loose | {"size": big.pk})

    assert (response.status_code, len(shown("vessel", response))) == (422, 1)


def test_one_more_like_it_comes_filled_in(
    wet: Bench, ada_client: Client, loose: dict[str, Any]
) -> None:
    path = reverse("sessions:record-loose")
    ada_client.post(path, loose)
    like = f"{path}?like={Run.objects.get().code}"

    again = prefilled(ada_client, like)
    ada_client.post(like, again)

    first, second = Run.objects.order_by("pk").values("film", "sheets", "vessel", "index")
    assert first == second


def test_a_house_without_a_process_says_so(wet: Bench, ada_client: Client) -> None:
    type(wet.process).objects.update(is_bookable=False)

    response = ada_client.get(reverse("sessions:record-loose"))

    assert (response.status_code, "form" in response.context) == (200, False)


@pytest.mark.parametrize("key", ["00000000-0000-4000-8000-000000000000", "no-code"])
def test_an_unknown_run_to_repeat_is_no_error(wet: Bench, ada_client: Client, key: str) -> None:
    assert ada_client.get(f"{reverse('sessions:record-loose')}?like={key}").status_code == 200
