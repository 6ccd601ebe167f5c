"""Answers that serve both a browser without JavaScript and htmx from the same view."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django_htmx.http import HttpResponseClientRedirect


def page(
    request: HttpRequest,
    template: str,
    context: Mapping[str, Any],
    *,
    partials: Collection[str] = (),
    status: int = 200,
) -> HttpResponse:
    """The page, or the one of its ``partials`` that htmx asked for.

    The set is closed: the target that a browser names chooses among what the view allows, and the
    context is the same either way.
    """
    asked = _asked_partial(request)
    name = f"{template}#{asked}" if asked in partials else template
    response = render(request, name, dict(context), status=status)
    patch_vary_headers(response, ("HX-Request", "HX-Target"))
    response["Cache-Control"] = "no-store"
    return response


def see_other(request: HttpRequest, url: str) -> HttpResponse:
    """Go to ``url``: 303, or for htmx a header, lest it swap a whole page into a fragment."""
    if getattr(request, "htmx", None):
        return HttpResponseClientRedirect(url)
    return HttpResponse(status=303, headers={"Location": url})


def _asked_partial(request: HttpRequest) -> str | None:
    htmx = getattr(request, "htmx", None)
    if not htmx or htmx.history_restore_request:
        return None
    return str(htmx.target)
