"""What was logged of equipment is entered here; everything else of sessions is for operations."""

from __future__ import annotations

from django.contrib import admin

from sessions.models import HeatConstant


@admin.register(HeatConstant)
class HeatConstantAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    list_display = ("equipment", "agitation", "volume_ml", "tau_min", "measured_on", "note")
    list_select_related = ("equipment",)
    list_filter = ("equipment",)
