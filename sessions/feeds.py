"""The secret addresses of calendars: made, ended, and found again by their token."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime

from darkroom.access import hashed
from darkroom.errors import NotAllowed
from darkroom.models import Equipment, Member
from darkroom.operations import operation
from sessions.models import CalendarFeed

Kind = CalendarFeed.Kind


@dataclass(frozen=True)
class MadeFeed:
    """A feed with its token, which is nowhere stored; ``replaced`` if it ended an older one."""

    feed: CalendarFeed
    token: str
    replaced: bool


def live_feed(token: str) -> CalendarFeed | None:
    """The feed at this address, if its holder may still read what it shows."""
    feeds = CalendarFeed.objects.live().select_related("member", "equipment")
    feed = feeds.filter(token_hash=hashed(token), member__is_active=True).first()
    if feed is None or not may_hold(feed.member, feed.kind):
        return None
    return feed


def may_hold(member: Member, kind: str) -> bool:
    """Anybody who books has their own sessions and the equipment; the house is for stewards."""
    return member.is_steward if kind == Kind.HOUSE else member.may_write


@operation
def make_feed(
    *, kind: str, equipment: Equipment | None = None, by: Member, at: datetime
) -> MadeFeed:
    """A new address for this calendar; the one that its holder had before ends.

    Raises: NotAllowed.
    """
    member = Member.objects.select_for_update(no_key=True).get(pk=by.pk)
    if not may_hold(member, kind):
        raise NotAllowed("Your role does not reach to this calendar.")
    before = CalendarFeed.objects.live().filter(member=member, kind=kind, equipment=equipment)
    ended = before.update(revoked_at=at)
    token = secrets.token_urlsafe(32)
    feed = CalendarFeed(
        kind=kind,
        member=member,
        equipment=equipment,
        token_hash=hashed(token),
        created_at=at,
    )
    feed.full_clean()
    feed.save()
    return MadeFeed(feed, token, replaced=bool(ended))


@operation
def revoke_feed(feed: CalendarFeed, *, by: Member, at: datetime) -> CalendarFeed:
    """The feed, ended; one that had ended already stays as it was.

    Raises: NotAllowed.
    """
    feed = CalendarFeed.objects.select_for_update(no_key=True).get(pk=feed.pk)
    if feed.member_id != by.pk:
        raise NotAllowed("Only whoever made this address can end it.")
    if feed.revoked_at is None:
        feed.revoked_at = at
        feed.save(update_fields=["revoked_at"])
    return feed
