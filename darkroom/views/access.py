"""Coming in and going out."""

from __future__ import annotations

from django.contrib.auth import authenticate, login, logout
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render, resolve_url
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from darkroom import access, throttle
from darkroom.demo import demo_people, is_demo_visit
from darkroom.errors import DomainError
from darkroom.forms import (
    FirstAdministratorForm,
    PasswordForm,
    SignInForm,
    posted,
    show_refusal,
)
from darkroom.http import VisitorRequest, open_to_readers, path_here
from darkroom.models import AccessLink, Member, Role

BACKEND = "django.contrib.auth.backends.ModelBackend"
WRONG = "This address and password do not belong together."
SHUT = "Too many tries. Wait a quarter of an hour, or ask an administrator for a new link."
ROLE_ORDER = (Role.ADMINISTRATOR, Role.STEWARD, Role.AUDITOR, Role.MEMBER)


@sensitive_post_parameters("password")
@never_cache
@login_not_required
@require_http_methods(["GET", "POST"])
def sign_in(request: VisitorRequest) -> HttpResponse:
    if request.user.is_authenticated:
        return redirect(_way_on(request))
    form = SignInForm(posted(request))
    if request.method == "POST" and form.is_valid():
        member = _checked(request, form)
        if member is not None:
            login(request, member, BACKEND)
            return redirect(_way_on(request))
    people = _grouped_people() if is_demo_visit(request, request.house) else []
    context = {
        "form": form,
        "people": people,
        "next": _asked_for(request),
        "is_unopened": not people and not access.has_administrator(),
    }
    return render(request, "darkroom/sign_in.html", context, status=422 if form.errors else 200)


@login_not_required
@require_POST
def demo_sign_in(request: VisitorRequest, pk: int) -> HttpResponse:
    if not is_demo_visit(request, request.house):
        raise PermissionDenied
    login(request, get_object_or_404(demo_people(), pk=pk), BACKEND)
    return redirect(_way_on(request))


@login_not_required
@open_to_readers
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("darkroom:sign-in")


@sensitive_post_parameters("password", "again")
@never_cache
@login_not_required
@open_to_readers
@require_http_methods(["GET", "POST"])
def set_password(request: VisitorRequest, token: str) -> HttpResponse:
    now = timezone.now()
    try:
        link = access.live_link(token, AccessLink.Kind.PASSWORD, at=now)
    except access.LinkRefused as refusal:
        return _refused(request, refusal)
    form = PasswordForm(posted(request))
    if request.method == "POST" and form.is_valid():
        try:
            member = access.set_password(token, form.cleaned_data["password"], at=now)
        except DomainError as refusal:
            show_refusal(form, refusal)
        else:
            login(request, member, BACKEND)
            return redirect("sessions:today")
    context = {"form": form, "member": link.member}
    return render(
        request, "darkroom/set_password.html", context, status=422 if form.errors else 200
    )


@sensitive_post_parameters("password", "again")
@never_cache
@login_not_required
@require_http_methods(["GET", "POST"])
def open_house(request: VisitorRequest, token: str) -> HttpResponse:
    now = timezone.now()
    try:
        access.live_link(token, AccessLink.Kind.BOOTSTRAP, at=now)
    except access.LinkRefused as refusal:
        return _refused(request, refusal)
    form = FirstAdministratorForm(posted(request))
    if request.method == "POST" and form.is_valid():
        figures = {name: form.cleaned_data[name] for name in ("name", "email", "password")}
        try:
            member = access.open_house(token, **figures, at=now)
        except DomainError as refusal:
            show_refusal(form, refusal)
        else:
            login(request, member, BACKEND)
            return redirect("darkroom:rules")
    return render(
        request, "darkroom/open_house.html", {"form": form}, status=422 if form.errors else 200
    )


def _refused(request: HttpRequest, refusal: DomainError) -> HttpResponse:
    context = {"refusal": refusal}
    return render(request, "darkroom/link_refused.html", context, status=refusal.status)


def _checked(request: HttpRequest, form: SignInForm) -> Member | None:
    """Whoever signs in; None with the reason on the form, the same for every reason."""
    email, password = form.cleaned_data["email"], form.cleaned_data["password"]
    address = request.META.get("REMOTE_ADDR", "")
    if throttle.is_shut(email, address):
        form.add_error(None, SHUT)
        return None
    member = authenticate(request, username=email, password=password)
    if member is None:
        throttle.note_failure(email, address)
        form.add_error(None, WRONG)
        return None
    throttle.forget(email, address)
    return member


def _grouped_people() -> list[tuple[str, list[Member]]]:
    people = list(demo_people())
    groups = [(role, [one for one in people if one.role == role]) for role in ROLE_ORDER]
    return [(role.value, members) for role, members in groups if members]


def _asked_for(request: HttpRequest) -> str:
    asked = request.POST.get("next") or request.GET.get("next") or ""
    return path_here(request, asked)


def _way_on(request: HttpRequest) -> str:
    return _asked_for(request) or resolve_url("sessions:today")
