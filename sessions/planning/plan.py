"""A session as it is meant to be, before it has a time: everything a booking writes down."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from sessions.planning.timeline import Timeline


@dataclass(frozen=True, slots=True)
class PlannedBath:
    """A step that takes solution, and of which kind.

    ``way_id`` is the way of use a bottle would be mixed for; ``recipe_id``, ``way`` and ``draw_n``
    say which bottles serve. ``batch_id`` is the bottle the member wishes; None: the best one.
    ``borrowed_ul`` is out at once, ``consumed_ul`` is gone after the last load.
    """

    step_id: int
    name: str
    way_id: int
    recipe_id: int
    way: str
    draw_n: Decimal | None
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
class Plan:
    """What, in which vessel, how. ``accepts_mixing``: steps without a bottle may be booked."""

    process_id: int
    vessel_id: int
    agitation: str
    film_id: int
    material: str
    index: int
    format_id: int
    sheets: int
    sheet_mm2: Decimal
    sheets_per_load: int
    loads: int
    load_ml: int
    developer_id: int
    time_row_id: int | None
    own_minutes: Decimal | None
    temp_c: Decimal
    timeline: Timeline
    baths: tuple[PlannedBath, ...]
    accepts_mixing: bool = False

    def asked(self) -> dict[str, object]:
        """What the member decided, and nothing that was worked out from it."""
        return {
            "what": [self.film_id, self.index, self.format_id, self.sheets],
            "how": [self.process_id, self.developer_id, self.vessel_id, self.agitation],
            "at": [str(self.temp_c), str(self.own_minutes)],
            "bottles": [[bath.step_id, bath.batch_id] for bath in self.baths],
            "accepts_mixing": self.accepts_mixing,
        }

    @property
    def area_mm2(self) -> Decimal:
        return self.sheets * self.sheet_mm2

    def with_bottles(self, wishes: Mapping[int, int], *, accepts_mixing: bool) -> "Plan":
        """The plan with the bottles wished for, by step, and whether some may still be missing."""
        baths = tuple(replace(b, batch_id=wishes.get(b.step_id, b.batch_id)) for b in self.baths)
        return replace(self, baths=baths, accepts_mixing=accepts_mixing)
