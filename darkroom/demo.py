"""The one-tap sign-in of the demo, and everything that must be true before it is offered."""

from __future__ import annotations

import ipaddress

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest

from darkroom.models import HouseRules, Member

INVENTED = ".example"
FORWARDED = ("HTTP_FORWARDED", "HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_HOST", "HTTP_X_REAL_IP")


def is_demo_visit(request: HttpRequest, house: HouseRules) -> bool:
    """A demo database, a process started by ``up --demo``, and a browser on this machine."""
    is_demo = house.is_demo and settings.IS_DEMO_PROCESS and not settings.ORIGIN
    return is_demo and _is_from_this_machine(request)


def demo_people() -> QuerySet[Member]:
    """Those who can be signed in without a password: only invented addresses."""
    return Member.objects.filter(is_active=True, email__endswith=INVENTED)


def _is_from_this_machine(request: HttpRequest) -> bool:
    # A proxy on this machine calls from loopback too, but says for whom.
    if any(request.META.get(header) for header in FORWARDED):
        return False
    try:
        return ipaddress.ip_address(request.META.get("REMOTE_ADDR", "")).is_loopback
    except ValueError:
        return False
