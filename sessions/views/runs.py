"""Recording a run, looking at it, and taking it back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from chemistry.models import Film, Process, Role
from chemistry.views.answers import attempt
from chemistry.volumes import ml_text
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, writer_required
from darkroom.models import Equipment, Format, Member
from sessions import bottles, runcard
from sessions.bottles import Bottle
from sessions.effects import effects, short_of, told
from sessions.forms.record import WATER, LooseRecordForm, RecordForm, StepFill
from sessions.forms.void import VoidForm
from sessions.loads import was_through
from sessions.models import Run, Session
from sessions.recording import RunDraft, record_run
from sessions.runcard import LoadCard, RunCard
from sessions.views.again import run_again_url
from sessions.views.visit import sessions_for
from sessions.voiding import may_void, void_run


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def record(request: MemberRequest, code: UUID) -> HttpResponse:
    now = timezone.now()
    visit = get_object_or_404(sessions_for(request.user), code=code)
    if visit.cancelled_at is not None:
        messages.warning(request, "That session was cancelled; this is recorded without a booking.")
        return redirect("sessions:record-loose")
    card = runcard.card(visit, at=now, rules=request.house)
    form = _session_form(request, visit, card, now)
    status = 200
    if request.method == "POST":
        run, status = attempt(form, lambda _: _record(form.draft(visit), form, request, now))
        if run is not None:
            return _recorded(request, run, visit.get_absolute_url(), now)
    context = {"form": form, "visit": visit, "card": card, "load": card.next_load}
    return page(request, "sessions/record.html", context, partials={"record-form"}, status=status)


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def record_loose(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    processes = list(Process.objects.filter(is_bookable=True).prefetch_related("steps"))
    process = _chosen(processes, request.GET.get("process", ""))
    if process is None:
        return page(request, "sessions/record_nothing.html", {})
    form = _loose_form(request, process, now)
    status = 200
    if request.method == "POST":
        run, status = attempt(
            form, lambda _: _record(form.loose_draft(process), form, request, now)
        )
        if run is not None:
            return _recorded(request, run, reverse("sessions:run", args=[run.code]), now)
    context = {"form": form, "process": process, "processes": processes}
    return page(request, "sessions/record.html", context, partials={"record-form"}, status=status)


@require_safe
def run(request: MemberRequest, code: UUID) -> HttpResponse:
    now = timezone.now()
    found = get_object_or_404(told(_runs_for(request.user)), code=code)
    context = {
        "run": found,
        "effects": effects([found], at=now, rules=request.house)[found.pk],
        "may_void": found.voided_at is None and may_void(found, by=request.user, at=now),
        "again_url": run_again_url(found),
    }
    return page(request, "sessions/run.html", context)


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def run_void(request: MemberRequest, code: UUID) -> HttpResponse:
    now = timezone.now()
    found = get_object_or_404(told(_runs_for(request.user)), code=code)
    form = VoidForm(posted(request))
    status = 200
    if request.method == "POST":
        done, status = attempt(
            form,
            lambda got: void_run(
                run=found, reason=got["reason"], key=got["key"], by=request.user, at=now
            ),
        )
        if done is not None:
            messages.success(request, "Voided. Its bottles are as if it had not been run.")
            return see_other(request, reverse("sessions:run", args=[done.code]))
    context = {
        "run": found,
        "form": form,
        "may_void": found.voided_at is None and may_void(found, by=request.user, at=now),
    }
    return page(request, "sessions/run_void.html", context, status=status)


def _runs_for(member: Member) -> Any:
    return Run.objects.all() if member.may_audit else Run.objects.filter(member=member)


def _record(draft: RunDraft, form: RecordForm, request: MemberRequest, at: datetime) -> Run:
    return record_run(draft=draft, key=form.cleaned_data["key"], by=request.user, at=at)


def _recorded(request: MemberRequest, run: Run, url: str, at: datetime) -> HttpResponse:
    messages.success(request, f"Recorded: {run}.")
    for batch, missing_ul in short_of(run):
        messages.warning(
            request,
            f"{ml_text(missing_ul)} more was taken from {batch} than it was thought to hold. "
            "Tell a steward; what is in it has to be measured.",
        )
    used = bottles.by_id(
        run.baths.filter(batch__isnull=False).values_list("batch", flat=True),
        at=at,
        rules=request.house,
    )
    for bottle in used.values():
        if not bottle.verdict.is_usable:
            messages.warning(
                request, f"Do not use {bottle.batch.code} again: {bottle.verdict.sentence}"
            )
    return see_other(request, url)


def _session_form(
    request: MemberRequest, visit: Session, card: RunCard, at: datetime
) -> RecordForm:
    load = card.next_load or card.loads[-1]
    when = was_through(load.load, visit, at=at)
    return RecordForm(
        posted(request),
        zone=request.house.tz,
        at=at,
        by=request.user,
        lines=visit.lines.all(),
        shelf=_shelf(request, at),
        fills=_fills(load),
        initial={
            "line": load.load.line.pk,
            "sheets": load.load.sheets,
            "poured_ml": load.load.load_ml * 1000,
            "is_last": load is card.loads[-1],
            "happened_at": f"{when.astimezone(request.house.tz):%Y-%m-%dT%H:%M}",
            "opened_at": when.isoformat(),
        },
    )


def _fills(load: LoadCard) -> list[StepFill]:
    return [
        StepFill(
            step=card.step,
            bottle=card.batch.code if card.batch else WATER if card.step.role == Role.WATER else "",
            minutes=card.minutes,
            temp_c=card.temp_c,
        )
        for card in load.steps
    ]


def _loose_form(request: MemberRequest, process: Process, at: datetime) -> LooseRecordForm:
    shelf = _shelf(request, at)
    like = _run_like(request)
    vessels = Equipment.objects.vessels().in_service().prefetch_related("agitations")
    return LooseRecordForm(
        posted(request),
        zone=request.house.tz,
        at=at,
        by=request.user,
        shelf=shelf,
        fills=[_loose_fill(step, shelf, like) for step in process.steps.all()],
        vessels=[(v, a.agitation) for v in vessels for a in v.agitations.all()],
        films=Film.objects.filter(process=process),
        sizes=Format.objects.filter(fits__isnull=False).distinct(),
        initial={} if like is None else _initial_like(like),
    )


def _loose_fill(step: Any, shelf: Sequence[Bottle], like: Run | None) -> StepFill:
    """Filled where there is no choice: the only usable shared bottle, the process's minutes."""
    usable = [b for b in shelf if step.takes(b.batch.way.version.recipe) and b.verdict.is_usable]
    only = usable[0].batch.code if len(usable) == 1 else ""
    bottle = WATER if step.role == Role.WATER else only
    minutes: Decimal | None = step.minutes
    for bath in like.baths.all() if like is not None else ():
        if bath.step_id == step.pk:
            minutes = bath.minutes
            bottle = WATER if bath.batch is None else bath.batch.code
    return StepFill(step, bottle, minutes, step.temp_c)


def _run_like(request: MemberRequest) -> Run | None:
    """The earlier run that this one repeats, named by its code in the address."""
    try:
        code = UUID(request.GET.get("like", ""))
    except ValueError:
        return None
    return told(_runs_for(request.user)).filter(code=code).first()


def _initial_like(run: Run) -> dict[str, Any]:
    baths = list(run.baths.all())
    return {
        "vessel": f"{run.vessel_id}:{run.agitation}",
        "film": run.film_id,
        "index": run.index,
        "size": run.format_id,
        "sheets": run.sheets,
        "poured_ml": baths[0].poured_ul if baths else None,
    }


def _shelf(request: MemberRequest, at: datetime) -> list[Bottle]:
    """What this member may have poured from: everybody's and their own."""
    open_ones = bottles.visible_to(request.user).open()
    return bottles.shown(open_ones, at=at, rules=request.house)


def _chosen(processes: Sequence[Process], code: str) -> Process | None:
    named = [process for process in processes if process.code == code]
    return next(iter([*named, *processes]), None)
