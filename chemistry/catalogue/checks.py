"""What must hold across the catalogue's files, beyond the form of each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from chemistry.catalogue.contents import contents_problems, value_problems
from chemistry.catalogue.schema import Catalogue, ProcessData, RecipeData, RowData, WayData
from chemistry.models import FigureName, Role, Standing, Way

PRINTED = frozenset({Standing.READ, Standing.RESTATED, Standing.COMPUTED})


def problems(catalogue: Catalogue) -> list[str]:
    """Everything wrong with the catalogue as a whole, in sentences; empty when it may be loaded."""
    return [
        *_twice("recipe", [recipe.code for recipe in catalogue.recipes]),
        *_twice("letter", [recipe.letter for recipe in catalogue.recipes]),
        *_twice("format", [row.name for row in catalogue.formats]),
        *_twice("film", [film.name for film in catalogue.films]),
        *_twice("process", [process.code for process in catalogue.processes]),
        *_twice("row", [_row_key(row) for row in catalogue.rows]),
        *(p for recipe in catalogue.recipes for p in _recipe(recipe, catalogue)),
        *(p for process in catalogue.processes for p in _process(process, catalogue)),
        *(p for row in catalogue.rows for p in _row(row, catalogue)),
        *_films(catalogue),
    ]


def _twice(what: str, names: list[str]) -> Iterator[str]:
    return (f"{what} {name} stands there twice" for name, n in Counter(names).items() if n > 1)


def _recipe(recipe: RecipeData, catalogue: Catalogue) -> Iterator[str]:
    if not recipe.ways:
        yield f"{recipe.code} has no way of use"
    yield from (f"{recipe.code}: {p}" for p in contents_problems(recipe))
    for way in recipe.ways:
        yield from (f"{recipe.code}, {way.way}: {p}" for p in _way(way, catalogue))


def _way(way: WayData, catalogue: Catalogue) -> Iterator[str]:
    if (way.draw_n is not None) != (way.way == Way.TO_DRAW):
        yield "only a stock is drawn, and a stock says at what dilution"
    known = {recipe.code: recipe.role for recipe in catalogue.recipes}
    if way.replenisher and known.get(way.replenisher) != Role.REPLENISHER:
        yield f"{way.replenisher} is no replenisher"
    names = {figure.name for figure in way.figures}
    if way.way == Way.REUSED and FigureName.CAPACITY not in names:
        yield "a reused bath needs a capacity"
    if way.way == Way.REPLENISHED and FigureName.REPLENISH not in names:
        yield "a replenished bath needs a rate"
    yield from _figures(way)


def _figures(way: WayData) -> Iterator[str]:
    yield from _twice("figure", [f"{f.name} {f.material}".strip() for f in way.figures])
    for figure in way.figures:
        yield from (f"{figure.name} {p}" for p in value_problems(figure))


def _process(process: ProcessData, catalogue: Catalogue) -> Iterator[str]:
    for step in process.steps:
        if step.minutes is None and step.role != Role.DEVELOPER:
            yield f"{process.code}, {step.name}: only a developer is timed by its row"
        if step.role in (Role.STOP, Role.FIXER) and not step.reaction:
            yield f"{process.code}, {step.name}: says not whether it is acid"
    for figure in process.figures:
        yield from (f"{process.code}, {figure.name}: {p}" for p in value_problems(figure))
    for step, following in pairwise(process.steps):
        if step.role == Role.STOP and following.role == Role.FIXER:
            yield from _acid_before_alkaline(process, step.reaction, following.reaction)
    yield from _unfit_baths(process, catalogue)


def _acid_before_alkaline(process: ProcessData, stop: str, fixer: str) -> Iterator[str]:
    if stop == "acid" and fixer == "alkaline":
        yield f"{process.code}: an acid stop stands before an alkaline fixer"


def _unfit_baths(process: ProcessData, catalogue: Catalogue) -> Iterator[str]:
    """Of a process that can be booked, some recipe must serve each step that says how it reacts."""
    served = {(recipe.role, recipe.reaction) for recipe in catalogue.recipes}
    for step in process.steps if process.is_bookable else ():
        if step.reaction and (step.role, step.reaction) not in served:
            yield f"{process.code}, {step.name}: no {step.reaction} {step.role} stands there"


def _row(row: RowData, catalogue: Catalogue) -> Iterator[str]:
    key = _row_key(row)
    recipes = {r.code: r for r in catalogue.recipes if r.role == Role.DEVELOPER}
    if row.film not in {film.name for film in catalogue.films}:
        yield f"{key}: no such film"
    ways = recipes[row.developer].ways if row.developer in recipes else ()
    if row.dilution_n not in {way.dilution_n for way in ways}:
        yield f"{key}: the developer is not used so"
    if row.standing not in PRINTED:
        yield f"{key}: a time that is only remembered is no default"
    if row.dilution_n < 0 or row.index <= 0 or not row.points:
        yield f"{key}: no sensible row"
    if any(minutes <= 0 for _, minutes in row.points):
        yield f"{key}: a time of nothing"
    for (cooler, longer), (warmer, shorter) in pairwise(row.points):
        if warmer <= cooler or shorter > longer:
            yield f"{key}: times must not grow with temperature"


def _row_key(row: RowData) -> str:
    return (
        f"{row.film} at {row.index} in {row.developer} 1+{row.dilution_n}, "
        f"{row.agitation}, {row.source}"
    )


def _films(catalogue: Catalogue) -> Iterator[str]:
    known = {process.code for process in catalogue.processes}
    return (f"{f.name}: no process {f.process}" for f in catalogue.films if f.process not in known)
