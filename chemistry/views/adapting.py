"""A steward enters the house's own figures and times."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from chemistry.adapting import adapt_recipe
from chemistry.calibrating import add_time_row
from chemistry.catalogue.recipes import dilutions, latest_version
from chemistry.forms.recipes import FiguresForm, TimesForm
from chemistry.models import Recipe, RecipeVersion, Role, TimeRow
from chemistry.views.answers import attempt
from chemistry.views.ways import dilution_text
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, steward_required


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def figures(request: MemberRequest, code: str) -> HttpResponse:
    recipe, latest = _recipe_or_404(code)
    form = FiguresForm(posted(request), version=latest, ways=latest.ways.all())
    status = 200
    if form.is_bound:
        version, status = attempt(form, lambda cleaned: _adapted(request, recipe, form))
        if version is not None:
            messages.success(request, f"{recipe} now has version {version.number}.")
            return see_other(request, reverse("chemistry:recipe", args=[recipe.code]))
    context = {"recipe": recipe, "form": form}
    return page(request, "chemistry/recipe_figures.html", context, status=status)


def _adapted(request: MemberRequest, recipe: Recipe, form: FiguresForm) -> RecipeVersion:
    """Against the version the steward looked at, so that a newer one is not written over."""
    seen = get_object_or_404(recipe.versions, number=form.cleaned_data["version"])
    return adapt_recipe(
        version=seen,
        figures=form.figures(),
        amounts=form.amounts(),
        key=form.cleaned_data["key"],
        by=request.user,
        at=timezone.now(),
    )


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def times(request: MemberRequest, code: str) -> HttpResponse:
    recipe, latest = _recipe_or_404(code)
    if recipe.role != Role.DEVELOPER:
        raise Http404
    used = [(f"{n.normalize():f}", dilution_text(n)) for n in sorted(dilutions(latest))]
    form = TimesForm(posted(request), dilutions=used)
    status = 200
    if form.is_bound:
        row, status = attempt(form, lambda cleaned: _added(request, recipe, cleaned))
        if row is not None:
            messages.success(request, f"The time for {row.film} is entered as the house's own.")
            return see_other(request, reverse("chemistry:recipe", args=[recipe.code]))
    context = {"recipe": recipe, "form": form}
    return page(request, "chemistry/recipe_times.html", context, status=status)


def _added(request: MemberRequest, recipe: Recipe, cleaned: dict[str, Any]) -> TimeRow:
    return add_time_row(developer=recipe, by=request.user, at=timezone.now(), **cleaned)


def _recipe_or_404(code: str) -> tuple[Recipe, RecipeVersion]:
    recipe = get_object_or_404(Recipe, code=code)
    latest = latest_version(recipe)
    if latest is None:
        raise Http404
    return recipe, latest
