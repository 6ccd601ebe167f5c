"""What no operation writes is changed here; the rest is shown."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.contrib.auth import admin as _  # noqa: F401 (what registers groups)
from django.contrib.auth.models import Group
from django.db import models as fields
from django.db.models import QuerySet
from django.forms import ModelMultipleChoiceField
from django.http import HttpRequest

from darkroom import models
from darkroom.office import ReadOnlyAdmin

# What somebody may do hangs on the role, or on an induction; nothing here looks at groups.
admin.site.unregister(Group)


class AgitationInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.VesselAgitation
    verbose_name, verbose_name_plural = "way of agitating it", "how it may be agitated"
    extra = 0


class FitInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.VesselFit
    verbose_name, verbose_name_plural = "format", "what it takes"
    extra = 0


@admin.register(models.Equipment)
class EquipmentAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("code", "name", "kind", "is_in_service", "holds_temperature", "topic")
    list_select_related = ("topic",)
    list_filter = ("kind", "is_in_service")
    search_fields = ("code", "name")
    readonly_fields = ("is_in_service", "out_reason", "out_since")
    inlines = (AgitationInline, FitInline)


@admin.register(models.Format)
class FormatAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("name", "kind", "area_mm2", "source")


@admin.register(models.ClosedDate)
class ClosedDateAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("date", "reason")
    date_hierarchy = "date"


@admin.register(models.InductionTopic)
class InductionTopicAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("name", "code", "valid_days", "allows")
    filter_horizontal = ("givers",)

    def get_queryset(self, request: HttpRequest) -> QuerySet[models.InductionTopic]:
        return models.InductionTopic.objects.with_fixed()

    def formfield_for_manytomany(
        self, db_field: fields.ManyToManyField[Any, Any], request: HttpRequest, **kwargs: Any
    ) -> ModelMultipleChoiceField[Any] | None:
        people = models.Member.objects.exclude(role=models.Role.AUDITOR)
        return super().formfield_for_manytomany(
            db_field, request, **kwargs | {"queryset": people.filter(is_active=True)}
        )


@admin.register(models.HouseCheck)
class HouseCheckAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("name", "every_days", "gates", "by_stewards", "is_in_use")
    list_filter = ("gates", "is_in_use")


@admin.register(models.Induction)
class InductionAdmin(ReadOnlyAdmin):
    list_display = ("member", "topic", "given_at", "given_by", "expires_at", "withdrawn_at")
    list_select_related = ("member", "topic", "given_by")
    list_filter = ("topic",)


@admin.register(models.CheckMark)
class CheckMarkAdmin(ReadOnlyAdmin):
    list_display = ("house_check", "at", "by", "is_good", "note")
    list_select_related = ("house_check", "by")


@admin.register(models.Member)
class MemberAdmin(ReadOnlyAdmin):
    list_display = ("name", "email", "role", "is_active", "last_login")
    list_filter = ("role", "is_active")
    exclude = ("password",)


@admin.register(models.HouseRules)
class HouseRulesAdmin(ReadOnlyAdmin):
    list_display = ("name", "zone")


@admin.register(models.AccessLink)
class AccessLinkAdmin(ReadOnlyAdmin):
    list_display = ("kind", "member", "created_at", "expires_at", "used_at")
    list_select_related = ("member",)
    exclude = ("token_hash",)


@admin.register(models.OpeningHours)
class OpeningHoursAdmin(ReadOnlyAdmin):
    list_display = ("weekday", "opens_at", "closes_at")


@admin.register(models.Receipt)
class ReceiptAdmin(ReadOnlyAdmin):
    list_display = ("operation", "member", "created_at", "result")
    list_select_related = ("member",)
