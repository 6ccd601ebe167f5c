from __future__ import annotations

import uuid
from datetime import datetime

from django.conf import settings
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from chemistry.models import Batch, Film, Process, ProcessStep, TimeRow, WayOfUse
from darkroom.models import Agitation, Equipment, Format, Member
from sessions.models.maintenance import Maintenance


class SessionQuerySet(models.QuerySet["Session"]):
    def live(self) -> SessionQuerySet:
        return self.filter(cancelled_at__isnull=True)

    def visible_to(self, member: Member) -> SessionQuerySet:
        """One's own; stewards and auditors see all."""
        return self if member.may_audit else self.filter(member=member)


class Session(models.Model):
    """A booked slot at the wet side: what is run, in which vessel, when."""

    code = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="visits"
    )
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="+")
    vessel = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="visits")
    agitation = models.CharField(max_length=12, choices=Agitation.choices)
    sheets_per_load = models.PositiveSmallIntegerField()
    load_ml = models.PositiveIntegerField(help_text="Solution in the vessel for one load.")
    companion = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who comes along, where the house lets nobody work alone.",
    )
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    created_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = SessionQuerySet.as_manager()

    class Meta:
        ordering = ("starts_at", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(starts_at__lt=F("ends_at")), name="session_starts_before_end"
            ),
            models.CheckConstraint(
                condition=Q(sheets_per_load__gte=1) & Q(load_ml__gte=1),
                name="session_load_positive",
            ),
            models.CheckConstraint(
                condition=Q(companion__isnull=True) | ~Q(companion=F("member")),
                name="session_companion_is_another",
            ),
        )

    def __str__(self) -> str:
        return f"{self.member} {self.starts_at:%Y-%m-%d %H:%M}"

    def get_absolute_url(self) -> str:
        return reverse("sessions:visit", args=[self.code])

    def is_changed_by(self, member: Member) -> bool:
        """Whoever booked it and every steward may change it; who only reads may not."""
        return member.may_write and (member.is_steward or self.member_id == member.pk)

    def is_open(self) -> bool:
        return self.cancelled_at is None and self.ended_at is None

    def has_begun(self, *, at: datetime) -> bool:
        return self.starts_at <= at


