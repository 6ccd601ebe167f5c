"""What has left the house, and the house's own copy of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from chemistry.models import Consignment, Movement, MovementKind, Stream
from darkroom.htmx import page
from darkroom.http import MemberRequest


@dataclass(frozen=True)
class Gone:
    """One container's part of a consignment."""

    code: str
    stream: Stream
    quantity_ul: int
    method: str

    @property
    def label(self) -> str:
        return self.stream.label

    @property
    def waste_code(self) -> str:
        return self.stream.waste_code


@dataclass(frozen=True)
class ConsignmentLine:
    consignment: Consignment
    rows: tuple[Gone, ...]

    @property
    def quantity_ul(self) -> int:
        return sum(row.quantity_ul for row in self.rows)


@require_safe
def consignment(request: MemberRequest, pk: int) -> HttpResponse:
    (line,) = consignment_lines([get_object_or_404(consignments(), pk=pk)])
    return page(request, "chemistry/consignment.html", {"line": line})


def consignments() -> QuerySet[Consignment]:
    return Consignment.objects.select_related("by")


def consignment_lines(found: Iterable[Consignment]) -> list[ConsignmentLine]:
    """Each consignment with what the ledger says was handed over; one query for all of them."""
    listed = list(found)
    gone: defaultdict[UUID, list[Gone]] = defaultdict(list)
    movements = Movement.objects.filter(
        operation__in=[one.operation for one in listed], kind=MovementKind.HANDOVER
    ).select_related("source__container")
    for movement in movements.order_by("source__container__code"):
        container = movement.source.container
        assert container is not None
        gone[movement.operation].append(
            Gone(
                container.code,
                Stream(container.stream),
                movement.quantity,
                movement.get_method_display(),
            )
        )
    return [ConsignmentLine(one, tuple(gone[one.operation])) for one in listed]
