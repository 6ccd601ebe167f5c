"""Topping up, pouring out, stopping and releasing one bottle."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from chemistry import wear_cache
from chemistry.models import Account, Batch, BatchStop, Movement, Stream, Use, WasteContainer
from chemistry.replenishing import replenish_batch
from chemistry.science.area import AU_MM2
from darkroom.models import Material, Member
from tests.factories.chemistry import (
    FigureFactory,
    WayOfUseFactory,
    mixed_batch,
    opened_container,
    replenished_way,
)
from tests.factories.darkroom import NOW, StewardFactory

HTMX = {"HX-Request": "true", "HX-Target": "bleed"}
PAGES = ("replenish", "pour", "stop", "release")


def url(page: str, batch: Batch) -> str:
    return reverse(f"chemistry:batch-{page}", args=[batch.code])


def pass_film(batch: Batch, *, au: int) -> None:
    """Film of so many units has been through the bath an hour ago."""
    Use.objects.create(
        batch=batch,
        material=Material.FILM,
        area_mm2=au * AU_MM2,
        happened_at=NOW - timedelta(hours=1),
        entered_at=NOW - timedelta(hours=1),
        by=StewardFactory(),
        operation=uuid4(),
    )
    wear_cache.refresh(batch)


@pytest.fixture
def bath(db: None) -> Batch:
    """Five litres of replenished developer that owe 140 mL for two units of film."""
    bath = mixed_batch(replenished_way(ml_per_au=70), volume_ml=5000)
    pass_film(bath, au=2)
    return bath


@pytest.fixture
def fixer(db: None) -> Batch:
    return mixed_batch(volume_ml=1000)


@pytest.fixture
def drum(db: None) -> WasteContainer:
    return opened_container(Stream.FIXER, code="W-1", capacity_ml=5000)


def balance_ml(batch: Batch) -> Decimal:
    return Decimal(Account.objects.get(batch=batch).balance) / 1000


@pytest.mark.parametrize("page", PAGES)
def test_each_page_opens_for_a_steward(ben_client: Client, bath: Batch, page: str) -> None:
    assert ben_client.get(url(page, bath)).status_code == 200
    assert ben_client.head(url(page, bath)).status_code == 200


@pytest.mark.parametrize("page", ["replenish", "pour", "release"])
@pytest.mark.parametrize("who", ["ada_client", "aud_client"])
def test_steward_pages_are_kept_from_others(
    who: str, bath: Batch, page: str, request: pytest.FixtureRequest
) -> None:
    client = request.getfixturevalue(who)

    assert client.get(url(page, bath)).status_code == 403
    assert client.post(url(page, bath), {}).status_code == 403


@pytest.mark.parametrize("page", PAGES)
def test_each_page_knows_only_its_methods(ben_client: Client, bath: Batch, page: str) -> None:
    assert ben_client.delete(url(page, bath)).status_code == 405


@pytest.mark.parametrize("page", PAGES)
def test_an_unknown_bottle_is_not_found(ben_client: Client, page: str) -> None:
    address = reverse(f"chemistry:batch-{page}", args=["X-1"])

    assert ben_client.get(address).status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_each_page_keeps_the_form_when_nothing_is_sent(
    ben_client: Client, bath: Batch, page: str
) -> None:
    answer = ben_client.post(url(page, bath), {})

    assert answer.status_code == 422
    assert "<form" in answer.content.decode()


def test_a_private_bottle_is_nobody_else_s(cyd_client: Client, ada: Member) -> None:
    private = mixed_batch(owner=ada)

    assert cyd_client.get(url("stop", private)).status_code == 404
    assert cyd_client.post(url("stop", private), {"sign": "Smells wrong"}).status_code == 404


def test_a_private_bottle_is_its_owner_s_and_the_stewards(
    ada_client: Client, ben_client: Client, ada: Member
) -> None:
    private = mixed_batch(owner=ada)

    assert ada_client.get(url("stop", private)).status_code == 200
    assert ben_client.get(url("pour", private)).status_code == 200


def test_replenish_prefills_what_is_owed_and_says_from_which_figure(
    ben_client: Client, bath: Batch
) -> None:
    page = ben_client.get(url("replenish", bath))
    text = page.content.decode().replace("\u00a0", " ")

    assert page.context["form"]["added_ml"].value() == "140"
    assert "First 140 mL of the old bath leave" in text
    assert "Invented for a test., the house's own" in text.replace("&#x27;", "'")


@pytest.mark.parametrize(
    ("added", "status", "says"),
    [("50", 200, "First 50 mL of the old bath leave"), ("x", 422, "as a number")],
)
def test_replenish_says_what_leaves_as_it_is_typed(
    ben_client: Client, bath: Batch, added: str, status: int, says: str
) -> None:
    fragment = ben_client.get(url("replenish", bath), {"added_ml": added}, headers=HTMX)
    text = fragment.content.decode().replace("\u00a0", " ")

    assert fragment.status_code == status
    assert says in text
    assert "<html" not in text


def test_replenish_keeps_another_amount_without_javascript(ben_client: Client, bath: Batch):
    page = ben_client.get(url("replenish", bath), {"added_ml": "50"})

    assert "<html" in page.content.decode()
    assert page.context["form"]["added_ml"].value() == "50"


def test_replenish_tops_up_and_pays_what_is_owed(ben_client: Client, bath: Batch, send, told):
    answer = send(ben_client, url("replenish", bath), added_ml="140", source="")

    bath.refresh_from_db()
    assert answer.status_code == 303
    assert answer["Location"] == reverse("sessions:batch", args=[bath.code])
    assert told(answer) == [f"{bath.code} is topped up by 140 mL."]
    assert (bath.arrears_mm2, balance_ml(bath)) == (0, 5000)


def test_replenish_left_as_it_came_follows_the_film_of_the_same_minute(
    ben_client: Client, bath: Batch, send
) -> None:
    pass_film(bath, au=1)
    form = ben_client.get(url("replenish", bath)).context["form"]
    given = {name: form[name].value() for name in ("happened_at", "opened_at", "added_ml")}
    send(ben_client, url("replenish", bath), source="", **given)

    bath.refresh_from_db()
    assert bath.arrears_mm2 == 0


def test_replenish_draws_from_a_bottle_of_replenisher(ben_client: Client, send) -> None:
    way = replenished_way()
    bath, stock = mixed_batch(way), mixed_batch(way, volume_ml=2000)
    stopped, used = mixed_batch(way), mixed_batch(way)
    pass_film(used, au=1)
    BatchStop.objects.create(batch=stopped, seen="?", stopped_at=NOW, stopped_by=StewardFactory())
    offered = ben_client.get(url("replenish", bath)).context["form"].fields["source"].choices
    send(ben_client, url("replenish", bath), added_ml="100", source=stock.code)

    assert [code for code, _ in offered] == [stock.code, ""]
    assert balance_ml(stock) == 1900


@pytest.mark.parametrize(
    ("field", "written"),
    [("added_ml", "0"), ("added_ml", "6000"), ("source", "Z-9"), ("happened_at", "soon")],
)
def test_replenish_refuses_beside_the_field_and_keeps_it(
    ben_client: Client, bath: Batch, field: str, written: str, send
) -> None:
    sent = {"added_ml": "140", "source": "", field: written}
    answer = send(ben_client, url("replenish", bath), **sent)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == written
    assert balance_ml(bath) == 5000


def test_replenish_is_refused_past_the_limit_with_the_reason(ben_client: Client, send) -> None:
    bath = mixed_batch(replenished_way(turnover=1))
    replenish_batch(
        batch=bath, added_ul=1_000_000, happened_at=NOW, key=uuid4(), by=StewardFactory(), at=NOW
    )
    page = ben_client.get(url("replenish", bath))
    answer = send(ben_client, url("replenish", bath), added_ml="10", source="")

    assert "does not revive one" in page.content.decode()
    assert url("pour", bath) in page.content.decode()
    assert answer.status_code == 422


def test_replenish_of_a_reused_bath_says_that_it_is_none(ben_client: Client, fixer: Batch):
    text = ben_client.get(url("replenish", fixer)).content.decode()

    assert "is not a replenished bath" in text
    assert 'name="added_ml"' not in text


def test_replenish_names_the_largest_of_several_rates(ben_client: Client) -> None:
    way = WayOfUseFactory(way="replenished", version__recipe__role="developer")
    FigureFactory(way=way, name="replenish", material=Material.FILM, value=50, unit="mL/AU")
    FigureFactory(way=way, name="replenish", material=Material.TABULAR, value=75, unit="mL/AU")
    page = ben_client.get(url("replenish", mixed_batch(way)))

    assert page.context["rate"].value == 75


def test_pour_offers_each_container_with_its_room(
    ben_client: Client, fixer: Batch, drum: WasteContainer
) -> None:
    opened_container(Stream.DEVELOPER, code="W-2")
    text = ben_client.get(url("pour", fixer)).content.decode().replace("\u00a0", " ")

    assert "W-1, room for 4 500 mL" in text
    assert "W-2" not in text


def test_pour_all_empties_the_bottle(
    ben_client: Client, fixer: Batch, drum: WasteContainer, send, told
) -> None:
    answer = send(ben_client, url("pour", fixer), container="W-1", how_much="all")

    fixer.refresh_from_db()
    assert answer.status_code == 303
    assert told(answer) == ["F-1 is poured out into W-1; the bottle is empty."]
    assert fixer.discarded_at is not None
    assert Account.objects.get(container=drum).balance == 1_000_000


def test_pour_of_a_part_leaves_the_rest(
    ben_client: Client, fixer: Batch, drum: WasteContainer, send, told
) -> None:
    answer = send(ben_client, url("pour", fixer), container="W-1", how_much="part", volume_ml="250")

    assert told(answer) == ["250 mL of F-1 are poured out into W-1."]
    assert balance_ml(fixer) == 750


def test_pour_without_a_container_waits_for_one(ben_client: Client, fixer: Batch, send, told):
    page = ben_client.get(url("pour", fixer)).content.decode()
    answer = send(ben_client, url("pour", fixer), container="", how_much="all")

    assert reverse("chemistry:container-open") in page
    assert told(answer) == ["F-1 is poured out and waits for a container; the bottle is empty."]


def test_pour_sent_twice_is_poured_once(
    ben_client: Client, fixer: Batch, drum: WasteContainer, send
) -> None:
    """The second copy comes when the bottle is gone and the container has no room any more."""
    small = opened_container(Stream.FIXER, code="W-3", capacity_ml=1000, fill_limit_pct=100)
    sent = {"container": small.code, "how_much": "all", "key": str(uuid4())}
    answers = [send(ben_client, url("pour", fixer), **sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert Account.objects.get(container=small).balance == 1_000_000


@pytest.mark.parametrize(
    ("field", "sent"),
    [
        ("volume_ml", {"how_much": "part", "volume_ml": "1001"}),
        ("volume_ml", {"how_much": "part", "volume_ml": ""}),
        ("volume_ml", {"how_much": "part", "volume_ml": "0"}),
        ("container", {"container": "W-2"}),
        ("container", {"container": "W-9"}),
        ("happened_at", {"happened_at": "2026-03-09 10:00"}),
    ],
)
def test_pour_refuses_beside_the_field_and_keeps_it(
    ben_client: Client, fixer: Batch, drum: WasteContainer, field: str, sent: dict[str, str], send
) -> None:
    opened_container(Stream.FIXER, code="W-2", capacity_ml=500)
    answer = send(ben_client, url("pour", fixer), **{"container": "W-1", "how_much": "all"} | sent)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == sent[field]
    assert balance_ml(fixer) == 1000


def test_pour_of_an_empty_bottle_says_that_nothing_is_left(
    ben_client: Client, fixer: Batch, send
) -> None:
    send(ben_client, url("pour", fixer), container="", how_much="all")
    answer = send(ben_client, url("pour", fixer), container="", how_much="all")

    assert "Nothing is left" in ben_client.get(url("pour", fixer)).content.decode()
    assert answer.status_code == 409
    assert Movement.objects.filter(kind="pour").count() == 1


@pytest.mark.parametrize("who", ["ada_client", "ben_client"])
def test_stop_in_one_press(
    who: str, fixer: Batch, request: pytest.FixtureRequest, send, told
) -> None:
    client = request.getfixturevalue(who)
    answer = send(client, url("stop", fixer), sign="Smells wrong")

    assert answer.status_code == 303
    assert told(answer) == ["F-1 is stopped; nobody is offered it any more."]
    assert BatchStop.objects.get().seen == "Smells wrong"


def test_stop_takes_own_words_with_a_sign(ada_client: Client, fixer: Batch, send) -> None:
    send(ada_client, url("stop", fixer), sign="Smells wrong", words="of eggs")

    assert BatchStop.objects.get().seen == "Smells wrong: of eggs"


@pytest.mark.parametrize(
    ("sent", "field"),
    [({}, "words"), ({"words": "x" * 241}, "words"), ({"sign": "Looks sad"}, "sign")],
)
def test_stop_asks_for_what_was_seen(
    ada_client: Client, fixer: Batch, sent: dict[str, str], field: str, send
) -> None:
    answer = send(ada_client, url("stop", fixer), **sent)

    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert not BatchStop.objects.exists()


def test_stop_is_not_an_auditor_s(aud_client: Client, fixer: Batch, send) -> None:
    assert aud_client.get(url("stop", fixer)).status_code == 403
    assert send(aud_client, url("stop", fixer), sign="Smells wrong").status_code == 403


def test_stop_of_a_stopped_bottle_says_so(ada_client: Client, fixer: Batch, send) -> None:
    answers = [send(ada_client, url("stop", fixer), sign="Smells wrong") for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 409]
    assert "is stopped already" in answers[1].content.decode()


def test_release_needs_a_reason(ben_client: Client, fixer: Batch, ada: Member, send, told):
    stop = BatchStop.objects.create(batch=fixer, seen="Smells", stopped_at=NOW, stopped_by=ada)
    page = ben_client.get(url("release", fixer)).content.decode()
    silent = send(ben_client, url("release", fixer), reason=" ")
    answer = send(ben_client, url("release", fixer), reason="A test strip cleared in time.")

    stop.refresh_from_db()
    assert "Stopped by Ada on 2 March 2026, 18:00: Smells" in page
    assert (silent.status_code, answer.status_code) == (422, 303)
    assert told(answer) == ["F-1 may be used again."]
    assert stop.release_reason == "A test strip cleared in time."


def test_release_of_a_bottle_that_runs_says_so(ben_client: Client, fixer: Batch, send) -> None:
    assert "is not stopped" in ben_client.get(url("release", fixer)).content.decode()
    assert send(ben_client, url("release", fixer), reason="All is well.").status_code == 409
