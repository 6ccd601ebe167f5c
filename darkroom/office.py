"""Django's admin as the house's back office: open to administrators, through our own sign-in."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url
from django.utils.decorators import method_decorator
from django.utils.http import urlencode


class Office(admin.AdminSite):
    site_header = site_title = index_title = "Office"

    def has_permission(self, request: HttpRequest) -> bool:
        if request.user.is_authenticated and not request.user.is_administrator:
            raise PermissionDenied
        return super().has_permission(request)

    @method_decorator(login_not_required)
    def login(
        self, request: HttpRequest, extra_context: dict[str, Any] | None = None
    ) -> HttpResponse:
        """The house's own sign-in page, which slows down whoever guesses."""
        query = urlencode({"next": resolve_url("admin:index")})
        return redirect(f"{resolve_url('darkroom:sign-in')}?{query}")


class ReadOnlyAdmin(admin.ModelAdmin):  # type: ignore[type-arg]  # no generic at run time
    """Shows what stands there; adding, changing and deleting are the operations' alone."""

    list_per_page = 50

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
