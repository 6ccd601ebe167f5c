from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from chemistry.codes import plausible
from chemistry.discarding import pour_out
from chemistry.forms.bottles import PourForm
from chemistry.meeting import classes_of
from chemistry.models import Batch, Stream
from chemistry.templatetags.amounts import ml
from chemistry.views.answers import attempt, bottle_or_404
from chemistry.views.bottle_drawing import drawing
from chemistry.views.cares import Cares, cares_of
from chemistry.views.drums import offered, open_containers
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, doing_required
from darkroom.models import Doing


@doing_required(Doing.POUR_OUT)
@require_http_methods(["GET", "HEAD", "POST"])
def pour(request: MemberRequest, code: str) -> HttpResponse:
    batch = bottle_or_404(request.user, code)
    cares = _cares(request, batch)
    form, status = _form(request, batch, cares), 200
    if form.is_bound:
        poured, status = attempt(form, lambda cleaned: _poured(request, batch, form))
        if poured is not None:
            messages.success(request, _says(poured, form))
            return see_other(request, reverse("sessions:batch", args=[batch.code]))
    context = {
        "batch": batch,
        "form": form,
        "cares": cares.found.values(),
        "is_gone": batch.discarded_at is not None and not form.is_bound,
        "waste_code": Stream(batch.stream).waste_code,
        "drawn": drawing(batch, at=form.at, rules=request.house),
    }
    return page(request, "chemistry/pour.html", context, status=status)


def _cares(request: MemberRequest, batch: Batch) -> Cares:
    named = plausible(request.POST.getlist("container"))
    room = offered(open_containers(also=named), batch.stream, also=named)
    return cares_of(classes_of(batch), room)


def _form(request: MemberRequest, batch: Batch, cares: Cares) -> PourForm:
    return PourForm(
        posted(request),
        containers=cares.containers,
        warned=cares.warned,
        blocked=cares.blocked,
        volume_ul=batch.account.balance,
        zone=request.house.tz,
        at=timezone.now(),
    )


def _poured(request: MemberRequest, batch: Batch, form: PourForm) -> Batch:
    return pour_out(
        batch=batch,
        container=form.cleaned_data["container"],
        volume_ul=form.cleaned_data["volume_ml"],
        is_accepted=form.cleaned_data.get("is_accepted", False),
        happened_at=form.cleaned_data["happened_at"],
        key=form.cleaned_data["key"],
        by=request.user,
        at=form.at,
    )


def _says(batch: Batch, form: PourForm) -> str:
    into = form.cleaned_data["container"]
    where = f"into {into.code}" if into else "and waits for a container"
    poured_ul = form.cleaned_data["volume_ml"]
    if batch.discarded_at is not None:
        return f"{batch.code} is poured out {where}; the bottle is empty."
    return f"{ml(poured_ul)} of {batch.code} are poured out {where}."
