"""A session as it is meant to be, before it has a time: everything a booking writes down."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from chemistry.science.wear import BathFigures
from sessions.planning.splitting import loads_of, split_sheets
from sessions.planning.timeline import Timeline


@dataclass(frozen=True, slots=True)
class PlannedBath:
    """A step that takes solution, and of which kind.

    ``way_id`` is the way of use a bottle would be mixed for; ``recipe_id``, ``way`` and ``draw_n``
    say which bottles serve. ``batch_id`` is the bottle the member wishes; None: the best one.
    ``material`` is the class, of those that pass, that the bath bears least.
    ``borrowed_ul`` is out at once, ``consumed_ul`` is gone after the last load.
    """

    step_id: int
    name: str
    way_id: int
    recipe_id: int
    way: str
    draw_n: Decimal | None
    material: str
    borrowed_ul: int
    consumed_ul: int
    starts_s: int
    ends_s: int
    batch_id: int | None = None

    @property
    def field(self) -> str:
        """The form field by which a member chooses its bottle."""
        return f"bottle_{self.step_id}"


@dataclass(frozen=True, slots=True)
class PlannedLine:
    """Sheets of one film and format, developed alike in one vessel."""

    film_id: int
    index: int
    format_id: int
    sheets: int
    sheet_mm2: Decimal
    vessel_id: int
    agitation: str
    sheets_per_load: int
    load_ml: int
    time_row_id: int | None
    own_minutes: Decimal | None
    temp_c: Decimal

    @property
    def loads(self) -> int:
        return loads_of(self.sheets, self.sheets_per_load)

    @property
    def split(self) -> tuple[int, ...]:
        return split_sheets(self.sheets, self.sheets_per_load)

    @property
    def area_mm2(self) -> Decimal:
        return self.sheets * self.sheet_mm2


@dataclass(frozen=True, slots=True)
class Plan:
    """What, in which vessels, how.

    ``accepts_mixing``: steps without a bottle may be booked. ``accepts_crowding``: loads may have
    more sheets than advised.
    """

    process_id: int
    developer_id: int
    lines: tuple[PlannedLine, ...]
    timeline: Timeline
    baths: tuple[PlannedBath, ...]
    accepts_mixing: bool = False
    accepts_crowding: bool = False

    def asked(self) -> dict[str, object]:
        """What the member decided, and nothing that was worked out from it."""
        return {
            "what": [[ln.film_id, ln.index, ln.format_id, ln.sheets] for ln in self.lines],
            "how": [self.process_id, self.developer_id],
            "in": [[ln.vessel_id, ln.agitation] for ln in self.lines],
            "at": [[str(ln.temp_c), str(ln.own_minutes)] for ln in self.lines],
            "bottles": [[bath.step_id, bath.batch_id] for bath in self.baths],
            "accepts_mixing": self.accepts_mixing,
            "accepts_crowding": self.accepts_crowding,
        }

    @property
    def vessel_ids(self) -> tuple[int, ...]:
        """Each vessel once, in the order in which the lines name them."""
        return tuple(dict.fromkeys(line.vessel_id for line in self.lines))

    @property
    def vessel_id(self) -> int:
        return self.lines[0].vessel_id

    @property
    def sheets(self) -> int:
        return sum(line.sheets for line in self.lines)

    @property
    def loads(self) -> int:
        return sum(line.loads for line in self.lines)

    @property
    def load_ml(self) -> int:
        """The most solution that one load takes."""
        return max(line.load_ml for line in self.lines)

    @property
    def area_mm2(self) -> Decimal:
        return sum((line.area_mm2 for line in self.lines), Decimal(0))

    def with_bottles(self, wishes: Mapping[int, int], *, accepts_mixing: bool) -> "Plan":
        """The plan with the bottles wished for, by step, and whether some may still be missing."""
        baths = tuple(replace(b, batch_id=wishes.get(b.step_id, b.batch_id)) for b in self.baths)
        return replace(self, baths=baths, accepts_mixing=accepts_mixing)

    def with_fewer(self, sheets: int) -> "Plan":
        """The first so many sheets, in loads as full as planned.

        Domain: from one sheet to all of them.  Raises: ValueError.
        """
        if not 1 <= sheets <= self.sheets:
            raise ValueError(f"{sheets} of {self.sheets} sheets")
        kept, left = [], sheets
        for line in self.lines:
            taken = min(left, line.sheets)
            if taken:
                kept.append(replace(line, sheets=taken))
            left -= taken
        return replace(self, lines=tuple(kept))


def hardest(materials: Sequence[str], figures: BathFigures) -> str:
    """The class that uses a bath up most for its area, or one that it does not admit at all.

    Domain: at least one class.
    """
    none = Decimal(0)
    return min(materials, key=lambda m: (figures.capacity_mm2_per_l.get(m, none), m))
