"""What the house looks at, with one tap for each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from chemistry.views.answers import attempt
from darkroom import checking
from darkroom.checking import CheckState, mark_check
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, writer_required
from darkroom.models import HouseCheck
from sessions.forms.inductions import MarkForm


@dataclass(frozen=True)
class Line:
    """A check with the form to mark it, where the reader may."""

    state: CheckState
    form: MarkForm | None
    is_refused: bool = False

    @property
    def key(self) -> UUID:
        """For the one tap that says it is well."""
        return uuid4()


@require_safe
def checks(request: MemberRequest) -> HttpResponse:
    return page(request, "sessions/checks.html", {"lines": _lines(request, timezone.now())})


@writer_required
@require_POST
def check_mark(request: MemberRequest, code: str) -> HttpResponse:
    at = timezone.now()
    check = get_object_or_404(HouseCheck, code=code)
    form = MarkForm(request.POST, auto_id=f"id_{check.code}_%s")
    mark, status = attempt(
        form,
        lambda got: mark_check(
            check=check,
            is_good=got["is_good"],
            note=got["note"],
            key=got["key"],
            by=request.user,
            at=at,
        ),
    )
    if mark is None:
        context = {"lines": _lines(request, at, refused=(check.pk, form))}
        return page(request, "sessions/checks.html", context, status=status)
    messages.success(request, "Marked. Thank you for looking.")
    return see_other(request, reverse("sessions:checks"))


def _lines(
    request: MemberRequest, at: datetime, refused: tuple[int, MarkForm] | None = None
) -> list[Line]:
    """What is not fine first."""
    found = sorted(checking.states(at=at), key=lambda state: state.is_fine)
    return [_line(request, state, refused) for state in found]


def _line(request: MemberRequest, state: CheckState, refused: tuple[int, MarkForm] | None) -> Line:
    if not state.check.may_be_marked_by(request.user):
        return Line(state, None)
    if refused is not None and refused[0] == state.check.pk:
        return Line(state, refused[1], is_refused=True)
    return Line(state, MarkForm(auto_id=f"id_{state.check.code}_%s"))
