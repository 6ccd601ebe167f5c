from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_safe

from chemistry.forms.mixing import AmountForm, MixForm
from chemistry.formulas import for_bottle
from chemistry.mixing import breakdown, mix_batch
from chemistry.models import Batch, Recipe, RecipeVersion, WayOfUse
from chemistry.templatetags.amounts import ml
from chemistry.views.answers import INVALID, attempt
from chemistry.views.hazards import hazard_lines, neighbours
from chemistry.views.ways import lacking, recipe_groups
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, doing_required
from darkroom.models import Doing, Member


@doing_required(Doing.MIX)
@require_safe
def choose(request: MemberRequest) -> HttpResponse:
    return page(request, "chemistry/mix.html", {"groups": recipe_groups()})


@doing_required(Doing.MIX)
@require_http_methods(["GET", "HEAD", "POST"])
def mix(request: MemberRequest, code: str) -> HttpResponse:
    """The amounts for a recipe; a posted form has been mixed, or only asks for the amounts."""
    recipe = get_object_or_404(Recipe, code=code)
    version = get_object_or_404(recipe.versions.prefetch_related("ingredients", "hazards")[:1])
    ways = list(version.ways.prefetch_related("figures").order_by("way"))
    open_ways = {way.way: way for way in ways if not lacking(way, version)}
    context = {
        "recipe": recipe,
        "version": version,
        "hazards": hazard_lines(version),
        "neighbours": neighbours(version),
        "blocked": _blocked(ways, version),
    }
    if not open_ways:
        return page(request, "chemistry/mix_recipe.html", context)
    if request.method == "POST" and "work_out" not in request.POST:
        return _mixed(request, context, open_ways)
    return _worked_out(request, context, open_ways)


def _blocked(ways: list[WayOfUse], version: RecipeVersion) -> list[dict[str, Any]]:
    return [
        {"title": f"{way.get_way_display()}: not yet", "missing": missing}
        for way in ways
        if (missing := lacking(way, version))
    ]


def _form(request: MemberRequest, ways: dict[str, WayOfUse], data: Any) -> MixForm:
    at = timezone.now()
    owners = Member.objects.filter(is_active=True)
    if not request.user.is_steward:
        owners = owners.filter(pk=request.user.pk)
    return MixForm(data, ways=list(ways.values()), owners=owners, zone=request.house.tz, at=at)


def _mixed(
    request: MemberRequest, context: dict[str, Any], ways: dict[str, WayOfUse]
) -> HttpResponse:
    form = _form(request, ways, request.POST)

    def act(cleaned: dict[str, Any]) -> Batch:
        return mix_batch(
            way=ways[cleaned["way"]],
            volume_ul=cleaned["volume_ml"],
            storage=cleaned["storage"],
            owner=cleaned["owner"],
            happened_at=cleaned["happened_at"],
            key=cleaned["key"],
            by=request.user,
            at=form.at,
        )

    batch, status = attempt(form, act)
    if batch is None:
        context |= {"form": form} | _amounts(request.POST, ways)
        return page(request, "chemistry/mix_recipe.html", context, status=status)
    messages.success(request, _says(batch))
    return see_other(request, reverse("sessions:batch", args=[batch.code]))


def _worked_out(
    request: MemberRequest, context: dict[str, Any], ways: dict[str, WayOfUse]
) -> HttpResponse:
    """The page with what was typed so far, and the amounts that follow from it."""
    asked = request.POST if request.method == "POST" else request.GET
    form = _form(request, ways, None)
    for name in asked.keys() & form.fields.keys():
        form.initial[name] = asked[name]
    amounts = _amounts(asked, ways) if asked.get("volume_ml") else {}
    status = INVALID if "amount_errors" in amounts else 200
    return page(
        request,
        "chemistry/mix_recipe.html",
        context | {"form": form} | amounts,
        partials={"mix-sum"},
        status=status,
    )


def _amounts(data: Any, ways: dict[str, WayOfUse]) -> dict[str, Any]:
    form = AmountForm(data)
    if form.is_valid() and form.cleaned_data["way"] in ways:
        way = ways[form.cleaned_data["way"]]
        parts = breakdown(way, form.cleaned_data["volume_ml"])
        made_ul = parts.total_ul if parts.concentrate_ul is None else parts.concentrate_ul
        now, beforehand = for_bottle(way.version, made_ul)
        return {"parts": parts, "now": now, "beforehand": beforehand}
    return {"amount_errors": form.errors.get("volume_ml", ["Choose a way of use first."])}


def _says(batch: Batch) -> str:
    says = f"{batch.code} is mixed: {ml(batch.full_ul)}"
    if batch.good_until is None:
        return f"{says}."
    return f"{says}, good until {date_format(timezone.localtime(batch.good_until), 'j F Y')}."
