"""A real Chromium at phone width, against the application served in this process."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from darkroom.models import Member

PHONE = {"width": 360, "height": 780}
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# The browser says of a refused form's 422 that it failed to load, and htmx says aloud that it gave
# up a question because a newer one replaced it.
NO_FAULT = ("status of 422", "htmx:afterRequest", "htmx:sendAbort")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        if os.environ.get("WETSIDE_REQUIRE_BROWSER") == "1":
            pytest.fail(
                "Chromium is required here (WETSIDE_REQUIRE_BROWSER=1) and is not installed"
            )
        pytest.skip("needs Chromium: install Debian's package chromium to run the browser journeys")
    # Playwright's event loop lives in this thread; without this Django refuses the ORM beside it.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


class Visitor:
    """One person with one browser; keeps what the page complained of."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.context = context
        self.address = address
        self.page: Page = context.new_page()
        self.complaints: list[str] = []
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("console", self._hear)

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type == "error" and not any(said in message.text for said in NO_FAULT):
            self.complaints.append(message.text)

    def go(self, path: str) -> Page:
        self.page.goto(self.address + path)
        return self.page

    def sign_in(self, member: Member) -> None:
        """Signed in as by the form; the form itself has its own journey."""
        client = Client()
        client.force_login(member)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
        self.context.clear_cookies()
        self.context.add_cookies(
            [{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": self.address}]
        )


@pytest.fixture
def visitor(chromium: Browser, live_server: object) -> Iterator[Visitor]:
    context = chromium.new_context(viewport=PHONE, locale="en-GB")
    context.set_default_timeout(10_000)
    person = Visitor(context, str(live_server))
    yield person
    context.close()
    assert person.complaints == []
