from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from chemistry.forms.bottles import SIGNS, ReleaseForm, StopForm
from chemistry.models import Batch
from chemistry.stopping import release_batch, stop_batch
from chemistry.views.answers import attempt, bottle_or_404
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, steward_required, writer_required


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def stop(request: MemberRequest, code: str) -> HttpResponse:
    batch = bottle_or_404(request.user, code)
    form, status = StopForm(posted(request)), 200
    if form.is_bound:
        stopped, status = attempt(
            form,
            lambda cleaned: stop_batch(
                batch=batch,
                seen=cleaned["seen"],
                key=cleaned["key"],
                by=request.user,
                at=timezone.now(),
            ),
        )
        if stopped is not None:
            messages.success(request, f"{batch.code} is stopped; nobody is offered it any more.")
            return _to_bottle(request, batch)
    context = {"batch": batch, "form": form, "signs": SIGNS}
    return page(request, "chemistry/stop.html", context, status=status)


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def release(request: MemberRequest, code: str) -> HttpResponse:
    batch = bottle_or_404(request.user, code)
    form, status = ReleaseForm(posted(request)), 200
    if form.is_bound:
        released, status = attempt(
            form,
            lambda cleaned: release_batch(
                batch=batch,
                reason=cleaned["reason"],
                key=cleaned["key"],
                by=request.user,
                at=timezone.now(),
            ),
        )
        if released is not None:
            messages.success(request, f"{batch.code} may be used again.")
            return _to_bottle(request, batch)
    open_stop = batch.stops.filter(released_at=None).select_related("stopped_by").first()
    context = {"batch": batch, "form": form, "stop": open_stop}
    return page(request, "chemistry/release.html", context, status=status)


def _to_bottle(request: MemberRequest, batch: Batch) -> HttpResponse:
    return see_other(request, reverse("sessions:batch", args=[batch.code]))
