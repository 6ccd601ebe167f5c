"""Who may open a page. A view without a guard is open to everybody who is signed in."""

from __future__ import annotations

from collections.abc import Callable
from functools import update_wrapper
from typing import Any, Concatenate, ParamSpec

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.middleware import HtmxDetails

from darkroom.inducted import may
from darkroom.models import Doing, HouseRules, Member

P = ParamSpec("P")


class MemberRequest(HttpRequest):
    """The request of somebody who is signed in."""

    user: Member
    htmx: HtmxDetails
    house: HouseRules


class VisitorRequest(HttpRequest):
    """The request of whoever comes, signed in or not."""

    user: Member | AnonymousUser
    htmx: HtmxDetails
    house: HouseRules


View = Callable[Concatenate[MemberRequest, P], HttpResponse]


def _only_if(may: Callable[[Member], bool]) -> Callable[[View[P]], View[P]]:
    def guard(view: View[P]) -> View[P]:
        def guarded(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not may(request.user):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        update_wrapper(guarded, view)
        return guarded

    return guard


def steward_required(view: View[P]) -> View[P]:
    return _only_if(lambda member: member.is_steward)(view)


def administrator_required(view: View[P]) -> View[P]:
    return _only_if(lambda member: member.is_administrator)(view)


def auditor_required(view: View[P]) -> View[P]:
    """Open to whoever may audit: auditors, stewards, administrators."""
    return _only_if(lambda member: member.may_audit)(view)


def writer_required(view: View[P]) -> View[P]:
    """For pages whose only use is to change something; an auditor reads and changes nothing."""
    return _only_if(lambda member: member.may_write)(view)


def doing_required(doing: Doing) -> Callable[[View[P]], View[P]]:
    """Open to stewards, and to members who have the induction for it today."""
    return _only_if(lambda member: may(member, doing, at=timezone.now()))


def open_to_readers(view: Callable[..., Any]) -> Callable[..., Any]:
    """Mark a view whose POST changes nothing of the house's, as the choice of a theme."""
    view.open_to_readers = True  # type: ignore[attr-defined]
    return view


def path_here(request: HttpRequest, asked: str) -> str:
    """``asked`` if it is a path of this house, else nothing.

    It has to begin like a path, for ``redirect`` takes a bare word for the name of a view.
    """
    hosts = {request.get_host()}
    is_ours = url_has_allowed_host_and_scheme(asked, hosts, require_https=request.is_secure())
    return asked if is_ours and asked.startswith("/") else ""
