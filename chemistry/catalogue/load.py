"""Bring the catalogue into the database. Loading it again changes nothing.

A recipe whose data changed becomes a new version; figures that the house entered itself stay in
force in it. Formats that the house already has are left as the house keeps them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from django.db import connection, models, transaction

from chemistry.catalogue import recipes
from chemistry.catalogue.checks import problems
from chemistry.catalogue.reading import read_catalogue
from chemistry.catalogue.schema import Catalogue, CatalogueFault, ProcessData, RowData
from chemistry.models import (
    Film,
    Process,
    ProcessFigure,
    ProcessStep,
    Recipe,
    TimePoint,
    TimeRow,
)
from darkroom.models import Format

LOADING = 7_310_462
"""Advisory lock: two processes that start together load one after the other."""


@dataclass(slots=True)
class Loaded:
    """How many rows were made or changed, by what they are."""

    formats: int = 0
    recipes: int = 0
    processes: int = 0
    films: int = 0
    times: int = 0

    def __str__(self) -> str:
        counts = ((f.name, getattr(self, f.name)) for f in fields(self))
        return ", ".join(f"{count} {name}" for name, count in counts if count) or "nothing new"


def load_catalogue(catalogue: Catalogue | None = None) -> Loaded:
    """Load the data files, or the catalogue given.  Raises: CatalogueFault before anything."""
    catalogue = catalogue or read_catalogue()
    if found := problems(catalogue):
        raise CatalogueFault("catalogue", "; ".join(found))
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOADING])
        return _load(catalogue)


def _load(catalogue: Catalogue) -> Loaded:
    loaded = Loaded(formats=_formats(catalogue), recipes=recipes.load(catalogue.recipes))
    loaded.processes = sum(_process(data) for data in catalogue.processes)
    loaded.films = _films(catalogue)
    films, developers = _by(Film, "name"), _by(Recipe, "code")
    loaded.times = sum(_row(data, films, developers) for data in catalogue.rows)
    return loaded


def _formats(catalogue: Catalogue) -> int:
    made = 0
    for order, data in enumerate(catalogue.formats, start=1):
        defaults = {
            "kind": data.kind,
            "area_mm2": data.area_mm2,
            "source": data.source,
            "order": order,
        }
        made += Format.objects.get_or_create(name=data.name, defaults=defaults)[1]
    return made


def _process(data: ProcessData) -> bool:
    process, changed = _upsert(
        Process,
        {"code": data.code},
        {
            "name": data.name,
            "needs_held_temperature": data.needs_held_temperature,
            "is_bookable": data.is_bookable,
            "source": data.source,
            "standing": data.standing,
        },
    )
    changed |= _in_order(ProcessStep, process, data.steps)
    return _in_order(ProcessFigure, process, data.figures) or changed


def _in_order(model: type[models.Model], process: Process, rows: Sequence[Any]) -> bool:
    """Whether bringing what belongs to the process, in this order, took a change."""
    changed = False
    for order, row in enumerate(rows, start=1):
        values = {f.name: getattr(row, f.name) for f in fields(row)}
        changed |= _upsert(model, {"process": process, "order": order}, values)[1]
    mine = model._default_manager.filter(process=process)
    stale, _ = mine.filter(order__gt=len(rows)).delete()
    return changed or bool(stale)


def _films(catalogue: Catalogue) -> int:
    processes = _by(Process, "code")
    return sum(
        _upsert(
            Film,
            {"name": data.name},
            {
                "material": data.material,
                "speed": data.speed,
                "process": processes[data.process],
            },
        )[1]
        for data in catalogue.films
    )


def _row(data: RowData, films: Mapping[str, Film], developers: Mapping[str, Recipe]) -> bool:
    key = {
        "film": films[data.film],
        "developer": developers[data.developer],
        "dilution_n": data.dilution_n,
        "index": data.index,
        "agitation": data.agitation,
        "source": data.source,
    }
    row, changed = _upsert(TimeRow, key, {"standing": data.standing})
    if set(row.points.values_list("temp_c", "minutes")) == set(data.points):
        return changed
    row.points.all().delete()
    TimePoint.objects.bulk_create(
        TimePoint(row=row, temp_c=temp_c, minutes=minutes) for temp_c, minutes in data.points
    )
    return True


def _by(model: type[models.Model], key: str) -> dict[str, Any]:
    return {getattr(row, key): row for row in model._default_manager.all()}


def _upsert(
    model: type[models.Model], key: Mapping[str, Any], values: Mapping[str, Any]
) -> tuple[Any, bool]:
    """The row under this key with these values, and whether that took a change."""
    row, is_new = model._default_manager.get_or_create(**key, defaults=dict(values))
    changed = [name for name, value in values.items() if getattr(row, name) != value]
    if changed:
        for name in changed:
            setattr(row, name, values[name])
        row.save(update_fields=changed)
    return row, is_new or bool(changed)
