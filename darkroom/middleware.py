"""What happens before a view: whose house it is, who is not signed in, who may not write."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from django.contrib.auth import REDIRECT_FIELD_NAME
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase, HttpResponseRedirect
from django.shortcuts import resolve_url
from django.utils import timezone
from django.utils.http import urlencode
from django_htmx.http import HttpResponseClientRedirect

from darkroom.models import HouseRules

READING = frozenset({"GET", "HEAD", "OPTIONS"})


class LoginRequired(LoginRequiredMiddleware):
    """Sends a page to the sign-in page; a fragment's answer would swap that into the page."""

    def handle_no_permission(
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponseRedirect:
        htmx = getattr(request, "htmx", None)
        if not htmx:
            return super().handle_no_permission(request, view_func)
        try:
            page = urlsplit(htmx.current_url_abs_path or "/")._replace(fragment="").geturl()
        except ValueError:  # what a browser sends is an address, but anybody may send anything
            page = "/"
        query = urlencode({REDIRECT_FIELD_NAME: page})
        sign_in = resolve_url(self.get_login_url(view_func))
        # A sibling of the class that Django's own signature promises.
        return HttpResponseClientRedirect(f"{sign_in}?{query}")  # type: ignore[return-value]


class _Middleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)


class House(_Middleware):
    """Puts the house's rules on the request and shows all times in the house's own zone."""

    def __call__(self, request: HttpRequest) -> HttpResponse:
        try:
            return super().__call__(request)
        finally:
            timezone.deactivate()

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any
    ) -> None:
        if getattr(view, "needs_house", True):
            request.house = HouseRules.current()  # type: ignore[attr-defined]
            timezone.activate(request.house.tz)  # type: ignore[attr-defined]


class ReadersOnlyRead(_Middleware):
    """Refuses whatever an auditor sends, unless the view says that it changes nothing."""

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: Any, kwargs: Any
    ) -> None:
        if request.method in READING or getattr(view, "open_to_readers", False):
            return
        if request.user.is_authenticated and not request.user.may_write:
            raise PermissionDenied
