from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.db import Error, connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@never_cache
@login_not_required
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """200 while the database answers, else 503."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        return JsonResponse({"database": "no answer"}, status=503)
    return JsonResponse({"database": "ok"})


health.needs_house = False  # type: ignore[attr-defined]
