"""Containers, what waits for one, and what has left the house."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from chemistry.discarding import pour_out
from chemistry.models import Account, Batch, Consignment, Movement, Stream, WasteContainer
from chemistry.waste import hand_over
from darkroom.models import Member
from tests.factories.chemistry import mixed_batch, opened_container, reused_way
from tests.factories.darkroom import NOW, StewardFactory

WASTE = reverse("chemistry:waste")
OPEN = reverse("chemistry:container-open")
PLACE = reverse("chemistry:waste-place")
NEW = {"code": "W-1", "stream": "fixer", "capacity_ml": "10000", "fill_limit_pct": "90"}


def poured(
    container: WasteContainer | None, *, ml: int = 1000, bottle: Batch | None = None
) -> None:
    """So much used fixer, poured into the container or beside it."""
    pour_out(
        batch=bottle or mixed_batch(volume_ml=ml),
        container=container,
        happened_at=NOW,
        key=uuid4(),
        by=StewardFactory(),
        at=NOW,
    )


def gone(container: WasteContainer, *, document: str = "A-1") -> Consignment:
    return hand_over(
        containers=[container],
        carrier="River Carriers",
        document=document,
        happened_at=NOW,
        key=uuid4(),
        by=StewardFactory(),
        at=NOW,
    )


@pytest.fixture
def drum(db: None) -> WasteContainer:
    """Five litres to the brim, one in it."""
    drum = opened_container(Stream.FIXER, code="W-1", capacity_ml=5000)
    poured(drum)
    return drum


def text_of(response) -> str:
    return response.content.decode().replace("\u00a0", " ")


@pytest.mark.parametrize("who", ["ada_client", "ben_client", "aud_client", "adm_client"])
def test_waste_is_open_to_everybody(
    who: str, drum: WasteContainer, request: pytest.FixtureRequest
) -> None:
    client = request.getfixturevalue(who)
    page = client.get(WASTE)

    assert page.status_code == 200
    assert "1 000 mL stand in 1 open container." in text_of(page)
    assert "09 01 04*" in text_of(page)


def test_waste_of_an_empty_house_says_what_to_do(ben_client: Client) -> None:
    assert "No container is open" in text_of(ben_client.get(WASTE))


@pytest.mark.parametrize(
    ("ml", "says"), [(3000, "Has room"), (4000, "Nearly full"), (4500, "Full")]
)
def test_waste_says_how_full_a_container_is(ben_client: Client, ml: int, says: str) -> None:
    poured(opened_container(Stream.FIXER, code="W-1", capacity_ml=5000), ml=ml)

    assert f"<span>{says}" in text_of(ben_client.get(WASTE))


def test_waste_shows_members_no_form(ada_client: Client, drum: WasteContainer) -> None:
    poured(None)
    page = ada_client.get(WASTE)

    assert "A steward places it." in text_of(page)
    assert OPEN not in text_of(page)
    assert PLACE not in text_of(page)


def test_waste_knows_only_its_methods(ben_client: Client, drum: WasteContainer) -> None:
    addresses = [WASTE, reverse("chemistry:container", args=["W-1"])]

    assert [ben_client.post(address).status_code for address in addresses] == [405, 405]


@pytest.mark.parametrize("rows", [3, 30])
def test_waste_asks_the_database_the_same_for_many(
    ben_client: Client, rows: int, django_assert_num_queries
) -> None:
    way = reused_way()
    for number in range(rows):
        left = opened_container(Stream.FIXER, code=f"G-{number}")
        poured(left, bottle=mixed_batch(way))
        gone(left, document=f"A-{number}")
        opened_container(Stream.DEVELOPER, code=f"W-{number}")
    poured(None)
    ben_client.get(WASTE)

    with django_assert_num_queries(11):
        ben_client.get(WASTE)


@pytest.mark.parametrize("who", ["ada_client", "aud_client"])
@pytest.mark.parametrize("page", ["container-open", "waste-place", "container-hand-over"])
def test_handling_is_kept_from_others(
    who: str, page: str, drum: WasteContainer, request: pytest.FixtureRequest
) -> None:
    client = request.getfixturevalue(who)
    address = reverse(f"chemistry:{page}", args=["W-1"] if "hand" in page else [])

    assert client.get(address).status_code == 403
    assert client.post(address, {}).status_code == 403


def test_open_takes_a_new_container_in(ben_client: Client, send, told) -> None:
    assert ben_client.get(OPEN, {"stream": "fixer"}).context["form"]["stream"].value() == "fixer"
    answer = send(ben_client, OPEN, **NEW | {"code": "w-1"})

    drum = WasteContainer.objects.get()
    assert answer["Location"] == reverse("chemistry:container", args=["W-1"])
    assert (drum.capacity_ul, drum.limit_ul) == (10_000_000, 9_000_000)
    assert told(answer) == ["W-1 is open and takes 9 000 mL."]


@pytest.mark.parametrize(
    ("field", "written"),
    [
        ("code", "W-9"),
        ("code", "two words"),
        ("code", "place"),
        ("code", ""),
        ("code", "W" * 13),
        ("stream", "soup"),
        ("capacity_ml", "-5"),
        ("fill_limit_pct", "101"),
        ("fill_limit_pct", "0"),
        ("happened_at", "2027-01-01 10:00"),
    ],
)
def test_open_refuses_beside_the_field_and_keeps_it(
    ben_client: Client, field: str, written: str, send
) -> None:
    opened_container(code="W-9")
    answer = send(ben_client, OPEN, **NEW | {field: written})

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == written
    assert WasteContainer.objects.count() == 1


def test_open_sent_twice_opens_one(ben_client: Client, send) -> None:
    key = str(uuid4())
    answers = [send(ben_client, OPEN, **NEW, key=key) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert WasteContainer.objects.count() == 1


def test_place_offers_what_waits(ben_client: Client, drum: WasteContainer) -> None:
    poured(None)
    (heap,) = ben_client.get(WASTE).context["heaps"]

    assert heap["form"]["volume_ml"].value() == "1000"
    assert [code for code, _ in heap["form"].fields["container"].choices] == ["W-1"]


def test_place_puts_it_into_the_container(
    ben_client: Client, drum: WasteContainer, send, told
) -> None:
    poured(None)
    answer = send(ben_client, PLACE, stream="fixer", container="W-1", volume_ml="1000")

    assert answer["Location"] == WASTE
    assert told(answer) == ["1 000 mL are in W-1 now."]
    assert Account.objects.get(container=drum).balance == 2_000_000


@pytest.mark.parametrize(
    ("field", "written"),
    [("volume_ml", "1001"), ("volume_ml", "none"), ("container", "W-7"), ("container", "W-2")],
)
def test_place_refuses_on_a_page_of_its_own(
    ben_client: Client, drum: WasteContainer, field: str, written: str, send
) -> None:
    poured(None)
    opened_container(Stream.DEVELOPER, code="W-2")
    sent = {"stream": "fixer", "container": "W-1", "volume_ml": "1000"}
    answer = send(ben_client, PLACE, **sent | {field: written})

    form = answer.context["heap"]["form"]
    assert answer.status_code == 422
    assert (list(form.errors), form[field].value()) == ([field], written)
    assert Account.objects.get(container=drum).balance == 1_000_000


def test_place_without_room_says_to_open_a_container(ben_client: Client) -> None:
    poured(None)

    assert "Open one" in text_of(ben_client.get(WASTE))
    assert OPEN in text_of(ben_client.get(PLACE, {"stream": "fixer"}))


@pytest.mark.parametrize("stream", ["", "soup"])
def test_place_of_no_stream_is_not_found(ben_client: Client, stream: str) -> None:
    assert ben_client.get(PLACE, {"stream": stream}).status_code == 404


def test_container_tells_what_went_in(ada_client: Client, drum: WasteContainer) -> None:
    text = text_of(ada_client.get(reverse("chemistry:container", args=["W-1"])))

    assert "1 000 mL in it, room for 3 500 mL up to its fill limit." in text
    assert "F-1" in text
    assert "Hand over" not in text


def test_container_hides_whose_private_bottle_it_was(ada_client: Client, cyd: Member) -> None:
    drum = opened_container(code="W-1")
    private = mixed_batch(owner=cyd)
    poured(drum, bottle=private)
    text = text_of(ada_client.get(reverse("chemistry:container", args=["W-1"])))

    assert "a private bottle" in text
    assert private.code not in text


def test_an_unknown_container_is_not_found(ben_client: Client) -> None:
    for page in ("container", "container-hand-over"):
        assert ben_client.get(reverse(f"chemistry:{page}", args=["W-0"])).status_code == 404


@pytest.mark.parametrize("rows", [3, 30])
def test_container_asks_the_database_the_same_for_many(
    ben_client: Client, rows: int, django_assert_num_queries
) -> None:
    drum, way = opened_container(code="W-1", capacity_ml=100_000), reused_way()
    for _ in range(rows):
        poured(drum, bottle=mixed_batch(way))
    address = reverse("chemistry:container", args=["W-1"])
    ben_client.get(address)

    with django_assert_num_queries(6):
        ben_client.get(address)


HAND_OVER = {"carrier": "River Carriers", "document": "A-17", "containers": "W-1"}


def over_url(code: str = "W-1") -> str:
    return reverse("chemistry:container-hand-over", args=[code])


def test_hand_over_starts_with_its_container_ticked(
    ben_client: Client, drum: WasteContainer
) -> None:
    poured(opened_container(Stream.FIXER, code="W-2"))
    opened_container(Stream.FIXER, code="W-3")
    rows = ben_client.get(over_url()).context["rows"]

    assert [(row["drum"].code, row["is_chosen"]) for row in rows] == [("W-1", True), ("W-2", False)]


def test_hand_over_closes_the_container_and_shows_the_house_copy(
    ben_client: Client, drum: WasteContainer, send, told
) -> None:
    answer = send(ben_client, over_url(), **HAND_OVER)
    copy = text_of(ben_client.get(answer["Location"]))

    drum.refresh_from_db()
    assert answer.status_code == 303
    assert told(answer) == ["Handed over to River Carriers, document A-17."]
    assert drum.consignment is not None
    assert drum.consignment.document == "A-17"
    assert "1 000<span" in copy
    assert "A-17" in copy
    assert "House copy" in copy


def test_hand_over_books_what_was_measured_never_the_capacity(
    ben_client: Client, drum: WasteContainer, send
) -> None:
    send(ben_client, over_url(), **HAND_OVER, **{"measured-W-1": "980.5"})

    (leaving,) = Movement.objects.filter(kind="handover")
    assert (leaving.quantity, leaving.method) == (980_500, "measured")


def test_hand_over_takes_several(ben_client: Client, drum: WasteContainer, send) -> None:
    poured(opened_container(Stream.FIXER, code="W-2"), ml=500)
    answer = send(ben_client, over_url(), **HAND_OVER | {"containers": ["W-1", "W-2"]})

    assert answer.status_code == 303
    assert Movement.objects.filter(kind="handover").count() == 2


def test_hand_over_sent_twice_is_handed_over_once(
    ben_client: Client, drum: WasteContainer, send
) -> None:
    """The second copy comes when the container has left."""
    sent = HAND_OVER | {"key": str(uuid4())}
    answers = [send(ben_client, over_url(), **sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert Consignment.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "written"),
    [
        ("carrier", ""),
        ("carrier", "x" * 121),
        ("document", ""),
        ("measured-W-1", "0"),
        ("measured-W-1", "5001"),
        ("measured-W-1", "full"),
        ("containers", ["W-7"]),
        ("containers", []),
        ("happened_at", "31.02.2026"),
    ],
)
def test_hand_over_refuses_beside_the_field_and_keeps_it(
    ben_client: Client, drum: WasteContainer, field: str, written: str | list[str], send
) -> None:
    answer = send(ben_client, over_url(), **HAND_OVER | {field: written})

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == written
    assert not Consignment.objects.exists()


def test_hand_over_of_what_is_gone_or_empty_leads_back(
    ben_client: Client, drum: WasteContainer, told
) -> None:
    gone(drum)
    answer = ben_client.get(over_url())

    assert answer["Location"] == reverse("chemistry:container", args=["W-1"])
    assert "Handed over to River Carriers on 2 March 2026" in told(answer)[0]


def test_waste_lists_what_was_handed_over(ada_client: Client, drum: WasteContainer) -> None:
    left = gone(drum)
    text = text_of(ada_client.get(WASTE))

    assert reverse("chemistry:consignment", args=[left.pk]) in text
    assert "No container is open" in text


def test_an_unknown_consignment_is_not_found(ada_client: Client) -> None:
    assert ada_client.get(reverse("chemistry:consignment", args=[7])).status_code == 404
