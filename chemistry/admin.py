"""Nothing of the chemistry is changed here: operations write it, catalogue changes are versions.

Only which induction a process asks for is for the house to say.
"""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from chemistry import models
from darkroom.office import ReadOnlyAdmin

SHOWN: dict[Any, tuple[str, ...]] = {
    models.Recipe: ("code", "name", "role", "letter", "reaction"),
    models.RecipeVersion: ("recipe", "number", "stream", "created_at", "created_by"),
    models.WayOfUse: ("version", "way", "mix_n", "draw_n", "replenisher"),
    models.Figure: ("way", "name", "material", "value", "unit", "standing", "source"),
    models.Ingredient: ("version", "part", "order", "name", "amount", "unit", "cas", "standing"),
    models.Hazard: ("version", "form", "signal", "statements", "protection", "standing"),
    models.ProcessStep: ("process", "order", "name", "role", "minutes", "temp_c", "standing"),
    models.ProcessFigure: ("process", "bath", "name", "value", "unit", "standing", "source"),
    models.Film: ("name", "material", "speed", "process"),
    models.TimeRow: ("film", "developer", "dilution_n", "index", "agitation", "standing"),
    models.TimePoint: ("row", "temp_c", "minutes"),
    models.Batch: ("code", "way", "stream", "owner", "mixed_at", "good_until", "discarded_at"),
    models.BatchStop: ("batch", "seen", "stopped_at", "stopped_by", "released_at"),
    models.Use: ("batch", "material", "area_mm2", "happened_at", "by", "voids"),
    models.Account: ("id", "kind", "unit", "stream", "batch", "container", "balance"),
    models.Movement: ("seq", "happened_at", "source", "target", "quantity", "kind", "method"),
    models.LedgerHead: ("id", "seq", "hash", "entered_at"),
    models.WasteContainer: ("code", "stream", "capacity_ul", "opened_at", "consignment"),
    models.Consignment: ("document", "carrier", "handed_over_at", "by"),
}

for model, columns in SHOWN.items():
    related = [name for name in columns if model._meta.get_field(name).is_relation]
    options = {"list_display": columns, "list_select_related": related}
    admin.site.register(model, type(f"{model.__name__}Admin", (ReadOnlyAdmin,), options))


@admin.register(models.Process)
class ProcessAdmin(ReadOnlyAdmin):
    list_display = ("code", "name", "needs_held_temperature", "is_bookable", "topic")
    list_select_related = ("topic",)
    readonly_fields = (
        "code",
        "name",
        "needs_held_temperature",
        "is_bookable",
        "source",
        "standing",
    )

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return admin.ModelAdmin.has_change_permission(self, request, obj)
