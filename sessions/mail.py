"""The outbox: notices that were not mailed yet."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction

from darkroom.models import HouseRules
from sessions.models import Notice

log = logging.getLogger(__name__)

STALE_AFTER = timedelta(days=3)
AT_ONCE = 100


def send_due(*, at: datetime) -> int:
    """Mail what waits, oldest first; a notice too old to be news stays in the app only.

    Each notice is sent while its row is locked and marked in the same transaction: another
    worker skips it, and a crash in between sends it again under the same Message-ID.
    """
    sent, failed = 0, set[int]()
    while sent + len(failed) < AT_ONCE:
        with transaction.atomic():
            notice = _next(at, failed)
            if notice is None:
                break
            if _send(notice):
                notice.mailed_at = at
                notice.save(update_fields=["mailed_at"])
                sent += 1
            else:
                failed.add(notice.pk)
    return sent


def _next(at: datetime, failed: set[int]) -> Notice | None:
    return (
        Notice.objects.filter(
            mailed_at__isnull=True, created_at__gt=at - STALE_AFTER, member__is_active=True
        )
        .exclude(pk__in=failed)
        .select_related("member")
        .select_for_update(skip_locked=True, no_key=True, of=("self",))
        .order_by("created_at", "pk")
        .first()
    )


def _send(notice: Notice) -> bool:
    try:
        message_for(notice).send()
    except OSError:  # what smtplib and sockets raise; anything else is a bug
        log.warning("Notice %s could not be mailed; it will be tried again.", notice.pk)
        return False
    return True


def message_for(notice: Notice) -> EmailMessage:
    """The mail of a notice; its Message-ID is the notice's own, however often it is sent."""
    where = f"\n\n{settings.ORIGIN}{notice.url}" if settings.ORIGIN and notice.url else ""
    house = HouseRules.current().name
    domain = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].strip("<> ")
    return EmailMessage(
        subject=" ".join(f"{house}: {notice.subject}".split()),
        body=f"{notice.body}{where}\n",
        to=[notice.member.email],
        headers={"Message-ID": f"<{notice.message_id}@{domain}>"},
    )
