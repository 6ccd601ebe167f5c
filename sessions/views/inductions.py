"""Who was shown what; giving it, renewing it, withdrawing it."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from chemistry.forms.fields import KeyedForm
from chemistry.views.answers import attempt
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, writer_required
from darkroom.inducting import give_induction, withdraw_induction
from darkroom.models import Induction, InductionTopic, Member
from darkroom.models.inductions import InductionQuerySet
from sessions import admission
from sessions.forms.inductions import GiveForm, WithdrawForm
from sessions.shown import PersonShown, Shown


@require_safe
def inductions(request: MemberRequest) -> HttpResponse:
    """By topic: who has it and who expires soon; members see their own."""
    InductionTopic.objects.with_fixed()
    shown = Shown(request.user, rules=request.house, at=timezone.now())
    return page(request, "sessions/inductions.html", {"topics": shown.topics()})


@require_http_methods(["GET", "HEAD", "POST"])
def topic(request: MemberRequest, code: str) -> HttpResponse:
    """One topic with who has it; whoever gives it enters here to whom."""
    at = timezone.now()
    found = get_object_or_404(InductionTopic.objects.prefetch_related("givers"), code=code)
    gives = found.is_given_by(request.user)
    if request.method == "POST" and not gives:
        raise PermissionDenied
    form = _give_form(request, found, at) if gives else None
    status = 200
    if form is not None and form.is_bound:
        given, status = attempt(form, lambda got: _given(request, found, form, at))
        if given is not None:
            messages.success(request, _says(given))
            return see_other(request, reverse("sessions:induction-topic", args=[found.code]))
    shown = Shown(request.user, rules=request.house, at=at).topic(found)
    context = {"shown": shown, "form": form, "may_withdraw": gives or request.user.is_steward}
    return page(request, "sessions/induction_topic.html", context, status=status)


@require_safe
def person(request: MemberRequest, pk: int) -> HttpResponse:
    """Everything one person was shown: for themselves, stewards and auditors."""
    if not (request.user.may_audit or pk == request.user.pk):
        raise Http404
    member, at = get_object_or_404(Member, pk=pk), timezone.now()
    InductionTopic.objects.with_fixed()
    shown = PersonShown(member, request.user, rules=request.house, at=at)
    context = {
        "person": member,
        "lines": shown.lines(),
        "missing": shown.missing() if member.is_active and member.may_write else [],
        "gives": shown.gives(),
    }
    return page(request, "sessions/induction_person.html", context)


@writer_required
@require_POST
def renew(request: MemberRequest, pk: int) -> HttpResponse:
    """Shown again today."""
    at = timezone.now()
    before = get_object_or_404(_with_topic(), pk=pk)
    form = KeyedForm(request.POST)
    given, _ = attempt(
        form,
        lambda got: give_induction(
            topic=before.topic,
            member=before.member,
            given_at=at,
            key=got["key"],
            by=request.user,
            at=at,
        ),
    )
    if given is None:
        messages.error(request, " ".join(map(str, form.non_field_errors())))
    else:
        messages.success(request, _says(given))
    return see_other(request, reverse("sessions:induction-topic", args=[before.topic.code]))


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def withdraw(request: MemberRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    induction = get_object_or_404(_with_topic(), pk=pk)
    if not (request.user.is_steward or induction.topic.is_given_by(request.user)):
        raise PermissionDenied
    form, status = WithdrawForm(posted(request)), 200
    if form.is_bound:
        gone, status = attempt(
            form,
            lambda got: withdraw_induction(
                induction=induction, reason=got["reason"], key=got["key"], by=request.user, at=at
            ),
        )
        if gone is not None:
            messages.success(request, f"{induction.member} no longer has “{induction.topic}”.")
            return see_other(
                request, reverse("sessions:induction-topic", args=[induction.topic.code])
            )
    context = {
        "induction": induction,
        "form": form,
        "counting": admission.needing(induction.topic, induction.member, at=at),
    }
    return page(request, "sessions/induction_withdraw.html", context, status=status)


def _give_form(request: MemberRequest, found: InductionTopic, at: datetime) -> GiveForm:
    initial = {"member": request.GET.get("member", "")}
    return GiveForm(posted(request), topic=found, zone=request.house.tz, at=at, initial=initial)


def _given(
    request: MemberRequest, found: InductionTopic, form: GiveForm, at: datetime
) -> Induction:
    return give_induction(
        topic=found,
        member=form.cleaned_data["member"],
        given_at=form.given_at,
        key=form.cleaned_data["key"],
        by=request.user,
        at=at,
    )


def _says(given: Induction) -> str:
    says = f"{given.member} has “{given.topic}”"
    if given.expires_at is None:
        return f"{says} for good."
    return f"{says} until {date_format(timezone.localtime(given.expires_at), 'j F Y')}."


def _with_topic() -> InductionQuerySet:
    return Induction.objects.select_related("member", "topic").prefetch_related("topic__givers")
