"""How the pages behave, whichever sum it is."""

from __future__ import annotations

import types

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape
from pytest_django import DjangoAssertNumQueries

from chemistry.bench.house import Bench
from chemistry.bench.registry import BY_SLUG, SUMS, found_in
from chemistry.bench.sum import Group
from tests.chemistry.bench.conftest import Ask, page_text, shown, url
from tests.factories.chemistry import TimePointFactory, mixed_batch
from tests.factories.darkroom import FormatFactory

LIST = reverse("chemistry:bench")
HTMX = {"HX-Request": "true", "HX-Target": "answer"}
FIGURES = {"dilution": "1+9", "total_ml": "500"}
SLUGS = [one.slug for one in SUMS]


def test_bench_lists_every_sum_with_an_example(ada_client: Client) -> None:
    FormatFactory()
    text = page_text(ada_client.get(LIST))

    assert [slug for slug in SLUGS if f'href="{url(slug)}"' not in text] == []
    assert text.count("For example:") == len(SLUGS)
    assert "50 mL of stock and 450 mL of water make 500 mL of 1+9." in text


def test_bench_has_no_two_sums_of_one_name() -> None:
    assert len(BY_SLUG) == len(SUMS)
    assert [one.group for one in SUMS] == sorted((one.group for one in SUMS), key=[*Group].index)


