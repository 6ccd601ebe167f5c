from __future__ import annotations

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from darkroom.context import THEME_COOKIE, THEMES
from darkroom.http import open_to_readers, path_here

YEAR_S = 365 * 24 * 3600


@login_not_required
@open_to_readers
@require_POST
def theme(request: HttpRequest) -> HttpResponse:
    """Keep the chosen light in a cookie and go back to where the reader was."""
    response = redirect(path_here(request, request.POST.get("next", "")) or "/")
    chosen = request.POST.get("theme", "")
    if chosen in THEMES:
        response.set_cookie(
            THEME_COOKIE,
            chosen,
            max_age=YEAR_S,
            secure=settings.SESSION_COOKIE_SECURE,
            httponly=True,
            samesite="Lax",
        )
    return response
