"""The waste of the house: containers, what waits for one, what has left."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from chemistry.codes import plausible
from chemistry.forms.waste import PlaceForm
from chemistry.meeting import classes_waiting
from chemistry.models import Stream, WasteContainer
from chemistry.templatetags.amounts import ml
from chemistry.views.answers import attempt
from chemistry.views.cares import cares_of
from chemistry.views.consignments import consignment_lines, consignments
from chemistry.views.drums import (
    Drum,
    drum_of,
    offered,
    open_containers,
    stream_lines,
    unplaced_ul,
)
from chemistry.waste import place_unplaced
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, steward_required

PER_PAGE = 20


@require_safe
def overview(request: MemberRequest) -> HttpResponse:
    containers = list(open_containers())
    drums = [drum_of(container) for container in containers]
    waiting = unplaced_ul()
    sheet = Paginator(consignments(), PER_PAGE).get_page(request.GET.get("page"))
    context = {
        "says": _says(drums, waiting),
        "drums": drums,
        "heaps": _heaps(request, containers, waiting),
        "streams": stream_lines(drums, waiting),
        "consignments": consignment_lines(sheet),
        "page": sheet,
        "may_handle": request.user.is_steward,
    }
    return page(request, "chemistry/waste.html", context)


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def place(request: MemberRequest) -> HttpResponse:
    """Only for a stream of which something waits."""
    asked = request.POST if request.method == "POST" else request.GET
    stream = asked.get("stream", "")
    if stream not in Stream.values:
        raise Http404
    data = request.POST if request.method == "POST" else None
    containers = list(open_containers(also=_named(request)))
    heap = _heap(request, containers, stream, unplaced_ul().get(stream, 0), data)
    form, status = heap["form"], 200
    if data is not None:
        container, status = attempt(form, lambda cleaned: _placed(request, stream, form))
        if container is not None:
            amount = ml(form.cleaned_data["volume_ml"])
            messages.success(request, f"{amount} are in {container.code} now.")
            return see_other(request, reverse("chemistry:waste"))
    return page(request, "chemistry/place.html", {"heap": heap}, status=status)


def _placed(request: MemberRequest, stream: str, form: PlaceForm) -> WasteContainer:
    return place_unplaced(
        container=form.cleaned_data["container"],
        stream=stream,
        volume_ul=form.cleaned_data["volume_ml"],
        is_accepted=form.cleaned_data.get("is_accepted", False),
        happened_at=form.cleaned_data["happened_at"],
        key=form.cleaned_data["key"],
        by=request.user,
        at=form.at,
    )


def _heaps(
    request: MemberRequest, containers: list[WasteContainer], waiting: Mapping[str, int]
) -> list[dict[str, Any]]:
    """What waits, stream by stream."""
    return [
        _heap(request, containers, stream, balance_ul, None)
        for stream, balance_ul in waiting.items()
        if balance_ul > 0
    ]


def _heap(
    request: MemberRequest,
    containers: Iterable[WasteContainer],
    stream: str,
    balance_ul: int,
    data: Any,
) -> dict[str, Any]:
    heap = {"stream": stream, "label": Stream(stream).label, "balance_ul": balance_ul}
    if not request.user.is_steward:
        return heap
    room = offered(containers, stream, also=_named(request))
    cares = cares_of(classes_waiting(stream), room)
    form = PlaceForm(
        data,
        containers=cares.containers,
        warned=cares.warned,
        blocked=cares.blocked,
        waiting_ul=balance_ul,
        stream=stream,
        zone=request.house.tz,
        at=timezone.now(),
    )
    return heap | {"form": form, "has_room": bool(room), "cares": cares.found.values()}


def _named(request: MemberRequest) -> list[str]:
    return plausible(request.POST.getlist("container"))


def _says(drums: list[Drum], waiting: Mapping[str, int]) -> str:
    held, beside = sum(drum.balance_ul for drum in drums), sum(waiting.values())
    if not held and not beside:
        return "Nothing waits to be collected."
    says = f"{ml(held)} stand in {len(drums)} open container{'' if len(drums) == 1 else 's'}"
    full = [drum.code for drum in drums if drum.key == "full"]
    if full:
        says += f"; {', '.join(full)} {'is' if len(full) == 1 else 'are'} full"
    return f"{says}, {ml(beside)} beside them." if beside else f"{says}."
