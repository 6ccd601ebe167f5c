from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower


class Role(models.TextChoices):
    MEMBER = "member", "Member"
    STEWARD = "steward", "Steward"
    AUDITOR = "auditor", "Auditor"
    ADMINISTRATOR = "administrator", "Administrator"


class MemberManager(BaseUserManager["Member"]):
    def create_member(
        self, *, email: str, name: str, role: str = Role.MEMBER, password: str | None = None
    ) -> Member:
        """A saved member; without a password nobody can sign in until a link sets one."""
        member = self.model(email=self.normalize_email(email).lower(), name=name, role=role)
        member.set_password(password)
        member.full_clean(exclude={"password"})
        member.save()
        return member

    def get_by_natural_key(self, username: str | None) -> Member:
        return self.get(email__iexact=username)


class Member(AbstractBaseUser):
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=16, choices=Role.choices, default=Role.MEMBER)
    is_active = models.BooleanField(default=True)

    objects: ClassVar[MemberManager] = MemberManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        ordering = ("name", "pk")
        constraints = (
            models.UniqueConstraint(Lower("email"), name="member_email_unique"),
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values), name="member_role_known"
            ),
            models.CheckConstraint(condition=~models.Q(name=""), name="member_name_given"),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def is_steward(self) -> bool:
        """May do what a steward does; an administrator may as well."""
        return self.role in {Role.STEWARD, Role.ADMINISTRATOR}

    @property
    def is_administrator(self) -> bool:
        return self.role == Role.ADMINISTRATOR

    @property
    def may_audit(self) -> bool:
        return self.role in {Role.AUDITOR, Role.STEWARD, Role.ADMINISTRATOR}

    @property
    def may_write(self) -> bool:
        """An auditor reads everything and writes nothing."""
        return self.role != Role.AUDITOR

    # What Django's admin asks of a user.
    @property
    def is_staff(self) -> bool:
        return self.is_administrator

    def has_perm(self, perm: str, obj: Any = None) -> bool:
        return self.is_active and self.is_administrator

    def has_module_perms(self, app_label: str) -> bool:
        return self.is_active and self.is_administrator


class AccessLink(models.Model):
    """A single-use link: for the house's first administrator, or for a person to set a password.

    Only the hash of its token is stored, so nobody can read a working link out of the database.
    """

    class Kind(models.TextChoices):
        BOOTSTRAP = "bootstrap", "First administrator"
        PASSWORD = "password", "Set a password"  # noqa: S105

    kind = models.CharField(max_length=16, choices=Kind.choices)
    member = models.ForeignKey(
        Member, on_delete=models.CASCADE, null=True, blank=True, related_name="access_links"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=models.Q(kind="bootstrap", member__isnull=True)
                | models.Q(kind="password", member__isnull=False),
                name="accesslink_member_fits_kind",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} ({self.created_at:%Y-%m-%d})"
