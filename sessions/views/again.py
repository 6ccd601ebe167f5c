"""Running something again: the question to ask the planning page, as it was answered before.

Bottles, minutes and temperature are today's. Only an own time takes its temperature along, for at
another one it would not be the same time.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from chemistry.models import Role, WayOfUse
from sessions.forms.fields import clock_text
from sessions.means import developer_key
from sessions.models import Run, Session, SessionLine


def session_again_url(visit: Session) -> str:
    """The planning page, asked for what this session was booked for."""
    lines = list(visit.lines.all())
    ways = [one.way for one in visit.allotments.all() if one.step.role == Role.DEVELOPER]
    asked: dict[str, Any] = {}
    for number, line in enumerate(lines, start=1):
        asked |= _said(line, "" if number == 1 else f"_{number}")
    own = [line for line in lines if line.own_minutes is not None]
    if own:
        asked["temp_c"] = f"{own[0].temp_c:f}"
    return _url(asked, visit.agitation, ways)


def run_again_url(run: Run) -> str:
    """The planning page, asked for one load like this run."""
    baths = run.baths.select_related("batch__way__version__recipe", "step")
    ways = [bath.batch.way for bath in baths if bath.batch and bath.step.role == Role.DEVELOPER]
    return _url(_said(run), run.agitation, ways)


def _said(what: SessionLine | Run, suffix: str = "") -> dict[str, Any]:
    """One line as the planning form names it."""
    said: dict[str, Any] = {
        "sheets": what.sheets,
        "format": what.format_id,
        "film": what.film_id,
        "index": what.index,
    }
    if isinstance(what, SessionLine) and what.own_minutes is not None:
        said["own_minutes"] = clock_text(what.own_minutes)
    return {f"{name}{suffix}": value for name, value in said.items()}


def _url(asked: dict[str, Any], agitation: str, ways: Iterable[WayOfUse]) -> str:
    developer = next((developer_key(way) for way in ways), "")
    query = urlencode(asked | {"developer": developer, "agitation": agitation})
    return f"{reverse('sessions:plan')}?{query}"
