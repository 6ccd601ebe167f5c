"""What each role may open, what an auditor may send, and the pages that need nobody."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone
from django_htmx.middleware import HtmxMiddleware

from darkroom import htmx, http
from darkroom.middleware import House, ReadersOnlyRead
from darkroom.models import HouseRules, Member

COMPONENTS = reverse("darkroom:components")
THEME = reverse("darkroom:theme")
HEALTH = reverse("darkroom:health")


def view(request: HttpRequest) -> HttpResponse:
    return HttpResponse("open")


@pytest.mark.parametrize(
    ("guard", "let_in"),
    [
        (http.steward_required, {"ben", "adm"}),
        (http.administrator_required, {"adm"}),
        (http.auditor_required, {"ben", "aud", "adm"}),
        (http.writer_required, {"ada", "ben", "adm"}),
    ],
    ids=lambda value: getattr(value, "__name__", None),
)
def test_guard_lets_in_exactly_its_roles(
    guard: Callable[..., Callable[..., HttpResponse]],
    let_in: set[str],
    rf: RequestFactory,
    request: pytest.FixtureRequest,
) -> None:
    came_in = set()
    for who in ("ada", "ben", "aud", "adm"):
        visit = rf.get("/")
        visit.user = request.getfixturevalue(who)
        try:
            guard(view)(visit)
        except PermissionDenied:
            continue
        came_in.add(who)

    assert came_in == let_in


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_auditor_sends_nothing(rf: RequestFactory, aud: Member, method: str) -> None:
    visit = getattr(rf, method)("/")
    visit.user = aud

    with pytest.raises(PermissionDenied):
        ReadersOnlyRead(view).process_view(visit, view, (), {})


@pytest.mark.parametrize(("who", "method"), [("aud", "get"), ("aud", "head"), ("ada", "post")])
def test_reading_and_the_writing_of_others_pass(
    rf: RequestFactory, who: str, method: str, request: pytest.FixtureRequest
) -> None:
    visit = getattr(rf, method)("/")
    visit.user = request.getfixturevalue(who)

    assert ReadersOnlyRead(view).process_view(visit, view, (), {}) is None


def test_stewards_see_the_components_and_members_do_not(
    ben_client: Client, ada_client: Client
) -> None:
    statuses = [client.get(COMPONENTS).status_code for client in (ben_client, ada_client)]

    assert statuses == [200, 403]


def test_refusal_is_a_page_of_the_house(ada_client: Client) -> None:
    page = ada_client.get(COMPONENTS)

    assert "kept for others in the house" in page.content.decode()


@pytest.mark.parametrize("who", ["client", "ada_client", "aud_client"])
def test_theme_is_kept_in_a_cookie(db: None, who: str, request: pytest.FixtureRequest) -> None:
    client = request.getfixturevalue(who)

    answer = client.post(THEME, {"theme": "low", "next": "/sign-in/?a=b"})

    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?a=b")
    assert client.cookies["theme"].value == "low"
    assert (
        'data-theme="low"'
        in Client(headers={"Cookie": "theme=low"}).get(reverse("darkroom:sign-in")).content.decode()
    )


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "shelf", "//["])
def test_unknown_theme_and_other_places_are_ignored(
    db: None, client: Client, elsewhere: str
) -> None:
    answer = client.post(THEME, {"theme": "<b>", "next": elsewhere})

    assert answer["Location"] == "/"
    assert "theme" not in client.cookies
    assert client.get(THEME).status_code == 405


def test_health_is_told_to_whoever_asks(db: None, client: Client) -> None:
    answer = client.get(HEALTH)

    assert (answer.status_code, json.loads(answer.content)) == (200, {"database": "ok"})
    assert client.post(HEALTH).status_code == 405


def test_health_tells_a_database_that_does_not_answer(
    db: None, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> None:
        raise DatabaseError("gone")

    with monkeypatch.context() as patched:
        patched.setattr(connection, "cursor", refuse)
        assert client.get(HEALTH).status_code == 503


def test_pages_show_times_in_the_houses_zone(db: None, rf: RequestFactory) -> None:
    HouseRules.current()
    HouseRules.objects.update(zone="Asia/Tokyo")
    seen = []
    house = House(lambda request: view(request))

    def answer(request: HttpRequest) -> HttpResponse:
        house.process_view(request, view, (), {})
        seen.append(timezone.get_current_timezone_name())
        return HttpResponse()

    house.get_response = answer
    house(rf.get("/"))

    assert [*seen, timezone.get_current_timezone_name()] == ["Asia/Tokyo", "UTC"]


@pytest.mark.parametrize(
    ("headers", "template"),
    [
        ({}, "darkroom/people.html"),
        ({"HX-Request": "true", "HX-Target": "rows"}, "darkroom/people.html#rows"),
        ({"HX-Request": "true", "HX-Target": "secret"}, "darkroom/people.html"),
        ({"HX-Target": "rows"}, "darkroom/people.html"),
        (
            {
                "HX-Request": "true",
                "HX-Target": "rows",
                "HX-History-Restore-Request": "true",
            },
            "darkroom/people.html",
        ),
    ],
)
def test_browser_gets_only_the_partials_that_the_view_allows(
    rf: RequestFactory,
    monkeypatch: pytest.MonkeyPatch,
    headers: dict[str, str],
    template: str,
) -> None:
    asked = []

    def render(request: HttpRequest, name: str, context: object, status: int) -> HttpResponse:
        asked.append(name)
        return HttpResponse(status=status)

    monkeypatch.setattr(htmx, "render", render)
    visit = with_htmx(rf.get("/", headers=headers))

    answer = htmx.page(visit, "darkroom/people.html", {}, partials={"rows"}, status=422)

    assert (asked, answer.status_code) == ([template], 422)
    assert (answer["Vary"], answer["Cache-Control"]) == ("HX-Request, HX-Target", "no-store")


@pytest.mark.parametrize(
    ("headers", "status", "header"),
    [({}, 303, "Location"), ({"HX-Request": "true"}, 200, "HX-Redirect")],
)
def test_next_page_is_told_in_the_browsers_way(
    rf: RequestFactory, headers: dict[str, str], status: int, header: str
) -> None:
    answer = htmx.see_other(with_htmx(rf.post("/", headers=headers)), "/shelf/")

    assert (answer.status_code, answer[header]) == (status, "/shelf/")


def with_htmx(request: HttpRequest) -> HttpRequest:
    HtmxMiddleware(view)(request)
    return request
