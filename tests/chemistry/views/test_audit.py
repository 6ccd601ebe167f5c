"""The audit: figures, the entries behind them, the same again later, the table as CSV."""

from __future__ import annotations

import csv
from datetime import timedelta
from io import StringIO
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from chemistry import audit
from chemistry.discarding import pour_out
from chemistry.models import Batch, LedgerHead, Stream
from tests.factories.chemistry import mixed_batch, opened_container, reused_way
from tests.factories.darkroom import NOW, StewardFactory

AUDIT = reverse("chemistry:audit")
ENTRIES = reverse("chemistry:audit-entries")
CSV = reverse("chemistry:audit-csv")
MARCH = {"since": "2026-03-01", "until": "2026-03-31"}
FIXER_OUT = MARCH | {"stream": "fixer", "part": "in"}


def poured(batch: Batch, *, ml: float | None = None, **moment) -> None:
    """Into a container of its stream, now unless told otherwise."""
    pour_out(
        batch=batch,
        container=opened_container(Stream(batch.stream)),
        volume_ul=None if ml is None else round(ml * 1000),
        key=uuid4(),
        by=StewardFactory(),
        **{"happened_at": NOW, "at": NOW} | moment,
    )


@pytest.fixture
def fixer(db: None) -> Batch:
    """A litre mixed on the first of March, of which a third was poured out."""
    fixer = mixed_batch(volume_ml=1000)
    poured(fixer, ml=333.333)
    return fixer


def cells(response, stream: str = "fixer") -> dict[str, int]:
    (line,) = [line for line in response.context["lines"] if line.stream == stream]
    return {cell.part: cell.ul for cell in line.cells}


def text_of(response) -> str:
    return response.content.decode().replace("\u00a0", " ")


@pytest.mark.parametrize("who", ["aud_client", "ben_client", "adm_client"])
def test_audit_is_open_to_who_may_audit(
    who: str, fixer: Batch, request: pytest.FixtureRequest
) -> None:
    client = request.getfixturevalue(who)
    answers = [client.get(AUDIT), client.get(ENTRIES, FIXER_OUT), client.get(CSV)]

    assert [answer.status_code for answer in answers] == [200, 200, 200]


@pytest.mark.parametrize("address", [AUDIT, ENTRIES, CSV])
def test_audit_is_kept_from_members(ada_client: Client, address: str) -> None:
    assert ada_client.get(address, FIXER_OUT).status_code == 403


@pytest.mark.parametrize("address", [AUDIT, ENTRIES, CSV])
def test_audit_is_only_read(ben_client: Client, aud_client: Client, address: str) -> None:
    assert ben_client.post(address).status_code == 405
    assert aud_client.post(address).status_code == 403


def test_audit_shows_the_quarter_unless_asked(aud_client: Client, fixer: Batch) -> None:
    page = aud_client.get(AUDIT)

    assert "1 January 2026 to 31 March 2026, both days included" in text_of(page)
    assert cells(page) == {
        "opening": 0, "in": 1_000_000, "unexplained": 0, "out": 0, "loss": 0, "closing": 1_000_000
    }  # fmt: skip


def test_audit_shows_every_microlitre_and_its_seal(aud_client: Client) -> None:
    mixed_batch(reused_way(), volume_ml=1)
    text = text_of(aud_client.get(AUDIT))

    assert '1<span class="soft small">.000</span>' in text
    assert LedgerHead.objects.get().hash in text
    assert "Both sides agree to the microlitre." in text


def test_audit_days_are_the_house_s(aud_client: Client, house, fixer: Batch) -> None:
    """In Lisbon a day of July begins an hour before that of UTC."""
    house.zone = "Pacific/Auckland"
    house.save()
    mixed_at_auckland = "2026-03-02"

    page = aud_client.get(AUDIT, {"since": mixed_at_auckland, "until": mixed_at_auckland})

    assert cells(page)["in"] == 1_000_000


@pytest.mark.parametrize(
    ("field", "written"),
    [
        ("since", "1.3.2026"),
        ("since", ""),
        ("until", "2026-02-30"),
        ("until", "2026-02-28"),
        ("until", "9999-12-31"),
        ("since", "0001-01-01"),
        ("up_to", "-1"),
        ("up_to", "99"),
        ("up_to", "last"),
        ("up_to", "9" * 5000),
    ],
)
@pytest.mark.parametrize("address", [AUDIT, CSV, ENTRIES])
def test_audit_refuses_beside_the_field_and_keeps_it(
    aud_client: Client, fixer: Batch, address: str, field: str, written: str
) -> None:
    answer = aud_client.get(address, FIXER_OUT | {field: written})

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == written


