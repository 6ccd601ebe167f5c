"""Who is in the house and what each may do; for administrators."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from darkroom import access
from darkroom.errors import DomainError
from darkroom.forms import NewPersonForm, PersonForm, posted, show_refusal
from darkroom.http import MemberRequest, administrator_required
from darkroom.models import Induction, Member


@administrator_required
@require_http_methods(["GET", "POST"])
def people(request: MemberRequest) -> HttpResponse:
    form = NewPersonForm(posted(request))
    if request.method == "POST" and form.is_valid():
        try:
            issued = access.add_person(**form.cleaned_data, by=request.user, at=timezone.now())
        except DomainError as refusal:
            show_refusal(form, refusal)
        else:
            return _hand_over(request, issued)
    context = {"form": form, "people": Member.objects.order_by("-is_active", "name", "pk")}
    return render(request, "darkroom/people.html", context, status=422 if form.errors else 200)


@administrator_required
@require_http_methods(["GET", "POST"])
def person(request: MemberRequest, pk: int) -> HttpResponse:
    member = get_object_or_404(Member, pk=pk)
    stored = {"name": member.name, "role": member.role, "is_active": member.is_active}
    form = PersonForm(posted(request), initial=stored)
    if request.method == "POST" and form.is_valid():
        try:
            access.change_person(member, **form.cleaned_data, by=request.user, at=timezone.now())
        except DomainError as refusal:
            show_refusal(form, refusal)
        else:
            messages.success(request, f"{form.cleaned_data['name']} is saved.")
            return redirect("darkroom:people")
    shown = Induction.objects.current().filter(member=member).select_related("topic", "given_by")
    context = {"form": form, "person": member, "inductions": shown, "now": timezone.now()}
    return render(request, "darkroom/person.html", context, status=422 if form.errors else 200)


@administrator_required
@require_POST
def password_link(request: MemberRequest, pk: int) -> HttpResponse:
    member = get_object_or_404(Member, pk=pk)
    try:
        issued = access.issue_password_link(member, by=request.user, at=timezone.now())
    except DomainError as refusal:
        messages.error(request, refusal.message)
        return redirect("darkroom:person", pk=pk)
    return _hand_over(request, issued)


@never_cache
def _hand_over(request: MemberRequest, issued: access.Issued) -> HttpResponse:
    """The only page that ever shows this link; the house keeps no readable copy of it."""
    link = request.build_absolute_uri(reverse("darkroom:set-password", args=[issued.token]))
    context = {"person": issued.member, "link": link, "days": access.LINK_LASTS.days}
    return render(request, "darkroom/hand_over.html", context)
