"""Planning a session: a question in the address, an answer, and one button that books it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_POST, require_safe

from chemistry.views.answers import INVALID, attempt
from darkroom.errors import DomainError
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, writer_required
from sessions.booking import book_session
from sessions.forms.plan import AskForm, BookForm
from sessions.models import Session
from sessions.views.answering import (
    FIELD_OF_CODE,
    Answer,
    answer,
    book_form,
    next_after,
    refusal_of,
)

PARTIALS = {"planner"}
TAKEN = 409


def _house(request: MemberRequest, at: datetime) -> dict[str, Any]:
    return {"member": request.user, "rules": request.house, "at": at}


@writer_required
@require_safe
def plan(request: MemberRequest) -> HttpResponse:
    """The question, and the answer once there is one."""
    at = timezone.now()
    form = AskForm(request.GET if "film" in request.GET else None, **_house(request, at))
    found = answer(request, form, request.GET, at=at) if form.is_bound else None
    context = {"form": form, "answer": found, "book": book_form(found) if found else None}
    return page(
        request,
        "sessions/plan.html",
        context,
        partials=PARTIALS,
        status=INVALID if form.errors else 200,
    )


@writer_required
@require_POST
def book(request: MemberRequest) -> HttpResponse:
    at = timezone.now()
    form = AskForm(request.POST, **_house(request, at))
    found = answer(request, form, request.POST, at=at)
    wanted = request.POST.get("option", "")
    if found is None or found.option is None or found.option.key != wanted:
        _say_why_not(form, found, wanted)
        return _refused(request, form, found, None, INVALID, at)
    book = BookForm(request.POST, option=found.option, starts=found.shown_starts, zone=found.zone)
    visit, status = attempt(book, lambda cleaned: _booked(request, found, book, at))
    if visit is None:
        return _refused(request, form, found, book, status, at)
    starts = date_format(timezone.localtime(visit.starts_at), "l j F, H:i")
    messages.success(request, f"Booked for {starts}. Your run card is below.")
    return see_other(request, visit.get_absolute_url())


def _booked(request: MemberRequest, found: Answer, book: BookForm, at: datetime) -> Session:
    assert found.option is not None
    got = book.cleaned_data
    planned = replace(found.option.plan, accepts_crowding=got.get("accepts_crowding", False))
    chosen = planned.with_bottles(book.wishes(), accepts_mixing=got["accepts_mixing"])
    try:
        return book_session(
            plan=chosen,
            starts_at=got["starts_at"],
            companion=got.get("companion"),
            key=got["key"],
            by=request.user,
            at=at,
        )
    except DomainError as refusal:
        refusal.field = book.place_of(refusal.field)
        raise


def _refused(
    request: MemberRequest,
    form: AskForm,
    found: Answer | None,
    book: BookForm | None,
    status: int,
    at: datetime,
) -> HttpResponse:
    """The page as it was sent, with what is the matter; after a lost slot with what is free now."""
    if found is not None and book is not None and status == TAKEN:
        found = answer(request, form, request.POST, at=at) or found
        found.next_start = next_after(found, book.cleaned_data["starts_at"])
        book.offer_starts(found.shown_starts)
    context = {"form": form, "answer": found, "book": book or (found and book_form(found))}
    return page(request, "sessions/plan.html", context, partials=PARTIALS, status=status)


def _say_why_not(form: AskForm, found: Answer | None, key: str) -> None:
    """Beside the field that the vessel refuses, or above the form."""
    refused = refusal_of(found, key) if found else None
    if found is None or form.errors:
        return
    if found.offer.blocker:
        form.add_error("film", found.offer.blocker.sentence)
    elif refused is None:
        form.add_error(None, "Choose one of the vessels below.")
    else:
        said = f"{refused.vessel}: {refused.sentence}"
        form.add_error(FIELD_OF_CODE.get(refused.code), said)
