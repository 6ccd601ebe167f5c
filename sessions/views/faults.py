from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from chemistry.views.answers import attempt
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, steward_required, writer_required
from sessions.faults import report_fault, resolve_fault
from sessions.forms.faults import FaultForm, ResolveForm
from sessions.models import Fault
from sessions.views.maintenance import item_url, piece_or_404


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def equipment_fault(request: MemberRequest, code: str) -> HttpResponse:
    now, piece = timezone.now(), piece_or_404(code)
    form, status = FaultForm(posted(request)), 200
    if form.is_bound:
        fault, status = attempt(
            form,
            lambda got: report_fault(
                equipment=piece,
                seen=got["seen"],
                better_not_used=got["better_not_used"],
                key=got["key"],
                by=request.user,
                at=now,
            ),
        )
        if fault is not None:
            messages.success(request, "Reported. The stewards are told; thank you.")
            return see_other(request, item_url(piece))
    context = {"piece": piece, "form": form}
    return page(request, "sessions/equipment_fault.html", context, status=status)


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def fault_resolve(request: MemberRequest, pk: int) -> HttpResponse:
    now = timezone.now()
    faults = Fault.objects.select_related("equipment", "reported_by", "resolved_by")
    fault = get_object_or_404(faults, pk=pk)
    form, status = ResolveForm(posted(request)), 200
    if form.is_bound:
        done, status = attempt(
            form,
            lambda got: resolve_fault(
                fault=fault, resolution=got["resolution"], key=got["key"], by=request.user, at=now
            ),
        )
        if done is not None:
            messages.success(request, f"Done with: {fault.seen}")
            return see_other(request, item_url(fault.equipment))
    context = {"fault": fault, "form": form}
    return page(request, "sessions/fault_resolve.html", context, status=status)