def test_audit_gives_the_same_again_and_lists_what_came_later(
    aud_client: Client, fixer: Batch
) -> None:
    first = aud_client.get(AUDIT, MARCH)
    seq = first.context["report"].seq
    mixed_batch(reused_way(), happened_at=NOW - timedelta(hours=1), at=NOW)
    again = aud_client.get(AUDIT, MARCH | {"up_to": seq})

    assert cells(again) == cells(first)
    assert again.context["report"].hash == first.context["report"].hash
    assert "1 entry, not counted above" in text_of(again)
    assert [entry.seq for entry in again.context["later"]] == [seq + 1]
    assert cells(aud_client.get(AUDIT, MARCH))["in"] == 2_000_000


def test_audit_leads_to_the_quarter_before(aud_client: Client, fixer: Batch) -> None:
    page = aud_client.get(AUDIT)
    before = aud_client.get(f"{AUDIT}?{page.context['earlier_query']}")

    assert "1 October 2025 to 31 December 2025" in text_of(before)
    assert set(cells(before).values()) == {0}


@pytest.mark.parametrize("part", audit.PARTS)
def test_entries_sum_to_their_figure(aud_client: Client, fixer: Batch, part: str) -> None:
    poured(mixed_batch(reused_way()), at=NOW)
    figure = cells(aud_client.get(AUDIT, MARCH))[part]
    page = aud_client.get(ENTRIES, FIXER_OUT | {"part": part})

    assert sum(line.adds_ul for line in page.context["counted"]) == figure
    assert page.context["total_ul"] == figure


def test_every_figure_leads_to_its_entries(aud_client: Client, fixer: Batch) -> None:
    page = aud_client.get(AUDIT)
    query = page.context["fixed_query"].replace("&", "&amp;")
    link = f"{ENTRIES}?{query}&amp;stream=fixer&amp;part=in"

    assert link in text_of(page)
    assert "F-1" in text_of(aud_client.get(link.replace("&amp;", "&")))


@pytest.mark.parametrize(("field", "written"), [("stream", "soup"), ("part", "all"), ("part", "")])
def test_entries_refuse_an_unknown_figure(aud_client: Client, field: str, written: str) -> None:
    answer = aud_client.get(ENTRIES, FIXER_OUT | {field: written})

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]


def test_entries_come_in_pages_that_keep_the_question(aud_client: Client) -> None:
    way = reused_way()
    for _ in range(101):
        mixed_batch(way)
    first = aud_client.get(ENTRIES, FIXER_OUT)
    second = aud_client.get(f"{ENTRIES}?{first.context['query']}page=2")

    assert (len(first.context["counted"]), len(second.context["counted"])) == (100, 1)
    assert first.context["query"].replace("&", "&amp;") + "page=2" in text_of(first)


@pytest.mark.parametrize("rows", [3, 30])
def test_entries_ask_the_database_the_same_for_many(
    aud_client: Client, rows: int, django_assert_num_queries
) -> None:
    way = reused_way()
    for _ in range(rows):
        mixed_batch(way)
    aud_client.get(ENTRIES, FIXER_OUT)

    with django_assert_num_queries(10):
        aud_client.get(ENTRIES, FIXER_OUT)


@pytest.mark.parametrize("rows", [3, 30])
def test_audit_asks_the_database_the_same_for_many(
    aud_client: Client, rows: int, django_assert_num_queries
) -> None:
    way = reused_way()
    for _ in range(rows):
        poured(mixed_batch(way))
    seq = LedgerHead.objects.get().seq
    for _ in range(rows):
        mixed_batch(way, happened_at=NOW, at=NOW)
    asked = MARCH | {"up_to": seq}
    aud_client.get(AUDIT, asked)

    with django_assert_num_queries(10):
        aud_client.get(AUDIT, asked)


def test_csv_gives_the_figures_of_the_page(aud_client: Client, fixer: Batch) -> None:
    answer = aud_client.get(CSV, MARCH)
    rows = list(csv.DictReader(StringIO(answer.content.decode())))
    (line,) = [row for row in rows if row["stream"] == "Fixer"]

    name = f"waste-2026-03-01-2026-03-31-entry-{LedgerHead.objects.get().seq}.csv"
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == f'attachment; filename="{name}"'
    assert (line["in_ml"], line["closing_ml"], line["balanced"]) == ("1000.000", "1000.000", "yes")


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("Fixer", "Fixer"),
        ("09 01 04*", "09 01 04*"),
        ("=1+1", "'=1+1"),
        ("+49", "'+49"),
        ("-cmd", "'-cmd"),
        ("@sum", "'@sum"),
        ("  =1", "'  =1"),
        ("\t=1", "'\t=1"),
        ("", ""),
    ],
)
def test_csv_never_hands_a_formula_to_a_spreadsheet(text: str, cell: str) -> None:
    assert list(audit.plain_cells([text])) == [cell]
