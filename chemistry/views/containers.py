"""One waste container: opened, looked into, handed over."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_safe

from chemistry.codes import plausible
from chemistry.forms.waste import HandOverForm, OpenContainerForm, measured
from chemistry.models import Consignment, Movement, Stream, WasteContainer
from chemistry.templatetags.amounts import ml
from chemistry.views.answers import attempt
from chemistry.views.drums import Drum, drum_of, open_containers
from chemistry.views.entries import entry_line, with_sides
from chemistry.waste import hand_over as hand_over_containers
from chemistry.waste import open_container
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, steward_required

PER_PAGE = 50


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def open_new(request: MemberRequest) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form = OpenContainerForm(
        data,
        fill_limit_pct=request.house.fill_limit_pct,
        stream=_asked_stream(request),
        zone=request.house.tz,
        at=timezone.now(),
    )
    status = 200
    if data is not None:
        found, status = attempt(form, lambda cleaned: _opened(request, form))
        if found is not None:
            messages.success(request, f"{found.code} is open and takes {ml(found.limit_ul)}.")
            return see_other(request, reverse("chemistry:container", args=[found.code]))
    return page(request, "chemistry/container_open.html", {"form": form}, status=status)


def _asked_stream(request: MemberRequest) -> str:
    asked = request.GET.get("stream", "")
    return asked if asked in Stream.values else ""


def _opened(request: MemberRequest, form: OpenContainerForm) -> WasteContainer:
    names = ("code", "stream", "fill_limit_pct", "happened_at", "key")
    given = {name: form.cleaned_data[name] for name in names}
    return open_container(
        **given, capacity_ul=form.cleaned_data["capacity_ml"], by=request.user, at=form.at
    )


@require_safe
def container(request: MemberRequest, code: str) -> HttpResponse:
    found = _container_or_404(code)
    drum = drum_of(found)
    account = Q(source=found.account) | Q(target=found.account)
    movements = with_sides(Movement.objects.filter(account)).order_by("-seq")
    sheet = Paginator(movements, PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "drum": drum,
        "says": _says(drum),
        "entries": [entry_line(movement, request.user) for movement in sheet],
        "page": sheet,
        "may_hand_over": request.user.is_steward and _can_leave(drum),
    }
    return page(request, "chemistry/container.html", context)


def _says(drum: Drum) -> str:
    gone = drum.container.consignment
    if gone is not None:
        day = date_format(timezone.localtime(gone.handed_over_at), "j F Y")
        return f"Handed over to {gone.carrier} on {day}, document {gone.document}."
    return f"{ml(drum.balance_ul)} in it, room for {ml(drum.room_ul)} up to its fill limit."


def _can_leave(drum: Drum) -> bool:
    return drum.container.consignment_id is None and drum.balance_ul > 0


def _container_or_404(code: str) -> WasteContainer:
    containers = WasteContainer.objects.select_related("account", "consignment")
    return get_object_or_404(containers, code=code)


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def hand_over(request: MemberRequest, code: str) -> HttpResponse:
    drum = drum_of(_container_or_404(code))
    if not _can_leave(drum) and request.method != "POST":
        messages.warning(request, f"There is nothing to hand over. {_says(drum)}")
        return see_other(request, reverse("chemistry:container", args=[code]))
    named = plausible(request.POST.getlist("containers"))
    held = [drum_of(one) for one in open_containers(also=named)]
    drums = [drum for drum in held if drum.balance_ul > 0 or drum.code in named]
    form = _hand_over_form(request, drums, code)
    status = 200
    if request.method == "POST":
        gone, status = attempt(form, lambda cleaned: _handed_over(request, form))
        if gone is not None:
            messages.success(request, f"Handed over to {gone.carrier}, document {gone.document}.")
            return see_other(request, reverse("chemistry:consignment", args=[gone.pk]))
    context = {"drum": drum, "form": form, "rows": _rows(form, drums)}
    return page(request, "chemistry/hand_over.html", context, status=status)


def _hand_over_form(request: MemberRequest, drums: list[Drum], code: str) -> HandOverForm:
    return HandOverForm(
        request.POST if request.method == "POST" else None,
        containers=[drum.container for drum in drums],
        chosen=code,
        zone=request.house.tz,
        at=timezone.now(),
    )


def _handed_over(request: MemberRequest, form: HandOverForm) -> Consignment:
    names = ("containers", "carrier", "document", "happened_at", "key")
    return hand_over_containers(
        **{name: form.cleaned_data[name] for name in names},
        quantities_ul=form.quantities_ul(),
        by=request.user,
        at=form.at,
    )


def _rows(form: HandOverForm, drums: list[Drum]) -> list[dict[str, Any]]:
    chosen = form["containers"].value() or []
    return [
        {"drum": drum, "is_chosen": drum.code in chosen, "field": form[measured(drum.code)]}
        for drum in drums
    ]
