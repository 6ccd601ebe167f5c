"""Accounts and the single-use links by which people come in."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from darkroom.errors import DomainError, translate_integrity
from darkroom.house import lock_house
from darkroom.models import AccessLink, Member, Role
from darkroom.operations import operation

LINK_LASTS = timedelta(days=7)


class LinkRefused(DomainError):
    code = "link_refused"
    status = 410


class PasswordRefused(DomainError):
    code = "password_refused"


class EmailTaken(DomainError):
    code = "email_taken"


class LastAdministrator(DomainError):
    code = "last_administrator"


@dataclass(frozen=True)
class Issued:
    """A link's token, which is nowhere stored: whoever made it hands it over now or never."""

    member: Member | None
    token: str


def has_administrator() -> bool:
    return Member.objects.filter(role=Role.ADMINISTRATOR, is_active=True).exists()


def live_link(token: str, kind: AccessLink.Kind, *, at: datetime) -> AccessLink:
    """The unused link that ``token`` opens.

    Raises: LinkRefused, whatever is wrong with it.
    """
    links = AccessLink.objects.select_related("member").filter(kind=kind)
    link = links.filter(token_hash=hashed(token), used_at=None, expires_at__gt=at).first()
    if link is None or (link.member is not None and not link.member.is_active):
        raise LinkRefused("This link has been used, has expired or was replaced by a newer one.")
    return link


@operation
def issue_bootstrap_link(*, at: datetime) -> Issued | None:
    """A new link for the first administrator, older ones dead; None once there is one."""
    lock_house()
    AccessLink.objects.filter(kind=AccessLink.Kind.BOOTSTRAP, used_at=None).delete()
    if has_administrator():
        return None
    return _issue(AccessLink.Kind.BOOTSTRAP, None, at=at)


@operation
def open_house(token: str, *, email: str, name: str, password: str, at: datetime) -> Member:
    """The first administrator, who came with the bootstrap link."""
    lock_house()
    link = live_link(token, AccessLink.Kind.BOOTSTRAP, at=at)
    if has_administrator():
        raise LinkRefused("This house has an administrator already.")
    _check_password(password, Member(email=email, name=name))
    member = _create(email=email, name=name, role=Role.ADMINISTRATOR)
    _store_password(member, password)
    _use(link, at=at)
    return member


@operation
def add_person(*, email: str, name: str, role: str, by: Member, at: datetime) -> Issued:
    """A new member, with the link that lets them set a password."""
    member = _create(email=email, name=name, role=role)
    return _issue(AccessLink.Kind.PASSWORD, member, at=at)


@operation
def issue_password_link(member: Member, *, by: Member, at: datetime) -> Issued:
    """Another link for somebody who lost theirs or forgot the password; older ones die."""
    member = Member.objects.select_for_update(no_key=True).get(pk=member.pk)
    if not member.is_active:
        raise LinkRefused(f"{member.name} is not active: let them in again first.")
    return _issue(AccessLink.Kind.PASSWORD, member, at=at)


@operation
def set_password(token: str, password: str, *, at: datetime) -> Member:
    """The member whose password is now ``password``; all their other sign-ins end."""
    found = live_link(token, AccessLink.Kind.PASSWORD, at=at)
    member = Member.objects.select_for_update(no_key=True).get(access_links=found)
    link = live_link(token, AccessLink.Kind.PASSWORD, at=at)
    _check_password(password, member)
    _store_password(member, password)
    _use(link, at=at)
    return member


@operation
def change_person(
    member: Member, *, name: str, role: str, is_active: bool, by: Member, at: datetime
) -> Member:
    """The member with another name, role or standing; the house keeps an administrator."""
    administrators = Member.objects.filter(role=Role.ADMINISTRATOR, is_active=True)
    others = [
        other.pk
        for other in administrators.order_by("pk").select_for_update(no_key=True)
        if other.pk != member.pk
    ]
    member = Member.objects.select_for_update(no_key=True).get(pk=member.pk)
    stays = is_active and role == Role.ADMINISTRATOR
    if member.is_administrator and member.is_active and not stays and not others:
        raise LastAdministrator(
            "This is the house's only administrator. Make somebody else one first.", field="role"
        )
    member.name, member.role, member.is_active = name, role, is_active
    member.full_clean(exclude={"password"})
    member.save(update_fields=["name", "role", "is_active"])
    if not is_active:
        member.access_links.filter(used_at=None).delete()
    return member


def _create(*, email: str, name: str, role: str) -> Member:
    taken = EmailTaken("Somebody with this address is here already.", field="email")
    try:
        with translate_integrity(
            {"member_email_unique": taken, "darkroom_member_email_key": taken}
        ):
            return Member.objects.create_member(email=email, name=name, role=role)
    except ValidationError as error:
        if error.message_dict.keys() & {"email", NON_FIELD_ERRORS}:
            raise taken from error
        raise


def _check_password(password: str, member: Member) -> None:
    try:
        validate_password(password, member)
    except ValidationError as error:
        raise PasswordRefused(" ".join(error.messages), field="password") from error


def _store_password(member: Member, password: str) -> None:
    member.set_password(password)
    member.save(update_fields=["password"])


def _issue(kind: AccessLink.Kind, member: Member | None, *, at: datetime) -> Issued:
    AccessLink.objects.filter(kind=kind, member=member, used_at=None).delete()
    token = secrets.token_urlsafe(32)
    AccessLink.objects.create(
        kind=kind,
        member=member,
        token_hash=hashed(token),
        created_at=at,
        expires_at=at + LINK_LASTS,
    )
    return Issued(member, token)


def _use(link: AccessLink, *, at: datetime) -> None:
    link.used_at = at
    link.save(update_fields=["used_at"])


def hashed(token: str) -> str:
    """What is stored of a secret address; 256 random bits need no slow hash."""
    return hashlib.sha256(token.encode()).hexdigest()