def test_bench_takes_a_new_module_as_it_comes(tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "newsums"
    folder.mkdir()
    (folder / "__init__.py").touch()
    (folder / "rounds.py").write_text(
        "from chemistry.bench.registry import SUMS as _all\nSUMS = _all[-1:]\n"
    )
    monkeypatch.syspath_prepend(tmp_path)
    package = types.ModuleType("newsums")
    package.__path__ = [str(folder)]

    assert found_in(package) == SUMS[-1:]


def test_bench_stands_in_the_navigation(ada_client: Client) -> None:
    items = {item.label: item for item in ada_client.get(url("dilution")).context["nav"]}

    assert (items["Bench sums"].url, items["Bench sums"].is_current) == (LIST, True)


@pytest.mark.parametrize("who", ["ada_client", "ben_client", "aud_client"])
def test_bench_is_open_to_all_members(who: str, request: pytest.FixtureRequest) -> None:
    client = request.getfixturevalue(who)

    assert [client.get(LIST).status_code, client.get(url("dilution")).status_code] == [200, 200]


def test_bench_is_kept_from_strangers(client: Client, db: None) -> None:
    assert [client.get(LIST).status_code, client.get(url("time")).status_code] == [302, 302]


def test_bench_only_reads(ada_client: Client) -> None:
    answers = [ada_client.post(LIST), ada_client.post(url("dilution"), FIGURES)]

    assert [answer.status_code for answer in answers] == [405, 405]


def test_unknown_sum_is_not_found(ada_client: Client) -> None:
    assert ada_client.get(url("no-such")).status_code == 404


@pytest.mark.parametrize("slug", SLUGS)
def test_sum_opens_empty_with_an_example(ask: Ask, bench: Bench, slug: str) -> None:
    FormatFactory()
    page = ask(slug)
    text = page_text(page)

    assert (page.status_code, page.context["answer"]) == (200, None)
    assert 'class="errors"' not in text
    assert f"?{page.context['example']}".replace("&", "&amp;") in text
    assert f"<title>{escape(BY_SLUG[slug].title)}" in text


@pytest.mark.parametrize("slug", SLUGS)
def test_sum_says_how_it_was_reached(ask: Ask, bench: Bench, slug: str) -> None:
    FormatFactory()
    page = ask(slug, **BY_SLUG[slug].example(bench))
    answer, text = page.context["answer"], page_text(page)

    assert page.status_code == 200
    assert all((answer.sentence, answer.formula, answer.law, answer.steps, answer.holds))
    assert [used for used in answer.used if not (used.says and used.source and used.standing)] == []
    assert "How it was reached" in text
    assert "Where it holds." in text


def test_sum_is_answered_without_javascript_and_keeps_the_figures(ask: Ask) -> None:
    page = ask("dilution", **FIGURES)
    text = page_text(page)

    assert shown(page) == ["50 mL", "450 mL"]
    assert "<html" in text
    assert 'method="get"' in text
    assert 'value="1+9"' in text
    assert 'value="500"' in text


def test_sum_is_answered_in_place_while_somebody_types(ada_client: Client) -> None:
    fragment = ada_client.get(url("dilution"), FIGURES, headers=HTMX)
    text = page_text(fragment)

    assert fragment.status_code == 200
    assert "<b>450</b>" in text
    assert "<html" not in text
    assert "<input" not in text
    assert {"HX-Request", "HX-Target"} <= set(fragment["Vary"].split(", "))


def test_sum_typed_half_asks_for_the_rest_without_complaint(ada_client: Client) -> None:
    half = {"dilution": "1+9", "total_ml": ""}
    fragment = ada_client.get(url("dilution"), half, headers=HTMX)
    page = ada_client.get(url("dilution"), half)

    assert (fragment.status_code, page.status_code) == (200, 422)
    assert "Still needed: Working solution wanted." in page_text(fragment)
    assert 'class="errors"' not in page_text(fragment)
    assert 'class="errors"' in page_text(page)


def test_sum_typed_wrong_puts_the_complaint_beside_its_field(ada_client: Client) -> None:
    wrong = FIGURES | {"dilution": "1:9"}
    text = page_text(ada_client.get(url("dilution"), wrong, headers=HTMX))
    slot = text.split('id="id_dilution_slot"')[1].split("</div>")[0]
    other = text.split('id="id_total_ml_slot"')[1].split("</div>")[0]

    assert 'hx-swap-oob="true"' in slot
    assert "is read in two ways" in slot
    assert "<li>" not in other
    assert "No answer yet" in text


def test_sum_mended_takes_the_complaint_away(ada_client: Client) -> None:
    text = page_text(ada_client.get(url("dilution"), FIGURES, headers=HTMX))
    slot = text.split('id="id_dilution_slot"')[1].split("</div>")[0]

    assert 'hx-swap-oob="true"' in slot
    assert "<li>" not in slot


def test_sum_asked_for_something_else_gives_the_page(ada_client: Client) -> None:
    headers = HTMX | {"HX-Target": "content"}

    assert "<html" in page_text(ada_client.get(url("dilution"), FIGURES, headers=headers))


@pytest.mark.parametrize(
    "slug", [one.slug for one in SUMS if one.slug in {"dilution", "stock", "strength", "weaken"}]
)
def test_caution_about_acids_stands_before_the_amounts(ask: Ask, bench: Bench, slug: str) -> None:
    text = page_text(ask(slug, **BY_SLUG[slug].example(bench)))

    assert text.index("acid goes into water, never water into acid") < text.index('id="answer"')
    assert text.index("safety data sheet") < text.index('id="answer"')


@pytest.mark.parametrize("count", [1, 3])
def test_bench_asks_the_database_little(
    ada_client: Client,
    django_assert_num_queries: DjangoAssertNumQueries,
    bench: Bench,
    count: int,
) -> None:
    for n in range(count):
        FormatFactory(name=f"Size {n}")
        TimePointFactory()
        mixed_batch()

    with django_assert_num_queries(4):
        ada_client.get(LIST)


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(
    ("slug", "queries"), [("dilution", 3), ("time", 5), ("colour-drift", 4), ("left", 7)]
)
def test_sum_asks_the_database_little(
    ada_client: Client,
    django_assert_num_queries: DjangoAssertNumQueries,
    bench: Bench,
    slug: str,
    queries: int,
    count: int,
) -> None:
    for n in range(count):
        FormatFactory(name=f"Size {n}")
        TimePointFactory()
        mixed_batch()
    example = BY_SLUG[slug].example(bench)

    with django_assert_num_queries(queries):
        ada_client.get(url(slug), example)
