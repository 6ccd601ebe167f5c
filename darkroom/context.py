"""What every page knows: its theme and the way to the other pages."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

THEME_COOKIE = "theme"
THEMES = ("light", "low")
EVERYONE = frozenset({"member", "steward", "auditor", "administrator"})
STEWARDS = frozenset({"steward", "administrator"})
AUDITORS = STEWARDS | {"auditor"}


@dataclass(frozen=True)
class Place:
    """A page of the navigation. ``rank``: 1 in both bars, 2 in the top bar, 3 under More."""

    label: str
    icon: str
    url_name: str
    rank: int
    roles: frozenset[str] = EVERYONE


@dataclass(frozen=True)
class NavItem:
    label: str
    icon: str
    url: str
    rank: int
    is_current: bool


PLACES = (
    Place("Today", "today", "sessions:today", 1),
    Place("Plan", "plan", "sessions:plan", 1, EVERYONE - {"auditor"}),
    Place("Sessions", "clock", "sessions:visits", 2),
    Place("Shelf", "shelf", "sessions:shelf", 1),
    Place("Waste", "waste", "chemistry:waste", 1),
    Place("Equipment", "equipment", "sessions:equipment", 2),
    Place("Recipes", "recipes", "chemistry:recipes", 3),
    Place("Bench sums", "sums", "chemistry:bench", 3),
    Place("Calendars", "calendar", "sessions:calendars", 3, EVERYONE - {"auditor"}),
    Place("Inductions", "person", "sessions:inductions", 3),
    Place("Checks", "check", "sessions:checks", 3),
    Place("Audit", "audit", "chemistry:audit", 3, AUDITORS),
    Place("Notices", "notices", "sessions:notices", 3),
    Place("People", "people", "darkroom:people", 3, frozenset({"administrator"})),
    Place("House rules", "house", "darkroom:rules", 3, frozenset({"administrator"})),
    Place("Office", "office", "admin:index", 3, frozenset({"administrator"})),
)


def look(request: HttpRequest) -> dict[str, Any]:
    """The theme from its cookie, and the pages open to the reader's role."""
    user = getattr(request, "user", None)
    role = user.role if user is not None and user.is_authenticated else ""
    items = list(_nav(role, request.path))
    house = getattr(request, "house", None)
    return {
        "house_name": house.name if house else "",
        "theme": theme_of(request),
        "nav": items,
        "nav_bar": [item for item in items if item.rank < 3],
        "nav_bottom": [item for item in items if item.rank == 1],
        "nav_more": [item for item in items if item.rank == 3],
        "nav_more_phone": [item for item in items if item.rank > 1],
        "is_more_current": any(item.is_current and item.rank == 3 for item in items),
        "is_more_phone_current": any(item.is_current and item.rank > 1 for item in items),
    }


def theme_of(request: HttpRequest) -> str:
    theme = request.COOKIES.get(THEME_COOKIE, "")
    return theme if theme in THEMES else THEMES[0]


def _nav(role: str, path: str) -> Iterator[NavItem]:
    for place in PLACES:
        if role in place.roles:
            try:
                url = reverse(place.url_name)
            except NoReverseMatch:
                continue
            yield NavItem(place.label, place.icon, url, place.rank, _is_current(url, path))


def _is_current(url: str, path: str) -> bool:
    """True on the page and below it; the front page is above all and counts alone."""
    return path == url or (url != "/" and path.startswith(url))
