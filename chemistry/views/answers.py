"""What these pages share: who sees which bottle, and how an operation's refusal is shown."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.forms import Form
from django.shortcuts import get_object_or_404

from chemistry.forms.fields import KeyedForm
from chemistry.models import Batch
from darkroom.errors import DomainError
from darkroom.models import Member

T = TypeVar("T")

INVALID = 422
ALREADY_SENT = 409
FORBIDDEN = 403


def bottle_or_404(member: Member, code: str) -> Batch:
    """The bottle, if this member may know of it: a private one is its owner's and the house's."""
    bottles = Batch.objects.for_verdict().select_related("way__replenisher")
    if not member.may_audit:
        bottles = bottles.filter(Q(owner__isnull=True) | Q(owner=member))
    return get_object_or_404(bottles, code=code)


def attempt(form: KeyedForm, act: Callable[[dict[str, Any]], T]) -> tuple[T | None, int]:
    """What ``act`` made of the form, or None and the status of a page that says why not.

    A refusal stands beside the field it is about; what was typed is kept. After a form that was
    already sent with other figures, sending it again means something new.
    """
    if not form.is_valid():
        return None, INVALID
    try:
        return act(form.cleaned_data), 200
    except DomainError as error:
        if error.status == FORBIDDEN:
            raise PermissionDenied from error
        show_refusal(form, error)
        return None, error.status


def show_refusal(form: Form, error: DomainError) -> None:
    field = (error.field or "").replace("_ul", "_ml")
    form.add_error(field if field in form.fields else None, error.message)
    if error.status == ALREADY_SENT and isinstance(form, KeyedForm):
        form.renew_key()
