"""The data files, read into plain values. What does not fit the schema is refused here."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from chemistry.catalogue.schema import (
    UNITS,
    Catalogue,
    FigureData,
    FilmData,
    FormatData,
    HazardData,
    IngredientData,
    ProcessData,
    ProcessFigureData,
    RecipeData,
    RowData,
    StepData,
    WayData,
)
from chemistry.catalogue.statements import STATEMENTS
from chemistry.catalogue.tables import Table, as_decimal
from chemistry.models import (
    FigureName,
    Form,
    Protection,
    Reaction,
    Role,
    Signal,
    Standing,
    Stream,
    Unit,
    Way,
)
from chemistry.science.area import MM2_PER_IN2
from chemistry.science.mixtures import Chemical
from darkroom.models import Agitation, Format, Material

DATA = Path(__file__).parent / "data"
NONE_STATED = ""


def read_catalogue(folder: Path = DATA) -> Catalogue:
    """Everything in the folder.  Raises: CatalogueFault at the first thing that does not fit."""
    reader = Reader(_toml(folder / "sources.toml"))
    recipes = sorted((folder / "recipes").glob("*.toml"))
    return Catalogue(
        formats=tuple(map(reader.format, _tables(folder / "formats.toml", "format"))),
        recipes=tuple(reader.recipe(t) for path in recipes for t in _tables(path, "recipe")),
        processes=tuple(map(reader.process, _tables(folder / "processes.toml", "process"))),
        films=tuple(map(reader.film, _tables(folder / "films.toml", "film"))),
        rows=tuple(map(reader.row, _tables(folder / "times.toml", "row"))),
    )


class Reader:
    """Builds the values of the catalogue, with the sources that its figures cite."""

    def __init__(self, sources: Mapping[str, str]) -> None:
        self.sources = sources

    def format(self, table: Table) -> FormatData:
        data = FormatData(
            name=table.text("name"),
            kind=table.choice("kind", Format.Kind.values),
            area_mm2=table.number("area_in2") * MM2_PER_IN2,
            source=self.source(table),
        )
        table.done()
        return data

    def recipe(self, table: Table) -> RecipeData:
        contents = table.text("contents")
        data = RecipeData(
            code=table.text("code"),
            name=table.text("name"),
            role=table.choice("role", Role.values),
            letter=table.text("letter"),
            reaction=table.choice("reaction", Reaction.values),
            contents=f"{contents}\n{self._cited(table)}",
            cautions=table.text("cautions"),
            stream=table.choice("stream", Stream.values),
            classes=table.choices("classes", list(Chemical)),
            ingredients=tuple(
                self.ingredient(row, order)
                for order, row in enumerate(table.rows("ingredient"), start=1)
            ),
            hazards=tuple(map(self.hazard, table.rows("hazard"))),
            ways=tuple(map(self.way, table.rows("way"))),
        )
        table.done()
        return data

    def ingredient(self, table: Table, order: int) -> IngredientData:
        data = IngredientData(
            order=order,
            part=table.text("part", default=""),
            name=table.text("name"),
            amount=table.number_or_none("amount"),
            unit=table.choice("unit", Unit.values),
            temp_c=table.number_or_none("temp_c"),
            cas=table.text("cas", default=""),
            source=self.source(table),
            standing=self.standing(table),
            note=table.text("note", default=""),
        )
        table.done()
        return data

    def hazard(self, table: Table) -> HazardData:
        data = HazardData(
            form=table.choice("form", Form.values),
            signal=table.choice("signal", Signal.values),
            statements=table.choices("statements", STATEMENTS),
            protection=table.choices("protection", Protection.values),
            source=self.source(table),
            standing=self.standing(table),
            note=table.text("note", default=""),
        )
        table.done()
        return data

    def way(self, table: Table) -> WayData:
        data = WayData(
            way=table.choice("way", Way.values),
            mix_n=table.number_or_none("mix_n"),
            draw_n=table.number_or_none("draw_n"),
            replenisher=table.text("replenisher", default=""),
            figures=tuple(f for t in table.rows("figure") for f in self.figures(t)),
        )
        table.done()
        return data

    def figures(self, table: Table) -> Iterator[FigureData]:
        """One figure for each material that it is given for."""
        name = table.choice("name", FigureName.values)
        value = table.number_or_none("value")
        unit = table.choice("unit", [UNITS[name]])
        source, standing = self.source(table), self.standing(table)
        conditions = table.text("conditions", default="")
        for material in table.items("materials") or [""]:
            if material and material not in Material.values:
                raise table.fault(f"{material!r} is no class of material")
            yield FigureData(name, material, value, unit, source, standing, conditions)
        table.done()

    def process(self, table: Table) -> ProcessData:
        data = ProcessData(
            code=table.text("code"),
            name=table.text("name"),
            needs_held_temperature=table.flag("needs_held_temperature", default=False),
            is_bookable=table.flag("is_bookable", default=True),
            source=self.source(table),
            standing=self.standing(table),
            steps=tuple(map(self.step, table.rows("step"))),
            figures=tuple(map(self.process_figure, table.rows("figure"))),
        )
        table.done()
        return data

    def process_figure(self, table: Table) -> ProcessFigureData:
        data = ProcessFigureData(
            bath=table.text("bath"),
            name=table.text("name"),
            value=table.number_or_none("value"),
            unit=table.text("unit"),
            source=self.source(table),
            standing=self.standing(table),
            conditions=table.text("conditions", default=""),
        )
        table.done()
        return data

    def step(self, table: Table) -> StepData:
        data = StepData(
            name=table.text("name"),
            role=table.choice("role", Role.values),
            reaction=table.choice("reaction", Reaction.values, default=NONE_STATED),
            minutes=table.number_or_none("minutes"),
            temp_c=table.number_or_none("temp_c"),
            tolerance_c=table.number_or_none("tolerance_c"),
            agitation=table.text("agitation", default=""),
            caution=table.text("caution", default=""),
            is_dark=table.flag("is_dark", default=False),
            source=self.source(table),
            standing=self.standing(table),
        )
        table.done()
        return data

    def film(self, table: Table) -> FilmData:
        data = FilmData(
            name=table.text("name"),
            material=table.choice("material", Material.values),
            speed=int(table.number("speed")),
            process=table.text("process"),
        )
        table.done()
        return data

    def row(self, table: Table) -> RowData:
        points = tuple(self._point(table, pair) for pair in table.items("points"))
        data = RowData(
            film=table.text("film"),
            developer=table.text("developer"),
            dilution_n=table.number("dilution_n"),
            index=int(table.number("index")),
            agitation=table.choice("agitation", Agitation.values),
            source=self.source(table),
            standing=self.standing(table),
            points=points,
        )
        table.done()
        return data

    def source(self, table: Table, key: str = "source") -> str:
        return self.sources[table.choice(key, self.sources)]

    def standing(self, table: Table, key: str = "standing") -> str:
        return table.choice(key, Standing.values)

    def _cited(self, table: Table) -> str:
        standing = Standing(self.standing(table, "contents_standing"))
        return f"Source: {self.source(table, 'contents_source')} ({standing.label})."

    def _point(self, table: Table, pair: object) -> tuple[Decimal, Decimal]:
        if not isinstance(pair, list) or len(pair) != 2:
            raise table.fault("a point is a pair of °C and minutes")
        temp_c, minutes = (as_decimal(value, f"{table.where}, points") for value in pair)
        return temp_c, minutes


def _toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)


def _tables(path: Path, key: str) -> list[Table]:
    table = Table(_toml(path), path.name)
    rows = table.rows(key)
    table.done()
    return rows