class SessionLine(models.Model):
    """What the member brings: so many sheets of one film and format, developed alike."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="lines")
    film = models.ForeignKey(Film, on_delete=models.PROTECT, related_name="+")
    index = models.PositiveIntegerField()
    format = models.ForeignKey(Format, on_delete=models.PROTECT, related_name="+")
    sheets = models.PositiveSmallIntegerField()
    time_row = models.ForeignKey(
        TimeRow, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    own_minutes = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="The member's own developing time, where no printed row is used.",
    )
    temp_c = models.DecimalField(max_digits=4, decimal_places=1)
    vessel = models.ForeignKey(
        Equipment,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Empty, like the agitation and a load's sheets and solution: as the session's.",
    )
    agitation = models.CharField(max_length=12, choices=Agitation.choices, blank=True)
    sheets_per_load = models.PositiveSmallIntegerField(null=True, blank=True)
    load_ml = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(condition=Q(sheets__gte=1), name="sessionline_sheets_positive"),
            models.CheckConstraint(
                condition=Q(vessel__isnull=True, agitation="", sheets_per_load=None, load_ml=None)
                | ~Q(agitation="")
                & Q(vessel__isnull=False, sheets_per_load__isnull=False, load_ml__isnull=False)
                & Q(sheets_per_load__gte=1, load_ml__gte=1),
                name="sessionline_has_all_of_its_vessel",
            ),
            models.CheckConstraint(
                # Without the second half NULL > 0 would be unknown, and unknown passes a check.
                condition=Q(time_row__isnull=False)
                | Q(own_minutes__isnull=False, own_minutes__gt=0),
                name="sessionline_has_a_time",
            ),
        )

    def __str__(self) -> str:
        return f"{self.format.counted(self.sheets)} {self.film}"

    def seat_in(self, visit: Session) -> tuple[Equipment, str]:
        """The vessel and how it is agitated."""
        if self.vessel is None:
            return visit.vessel, visit.agitation
        return self.vessel, self.agitation


class Phase(models.TextChoices):
    WARM = "warm", "Warming the bottles"
    DARK = "dark", "Loading in the dark"
    WET = "wet", "Wet steps"
    DRY = "dry", "Drying"
    CLEAN = "clean", "Cleaning"
    OUT = "out", "Out of service"


class HoldQuerySet(models.QuerySet["Hold"]):
    def live(self) -> HoldQuerySet:
        return self.filter(released_at__isnull=True)

    def wanted(self) -> HoldQuerySet:
        """Live, or lost to a piece that is out of service then: what a session needs."""
        return self.filter(Q(released_at__isnull=True) | Q(is_let_down=True))

    def overlapping(self, starts_at: datetime, ends_at: datetime | None) -> HoldQuerySet:
        return self.filter(period__overlap=(starts_at, ends_at))


class Hold(models.Model):
    """A piece of equipment kept for one phase of a session, or out of service."""

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="holds")
    session = models.ForeignKey(
        Session, on_delete=models.PROTECT, null=True, blank=True, related_name="holds"
    )
    maintenance = models.ForeignKey(
        Maintenance, on_delete=models.PROTECT, null=True, blank=True, related_name="holds"
    )
    period = DateTimeRangeField()
    phase = models.CharField(max_length=8, choices=Phase.choices)
    released_at = models.DateTimeField(null=True, blank=True)
    is_let_down = models.BooleanField(
        default=False,
        help_text="Released because the piece is out of service then; the session still needs it.",
    )

    objects = HoldQuerySet.as_manager()

    class Meta:
        ordering = ("period", "equipment")
        constraints = (
            ExclusionConstraint(
                name="hold_no_overlap",
                expressions=[
                    ("equipment", RangeOperators.EQUAL),
                    ("period", RangeOperators.OVERLAPS),
                ],
                condition=Q(released_at__isnull=True),
            ),
            models.CheckConstraint(
                condition=Q(period__isempty=False)
                & Q(period__startswith__isnull=False)
                & Q(period__endswith__isnull=False)
                & Q(period__lower_inc=True)
                & Q(period__upper_inc=False),
                name="hold_period_is_a_span",
            ),
            models.CheckConstraint(
                condition=Q(session__isnull=False, maintenance=None) & ~Q(phase=Phase.OUT)
                | Q(session=None, maintenance__isnull=False, phase=Phase.OUT),
                name="hold_one_owner",
            ),
            models.CheckConstraint(
                condition=Q(is_let_down=False)
                | Q(released_at__isnull=False, session__isnull=False),
                name="hold_let_down_is_released",
            ),
        )

    def __str__(self) -> str:
        return f"{self.equipment} {self.phase}"


class AllotmentQuerySet(models.QuerySet["Allotment"]):
    def open(self) -> AllotmentQuerySet:
        return self.filter(state=Allotment.State.OPEN)


class Allotment(models.Model):
    """What a session will take from a bottle for a step; without a bottle, one still to be mixed.

    ``area_mm2`` passes in ``loads`` loads. ``borrowed_ul`` is out of the bottle during ``period``
    and comes back; ``consumed_ul`` does not.
    """

    class State(models.TextChoices):
        OPEN = "open", "Open"
        USED = "used", "Used"
        RELEASED = "released", "Released"

    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="allotments")
    step = models.ForeignKey(ProcessStep, on_delete=models.PROTECT, related_name="+")
    way = models.ForeignKey(WayOfUse, on_delete=models.PROTECT, related_name="+")
    batch = models.ForeignKey(
        Batch, on_delete=models.PROTECT, null=True, blank=True, related_name="allotments"
    )
    period = DateTimeRangeField()
    material = models.CharField(max_length=12)
    area_mm2 = models.DecimalField(max_digits=16, decimal_places=4)
    loads = models.PositiveSmallIntegerField()
    borrowed_ul = models.BigIntegerField(default=0)
    consumed_ul = models.BigIntegerField(default=0)
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)

    objects = AllotmentQuerySet.as_manager()

    class Meta:
        ordering = ("period", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(area_mm2__gt=0)
                & Q(loads__gte=1)
                & Q(borrowed_ul__gte=0)
                & Q(consumed_ul__gte=0),
                name="allotment_sensible",
            ),
            models.CheckConstraint(
                condition=Q(period__isempty=False), name="allotment_period_is_a_span"
            ),
            models.UniqueConstraint(
                fields=("session", "step"),
                condition=Q(state="open"),
                name="allotment_once_a_step",
            ),
        )

    def __str__(self) -> str:
        return f"{self.session_id}: {self.step} from {self.batch or 'a bottle to be mixed'}"
