from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Exists, OuterRef, Q
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from chemistry.codes import plausible
from chemistry.forms.bottles import AddedForm, ReplenishForm
from chemistry.models import Batch, BatchStop, Figure, FigureName
from chemistry.replenishing import Suggestion, bled_ul, replenish_batch, suggestion
from chemistry.templatetags.amounts import ml
from chemistry.views.answers import INVALID, attempt, bottle_or_404
from chemistry.views.bottle_drawing import drawing
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, doing_required
from darkroom.inducted import doings
from darkroom.models import Doing


@doing_required(Doing.TOP_UP)
@require_http_methods(["GET", "HEAD", "POST"])
def replenish(request: MemberRequest, code: str) -> HttpResponse:
    """The suggested amount prefilled; another one shows at once what has to leave for it."""
    batch = bottle_or_404(request.user, code)
    wanted = suggestion(batch)
    form, status = _form(request, batch, wanted), 200
    if form.is_bound:
        done, status = attempt(form, lambda cleaned: _replenished(request, batch, form))
        if done is not None:
            amount = ml(form.cleaned_data["added_ml"])
            messages.success(request, f"{batch.code} is topped up by {amount}.")
            return see_other(request, reverse("sessions:batch", args=[batch.code]))
    bleed = _bleed(request, batch, wanted)
    context = {
        "batch": batch,
        "form": form,
        "suggestion": wanted,
        "heading": _heading(batch, wanted),
        "rate": _rate(batch),
        "may_do": doings(request.user, at=form.at),
        "drawn": drawing(batch, at=form.at, rules=request.house),
    }
    if "bleed_error" in bleed and not form.is_bound:
        status = INVALID
    return page(
        request, "chemistry/replenish.html", context | bleed, partials={"bleed"}, status=status
    )


def _form(request: MemberRequest, batch: Batch, wanted: Suggestion) -> ReplenishForm:
    return ReplenishForm(
        posted(request),
        sources=_sources(batch, also=plausible(request.POST.getlist("source"))),
        initial={"added_ml": request.GET.get("added_ml", wanted.added_ul or "")},
        zone=request.house.tz,
        at=timezone.now(),
    )


def _sources(batch: Batch, *, also: list[str]) -> dict[str, tuple[str, Batch]]:
    """Bottles it may be topped up from, the oldest first; ``also`` is what a form has named."""
    replenisher = batch.way.replenisher or batch.way.version.recipe
    is_stopped = Exists(BatchStop.objects.filter(batch=OuterRef("pk"), released_at=None))
    unused = Q(~is_stopped, discarded_at=None, used_mm2=0, owner=None, account__balance__gt=0)
    bottles = (
        Batch.objects.filter(unused | Q(code__in=also), way__version__recipe=replenisher)
        .exclude(pk=batch.pk)
        .select_related("account")
        .order_by("mixed_at", "pk")
    )
    return {one.code: (f"{one.code}, {ml(one.account.balance)} in it", one) for one in bottles}


def _replenished(request: MemberRequest, batch: Batch, form: ReplenishForm) -> Batch:
    return replenish_batch(
        batch=batch,
        added_ul=form.cleaned_data["added_ml"],
        source=form.cleaned_data["source"],
        happened_at=form.cleaned_data["happened_at"],
        key=form.cleaned_data["key"],
        by=request.user,
        at=form.at,
    )


def _bleed(request: MemberRequest, batch: Batch, wanted: Suggestion) -> dict[str, Any]:
    """What leaves first for the amount that is written, or for the suggested one."""
    asked = request.POST.get("added_ml", request.GET.get("added_ml"))
    added_ul = wanted.added_ul
    if asked is not None:
        form = AddedForm({"added_ml": asked})
        if not form.is_valid():
            return {"bleed_error": form.errors["added_ml"][0]}
        added_ul = form.cleaned_data["added_ml"]
    out_ul = bled_ul(batch.account.balance, added_ul, batch.full_ul)
    if not out_ul:
        return {"bleed_says": "Nothing has to leave for it: there is room up to the mark."}
    return {"bleed_says": f"First {ml(out_ul)} of the old bath leave, to make room."}


def _heading(batch: Batch, wanted: Suggestion) -> str:
    if wanted.refusal is not None:
        return f"{batch.code} is not topped up"
    if not wanted.added_ul:
        return f"Top up {batch.code}"
    return f"Top up {batch.code} by {ml(wanted.added_ul)}"


def _rate(batch: Batch) -> Figure | None:
    """The figure that the suggestion follows: of several by material the largest."""
    rates = [
        row
        for row in batch.way.figures.all()
        if row.name == FigureName.REPLENISH and row.value is not None
    ]
    return max(rates, key=lambda row: row.value or 0, default=None)
