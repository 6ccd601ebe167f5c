"""Every page that a steward is led to, under axe, in white light and in red, on a phone."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from urllib.parse import urlencode, urljoin, urlsplit
from uuid import uuid4

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import Resolver404, resolve, reverse
from django.utils import timezone
from playwright.sync_api import Page

from chemistry.models import Role
from chemistry.stopping import stop_batch
from darkroom.models import Agitation, Member
from darkroom.models import Role as MemberRole
from sessions.recording import BathDraft, RunDraft, record_run
from tests.browser.conftest import Visitor
from tests.factories.chemistry import mixed_batch, replenished_way
from tests.factories.darkroom import NOW
from tests.factories.sessions import Bench, bench

# fmt: off
OF_SESSIONS = (
    "today", "plan", "visits", "visit", "visit-move", "visit-cancel", "record",
    "record-loose", "run", "run-void", "shelf", "batch", "equipment", "equipment-item",
    "notices", "calendars", "inductions", "checks",
)
OF_CHEMISTRY = (
    "mix", "mix-recipe", "batch-replenish", "batch-pour", "batch-stop", "batch-release",
    "waste", "container-open", "recipes", "recipe", "recipe-figures", "bench",
    "bench-sum", "audit", "audit-entries",
)
# fmt: on
MAIN = {
    *(f"sessions:{name}" for name in OF_SESSIONS),
    *(f"chemistry:{name}" for name in OF_CHEMISTRY),
}
RED_CONTRAST = "axe.run({runOnly: ['color-contrast']}).then(found => found.violations)"
"""The two lights differ in the one attribute that gives them their colours, and in nothing else."""

pytestmark = pytest.mark.django_db(transaction=True)


def test_no_page_keeps_anybody_out(visitor: Visitor) -> None:
    ben = Member.objects.create_member(
        email="ben@house.example", name="Ben", role=MemberRole.STEWARD
    )
    start = lived_in(ben)
    visitor.sign_in(ben)

    pages, found = walk(visitor, start)

    assert pages.keys() >= MAIN
    assert found == []


def lived_in(ben: Member) -> str:
    """A house with bottles good and bad, a run, a session ahead; where planning it went."""
    house = bench()
    mixed_batch(replenished_way())
    record_run(draft=draft(house), key=uuid4(), by=ben, at=NOW)
    now = timezone.now()
    noon = (now + timedelta(days=1)).replace(hour=12, minute=0, second=0, microsecond=0)
    house.book(ben, starts_at=noon, at=now)
    spoilt = mixed_batch(house.fixer)
    stop_batch(batch=spoilt, seen="Cloudy", key=uuid4(), by=ben, at=now)
    ask = {"sheets": 6, "format": house.four_by_five.pk, "film": house.film.pk}
    return f"{reverse('sessions:plan')}?{urlencode(ask)}"


def draft(house: Bench) -> RunDraft:
    by_role = {Role.DEVELOPER: "developer", Role.STOP: "stop", Role.FIXER: "fixer"}
    return RunDraft(
        process=house.process,
        vessel=house.tank,
        agitation=Agitation.INVERSION,
        film=house.film,
        index=100,
        format=house.four_by_five,
        sheets=4,
        happened_at=NOW - timedelta(hours=1),
        baths=tuple(
            BathDraft(
                step=step,
                batch=house.bottles.get(by_role.get(step.role, "")),
                poured_ul=450_000,
                minutes=Decimal(step.minutes or 8),
            )
            for step in house.steps
        ),
    )


def walk(visitor: Visitor, start: str) -> tuple[dict[str, str], list[str]]:
    """One page of every kind that links lead to, and what axe finds on them."""
    waiting, pages, found = [start, "/"], dict[str, str](), list[str]()
    while waiting:
        path = waiting.pop(0)
        kind = kind_of(path)
        if kind is None or kind in pages:
            continue
        pages[kind] = path
        page = visitor.go(path)
        waiting += links(page)
        found += faults(page)
    return pages, found


def kind_of(path: str) -> str | None:
    """The name of its route; None for what is no page of ours."""
    place = urlsplit(path).path
    try:
        name = resolve(place).view_name
    except Resolver404:
        return None
    return None if place.endswith((".csv", ".ics")) else name


def links(page: Page) -> list[str]:
    found = page.locator("a[href]").evaluate_all("all => all.map(one => one.getAttribute('href'))")
    here = urlsplit(page.url)
    return [urljoin(f"{here.path}?{here.query}", href).partition("#")[0] for href in found]


def faults(page: Page) -> list[str]:
    """Also of what is folded away, and in the light that the page was not opened in."""
    page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true })")
    in_white = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    page.evaluate("document.documentElement.dataset.theme = 'low'")
    in_red = page.evaluate(RED_CONTRAST)
    return [
        f"{page.url} {one['id']}: {node['html'][:160]}"
        for one in (*in_white, *in_red)
        for node in one["nodes"]
    ]
