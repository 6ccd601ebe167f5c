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
    line = next(iter(visit.lines.all()))
    ways = [one.way for one in visit.allotments.all() if one.step.role == Role.DEVELOPER]
    own = {}
    if line.own_minutes is not None:
        own = {"own_minutes": clock_text(line.own_minutes), "temp_c": f"{line.temp_c:f}"}
    return _url(line, visit.agitation, ways, own)


def run_again_url(run: Run) -> str:
    """The planning page, asked for one load like this run."""
    baths = run.baths.select_related("batch__way__version__recipe", "step")
    ways = [bath.batch.way for bath in baths if bath.batch and bath.step.role == Role.DEVELOPER]
    return _url(run, run.agitation, ways, {})


def _url(
    what: SessionLine | Run, agitation: str, ways: Iterable[WayOfUse], own: dict[str, str]
) -> str:
    asked: dict[str, Any] = {
        "sheets": what.sheets,
        "format": what.format_id,
        "film": what.film_id,
        "index": what.index,
        "developer": next((developer_key(way) for way in ways), ""),
        "agitation": agitation,
    }
    return f"{reverse('sessions:plan')}?{urlencode(asked | own)}"
