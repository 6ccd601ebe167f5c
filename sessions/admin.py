"""What was logged of equipment is entered here; everything else of sessions is for operations."""

from __future__ import annotations

from django.contrib import admin

from darkroom.office import ReadOnlyAdmin
from sessions.models import Fault, HeatConstant, Maintenance


@admin.register(HeatConstant)
class HeatConstantAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("equipment", "agitation", "volume_ml", "tau_min", "measured_on", "note")
    list_select_related = ("equipment",)
    list_filter = ("equipment",)


@admin.register(Maintenance)
class MaintenanceAdmin(ReadOnlyAdmin):
    list_display = ("equipment", "period", "reason", "planned_by", "ended_at")
    list_select_related = ("equipment", "planned_by")


@admin.register(Fault)
class FaultAdmin(ReadOnlyAdmin):
    list_display = ("equipment", "seen", "better_not_used", "reported_by", "resolved_at")
    list_select_related = ("equipment", "reported_by")
