from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from darkroom.gallery import gallery_context
from darkroom.http import MemberRequest, steward_required


@steward_required
@require_GET
def components(request: MemberRequest) -> HttpResponse:
    """Every component once, for whoever changes the look of the house."""
    return render(request, "darkroom/components.html", gallery_context(timezone.now()))
