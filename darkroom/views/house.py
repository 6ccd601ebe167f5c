"""What the house decided for itself."""

from __future__ import annotations

from django.contrib import messages
from django.forms.models import model_to_dict
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from darkroom import access
from darkroom.forms import HouseRulesForm, posted
from darkroom.http import MemberRequest, administrator_required


@administrator_required
@require_http_methods(["GET", "POST"])
def rules(request: MemberRequest) -> HttpResponse:
    form = HouseRulesForm(posted(request), initial=model_to_dict(request.house))
    if request.method == "POST" and form.is_valid():
        access.change_house_rules(form.cleaned_data, by=request.user, at=timezone.now())
        messages.success(request, "The house rules are saved.")
        return redirect("darkroom:rules")
    return render(
        request, "darkroom/rules.html", {"form": form}, status=422 if form.errors else 200
    )
