"""For any period: what came in, what went out, what is left, and the entries behind it."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_safe

from chemistry import audit
from chemistry.audit import PARTS, Report
from chemistry.forms.audit import EntriesForm, Period, PeriodForm
from chemistry.models import Stream
from chemistry.views.answers import INVALID, show_refusal
from chemistry.views.entries import EntryLine, entry_line
from darkroom.errors import DomainError
from darkroom.htmx import page
from darkroom.http import MemberRequest, auditor_required

PER_PAGE = 100
MOST_LATER = 50
PART_WORDS = dict(EntriesForm.base_fields["part"].choices)  # type: ignore[attr-defined]


@dataclass(frozen=True)
class Cell:
    part: str
    label: str
    ul: int


@dataclass(frozen=True)
class AuditLine:
    stream: Stream
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class CountedEntry:
    """An entry and what it adds to the figure; the figure is the sum of these."""

    entry: EntryLine
    adds_ul: int


@auditor_required
@require_safe
def report(request: MemberRequest) -> HttpResponse:
    form = PeriodForm(request.GET, zone=request.house.tz, at=timezone.now())
    found = _found(form)
    if found is None:
        return page(request, "chemistry/audit.html", {"form": form}, status=INVALID)
    period = form.period
    context = {
        "form": form,
        "report": found,
        "says": _period_says(period),
        "lines": _lines(found),
        "fixed_query": _query(period, found),
        "earlier_query": _query(period.before(), None),
        "later": _later(request, found),
        "most_later": MOST_LATER,
    }
    return page(request, "chemistry/audit.html", context)


@auditor_required
@require_safe
def figures(request: MemberRequest) -> HttpResponse:
    form = PeriodForm(request.GET, zone=request.house.tz, at=timezone.now())
    found = _found(form)
    if found is None:
        return page(request, "chemistry/audit.html", {"form": form}, status=INVALID)
    period = form.period
    name = f"waste-{period.first}-{period.last}-entry-{found.seq}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    response = HttpResponse(content_type="text/csv; charset=utf-8", headers=headers)
    csv.writer(response).writerows(audit.csv_rows(found, zone=request.house.tz))
    return response


@auditor_required
@require_safe
def entries(request: MemberRequest) -> HttpResponse:
    form = EntriesForm(request.GET, zone=request.house.tz, at=timezone.now())
    found = _found(form)
    if found is None:
        return page(request, "chemistry/audit_entries.html", {"form": form}, status=INVALID)
    stream, part = Stream(form.cleaned_data["stream"]), form.cleaned_data["part"]
    behind = audit.entries(
        since=found.since, until=found.until, stream=stream, part=part, up_to_seq=found.seq
    )
    sheet = Paginator(behind, PER_PAGE).get_page(request.GET.get("page"))
    (total_ul,) = (line.part_ul(part) for line in found.lines if line.stream == stream)
    context = {
        "form": form,
        "label": f"{stream.label}: {PART_WORDS[part].lower()}",
        "total_ul": total_ul,
        "says": _period_says(form.period),
        "counted": [
            CountedEntry(entry_line(one, request.user), audit.change_ul(one, stream, part))
            for one in sheet
        ],
        "page": sheet,
        "report_query": _query(form.period, found),
        "query": f"{_query(form.period, found, stream=stream.value, part=part)}&",
    }
    return page(request, "chemistry/audit_entries.html", context)


def _found(form: PeriodForm) -> Report | None:
    """The report asked for; None with the reason on the form."""
    if not form.is_valid():
        return None
    period = form.period
    try:
        return audit.report(
            since=period.since, until=period.until, up_to_seq=form.cleaned_data["up_to"]
        )
    except DomainError as error:
        show_refusal(form, error)
        return None


def _lines(found: Report) -> list[AuditLine]:
    return [
        AuditLine(
            line.stream,
            tuple(Cell(part, PART_WORDS[part], line.part_ul(part)) for part in PARTS),
        )
        for line in found.lines
    ]


def _later(request: MemberRequest, found: Report) -> list[EntryLine]:
    if not found.later:
        return []
    later = audit.later_entries(since=found.since, until=found.until, up_to_seq=found.seq)
    return [entry_line(one, request.user) for one in later[:MOST_LATER]]


def _period_says(period: Period) -> str:
    first, last = (date_format(day, "j F Y") for day in (period.first, period.last))
    return f"{first} to {last}, both days included, in the house's time."


def _query(period: Period, found: Report | None, **more: Any) -> str:
    asked = {"since": period.first.isoformat(), "until": period.last.isoformat()}
    if found is not None:
        asked["up_to"] = str(found.seq)
    return urlencode(asked | more)
