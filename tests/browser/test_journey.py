"""From booking to disposal, on a phone, with nothing but what the pages offer."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from chemistry.verify import verify
from darkroom.models import Member, Role
from tests.browser.conftest import Visitor
from tests.factories.sessions import bench

PASSWORD = "a shallow tray of water"

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def house() -> tuple[Member, Member]:
    """A house with full bottles, a member and a steward."""
    bench()
    people = [("Ada", Role.MEMBER), ("Ben", Role.STEWARD)]
    ada, ben = (
        Member.objects.create_member(
            email=f"{name.lower()}@house.example", name=name, role=role, password=PASSWORD
        )
        for name, role in people
    )
    return ada, ben


def test_a_member_books_and_records_and_a_steward_clears_away(
    visitor: Visitor, house: tuple[Member, Member]
) -> None:
    sign_in(visitor, "ada@house.example")
    book_six_sheets(visitor.go("/plan/"))
    record_the_load(visitor.page, number=1)
    record_the_load(visitor.page, number=2)
    expect(visitor.page.get_by_text("This session is done.")).to_be_visible()

    visitor.context.clear_cookies()
    sign_in(visitor, "ben@house.example")
    fixer = code_on_the_shelf(visitor.go("/shelf/"), "Fixer")
    open_container(visitor.go("/waste/open/"), "Fixer", "W-1")
    pour_out(visitor.go(f"/shelf/{fixer}/"), "W-1")
    hand_over(visitor.go("/waste/W-1/"))

    page = visitor.go("/audit/")
    expect(page.get_by_text("Both sides agree to the microlitre.")).to_be_visible()
    # Tests switch the guard against emptying off; all else must hold.
    assert [fault for fault in verify().faults if fault.part != "guard"] == []


def test_the_focus_stays_on_the_day_that_was_chosen(
    visitor: Visitor, house: tuple[Member, Member]
) -> None:
    visitor.sign_in(house[0])
    page = visitor.go("/plan/")
    page.get_by_label("Film", exact=True).select_option(index=1)
    day = page.get_by_label("Days with a free start").get_by_role("link").nth(2)

    day.press("Enter")

    expect(page.locator("#book [aria-current]")).to_have_text(day.inner_text())
    expect(page.locator("#book [aria-current]")).to_be_focused()


def sign_in(visitor: Visitor, email: str) -> None:
    page = visitor.go("/sign-in/")
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("link", name="Plan a session").first).to_be_visible()


def book_six_sheets(page: Page) -> None:
    page.get_by_label("How many").fill("6")
    page.get_by_label("Film", exact=True).select_option(index=1)
    page.get_by_label("Format").select_option(label="4×5")
    page.get_by_role("button", name=re.compile("Show what would do|Ask again")).click()
    expect(page.get_by_role("heading", name="In what")).to_be_visible()
    page.locator("#book").get_by_text("18:00", exact=True).click()
    page.locator("#book").get_by_role("button", name=re.compile("Book it")).click()
    expect(page.get_by_role("heading", name=re.compile("Run card, load 1 of 2"))).to_be_visible()


def record_the_load(page: Page, *, number: int) -> None:
    page.get_by_role("link", name=re.compile("^Record (this run|the next load)$")).click()
    expect(page.get_by_role("heading", name=f"Record load {number} of 2")).to_be_visible()
    page.get_by_role("button", name="Record it").click()
    expect(page.get_by_role("heading", name="Recorded")).to_be_visible()


def code_on_the_shelf(page: Page, role: str) -> str:
    section = page.locator("section", has=page.get_by_role("heading", name=role, exact=True))
    return section.get_by_role("heading", level=3).first.inner_text()


def open_container(page: Page, stream: str, code: str) -> None:
    page.get_by_text(stream, exact=True).click()
    page.get_by_label("Code on the container").fill(code)
    page.get_by_label("Holds, up to the brim").fill("10000")
    page.get_by_role("button", name="Open it").click()
    expect(page.get_by_role("heading", name=re.compile(code)).first).to_be_visible()


def pour_out(page: Page, container: str) -> None:
    page.get_by_role("link", name="Pour out").click()
    page.get_by_text(re.compile(rf"^{container}")).first.click()
    page.get_by_role("button", name="It is poured out").click()
    expect(page.get_by_text(re.compile("poured", re.IGNORECASE)).first).to_be_visible()


def hand_over(page: Page) -> None:
    page.get_by_role("link", name="Hand over").click()
    page.get_by_label("Carrier").fill("Tidewater Carriage")
    page.get_by_label("document").fill("CN-0042")
    page.get_by_role("button", name="They are handed over").click()
    expect(page.get_by_text("CN-0042").first).to_be_visible()
