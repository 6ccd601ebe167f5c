"""What the house decided for itself."""

from __future__ import annotations

from django.contrib import messages
from django.forms.models import model_to_dict
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from darkroom.forms import HouseRulesForm, WeekForm, posted
from darkroom.house import change_house_rules
from darkroom.http import MemberRequest, administrator_required
from darkroom.models import OpeningHours


@administrator_required
@require_http_methods(["GET", "POST"])
def rules(request: MemberRequest) -> HttpResponse:
    form = HouseRulesForm(posted(request), initial=model_to_dict(request.house))
    week = WeekForm(posted(request), initial=WeekForm.initial_of(OpeningHours.objects.all()))
    if request.method == "POST" and all([form.is_valid(), week.is_valid()]):
        change_house_rules(
            form.cleaned_data, week=week.cleaned_data["week"], by=request.user, at=timezone.now()
        )
        messages.success(request, "The house rules are saved.")
        return redirect("darkroom:rules")
    status = 422 if form.errors or week.errors else 200
    return render(request, "darkroom/rules.html", {"form": form, "week": week}, status=status)
