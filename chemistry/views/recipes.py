"""What the house mixes, with every figure and where it comes from."""

from __future__ import annotations

from django.db.models import Prefetch, QuerySet, prefetch_related_objects
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from chemistry.forms.fields import plain_ml
from chemistry.forms.recipes import VolumeForm
from chemistry.formulas import LITRE_UL, formula, missing_amounts
from chemistry.models import Process, Recipe, RecipeVersion, TimePoint, TimeRow, WayOfUse
from chemistry.views.hazards import hazard_lines, neighbours
from chemistry.views.ways import dilution_text, recipe_groups, way_card
from darkroom.htmx import page
from darkroom.http import MemberRequest
from darkroom.inducted import may
from darkroom.models import Doing


@require_safe
def overview(request: MemberRequest) -> HttpResponse:
    context = {
        "groups": recipe_groups(),
        "processes": Process.objects.all(),
        "may_mix": _may_mix(request),
    }
    return page(request, "chemistry/recipes.html", context)


@require_safe
def recipe(request: MemberRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Recipe, code=code)
    versions = list(found.versions.select_related("created_by"))
    version = _asked_version(request, versions)
    prefetch_related_objects([version], "ingredients", "hazards")
    context = _formula(request, version) | {
        "recipe": found,
        "version": version,
        "versions": versions,
        "is_latest": version == versions[0],
        "ways": [way_card(way) for way in _ways(version)],
        "times": _times(found),
        "hazards": hazard_lines(version),
        "neighbours": neighbours(version),
        "may_mix": _may_mix(request),
        "may_adapt": request.user.is_steward,
    }
    return page(request, "chemistry/recipe.html", context, partials={"formula"})


@require_safe
def process(request: MemberRequest, code: str) -> HttpResponse:
    found = get_object_or_404(Process, code=code)
    context = {"process": found, "steps": found.steps.all(), "figures": found.figures.all()}
    return page(request, "chemistry/process.html", context)


def _formula(request: MemberRequest, version: RecipeVersion) -> dict[str, object]:
    """What goes in, for the volume in the address or else for a litre."""
    asked = VolumeForm(request.GET if "volume_ml" in request.GET else None)
    volume_ul = asked.cleaned_data["volume_ml"] if asked.is_valid() else LITRE_UL
    asked.initial["volume_ml"] = plain_ml(volume_ul)
    return {
        "asked": asked,
        "volume_ul": volume_ul,
        "solutions": formula(version, volume_ul),
        "missing_amounts": missing_amounts(version),
    }


def _may_mix(request: MemberRequest) -> bool:
    return may(request.user, Doing.MIX, at=timezone.now())


def _asked_version(request: MemberRequest, versions: list[RecipeVersion]) -> RecipeVersion:
    """The latest unless an older one is asked for by its number."""
    asked = request.GET.get("version", "")
    for version in versions:
        if not asked or asked == str(version.number):
            return version
    raise Http404


def _ways(version: RecipeVersion) -> QuerySet[WayOfUse]:
    return version.ways.select_related("replenisher").prefetch_related("figures").order_by("way")


def _times(developer: Recipe) -> list[dict[str, object]]:
    """Printed times, film by film."""
    points = Prefetch("points", TimePoint.objects.order_by("temp_c"))
    rows = (
        TimeRow.objects.filter(developer=developer)
        .select_related("film")
        .prefetch_related(points)
        .order_by("film__name", "dilution_n", "index", "agitation")
    )
    return [{"row": row, "dilution": dilution_text(row.dilution_n)} for row in rows]
