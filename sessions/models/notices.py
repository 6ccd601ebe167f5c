from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models


class NoticeKind(models.TextChoices):
    BATCH_BAD = "batch_bad", "A bottle turned bad"
    SESSION_AFFECTED = "session_affected", "A session is let down"
    OVERDUE = "overdue", "A session was not recorded"
    INDUCTION = "induction", "An induction ends"
    COMPANY = "company", "Company for a session"
    FAULT = "fault", "A fault was reported"


class Notice(models.Model):
    """Something a member should know, once per fact; also the outbox of its mail."""

    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="notices"
    )
    kind = models.CharField(max_length=20, choices=NoticeKind.choices)
    fact_key = models.CharField(max_length=120)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    url = models.CharField(max_length=200, blank=True)
    message_id = models.UUIDField(default=uuid.uuid4, editable=False)
    created_at = models.DateTimeField()
    mailed_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = (
            models.UniqueConstraint(fields=("member", "fact_key"), name="notice_once_a_fact"),
        )
        indexes = (
            models.Index(
                fields=("created_at",),
                condition=models.Q(mailed_at__isnull=True),
                name="notice_unmailed",
            ),
        )

    def __str__(self) -> str:
        return self.subject
