"""Equipment and formats are changed here, for no operation writes them; the rest is shown."""

from __future__ import annotations

from django.contrib import admin

from darkroom import models
from darkroom.office import ReadOnlyAdmin


class AgitationInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.VesselAgitation
    extra = 0


class FitInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.VesselFit
    extra = 0


@admin.register(models.Equipment)
class EquipmentAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("code", "name", "kind", "is_in_service", "holds_temperature")
    list_filter = ("kind", "is_in_service")
    search_fields = ("code", "name")
    inlines = (AgitationInline, FitInline)


@admin.register(models.Format)
class FormatAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("name", "kind", "area_mm2", "source")


@admin.register(models.Member)
class MemberAdmin(ReadOnlyAdmin):
    list_display = ("name", "email", "role", "is_active", "last_login")
    list_filter = ("role", "is_active")
    exclude = ("password",)


@admin.register(models.HouseRules)
class HouseRulesAdmin(ReadOnlyAdmin):
    list_display = ("name", "zone", "opens_at", "closes_at")


@admin.register(models.AccessLink)
class AccessLinkAdmin(ReadOnlyAdmin):
    list_display = ("kind", "member", "created_at", "expires_at", "used_at")
    list_select_related = ("member",)
    exclude = ("token_hash",)


@admin.register(models.Receipt)
class ReceiptAdmin(ReadOnlyAdmin):
    list_display = ("operation", "member", "created_at", "result")
    list_select_related = ("member",)
