"""Outlines of bottles, tanks and waste drums, and where the liquid in them stands.

A vessel is drawn from a profile: half-widths at heights, mirrored about its middle. The level
is set so that the drawn area of the liquid is the true share of the full volume, hence a half
full bottle looks half full.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

Point = tuple[float, float]
TEXT_X = 122


@dataclass(frozen=True)
class Shape:
    """A vessel's drawing; ``profile`` runs from the top mark to the floor, as (y, half-width)."""

    name: str
    width: float
    height: float
    collar: tuple[Point, ...]
    profile: tuple[Point, ...]
    details: str = ""

    @property
    def mark_y(self) -> float:
        return self.profile[0][0]

    @property
    def floor_y(self) -> float:
        return self.profile[-1][0]


BOTTLE = Shape(
    name="bottle",
    width=88,
    height=152,
    collar=((20, 12), (29, 12), (32, 14), (35, 18.5), (39, 25), (44, 31.5), (49, 36.5), (53, 39.5)),
    profile=((58, 41), (140, 41), (146, 38.5), (149, 34)),
    details="M28 6h32v12h-32z",
)
TANK = Shape(
    name="tank",
    width=104,
    height=152,
    collar=((34, 50), (40, 50), (40, 46)),
    profile=((52, 46), (145, 44), (149, 41)),
    details="M4 34l6-10h84l6 10M40 24v-8h24v8",
)
DRUM = Shape(
    name="drum",
    width=104,
    height=152,
    collar=((22, 46), (26, 50)),
    profile=((38, 50), (62, 48), (66, 50), (104, 50), (108, 48), (112, 50), (145, 50), (149, 46)),
    details="M66 22v-8h20v8M18 22v-5h22v5",
)
SHAPES = {shape.name: shape for shape in (BOTTLE, TANK, DRUM)}


@dataclass(frozen=True)
class Waterline:
    """All the numbers of one drawing; y grows downwards from 0 to ``shape.height``."""

    shape: Shape
    outline: str
    water: str
    level_y: float
    level_half: float
    limit_y: float | None
    ticks: tuple[tuple[float, float, float], ...]
    share: float

    @property
    def middle(self) -> float:
        return self.shape.width / 2

    @property
    def level_left(self) -> float:
        return round(self.middle - self.level_half, 2)

    @property
    def level_right(self) -> float:
        return round(self.middle + self.level_half, 2)

    @property
    def top_y(self) -> float:
        """Where the free part ends: the fill limit, else the mark."""
        return self.shape.mark_y if self.limit_y is None else self.limit_y

    @property
    def bracket_x(self) -> float | None:
        """The dimension line of the free part; too short a one is left out."""
        return self.shape.width + 4 if self.level_y - self.top_y > 8 else None

    @property
    def text_x(self) -> float:
        """One margin for all shapes, so that numbers stand in a column."""
        return TEXT_X

    @property
    def figure_y(self) -> float:
        return round(self.level_y - 9, 2)

    @property
    def note_y(self) -> float:
        """Below the line, or above the figure where the level leaves no room below."""
        is_low = self.shape.height - self.level_y < 24
        return round(self.level_y + (-44 if is_low else 21), 2)


def waterline(
    volume: float, capacity: float, *, kind: str = "bottle", limit: float | None = None
) -> Waterline:
    """The drawing of ``volume`` in a vessel that holds ``capacity`` up to its mark.

    Units: any, the same for the three volumes.
    Domain: capacity > 0; a volume outside 0 … capacity is drawn at the nearer end.
    Raises: ValueError for a capacity that is not positive, KeyError for an unknown kind.
    """
    if capacity <= 0:
        raise ValueError(f"capacity must be positive, got {capacity}")
    shape = SHAPES[kind]
    share = min(1.0, max(0.0, volume / capacity))
    level_y = level(shape.profile, share)
    return Waterline(
        shape=shape,
        outline=_mirrored((*shape.collar, *shape.profile), shape.width / 2),
        water=_mirrored(_below(shape.profile, level_y), shape.width / 2),
        level_y=level_y,
        level_half=half_width(shape.profile, level_y),
        limit_y=None if limit is None else level(shape.profile, min(1.0, limit / capacity)),
        ticks=tuple(_tick(shape, quarter / 4) for quarter in range(1, 5)),
        share=share,
    )


def area(profile: tuple[Point, ...]) -> float:
    """Drawn area of one half of the profile."""
    return sum((y1 - y0) * (w0 + w1) / 2 for (y0, w0), (y1, w1) in pairwise(profile))


def level(profile: tuple[Point, ...], share: float) -> float:
    """The y below which ``share`` of the profile's area lies.

    Domain: 0 <= share <= 1; the profile runs downwards.
    """
    wanted = share * area(profile)
    for (y_top, w_top), (y_low, w_low) in reversed(list(pairwise(profile))):
        height = y_low - y_top
        slice_area = height * (w_top + w_low) / 2
        if wanted <= slice_area:
            return round(y_low - _climb(wanted, w_low, (w_top - w_low) / height), 2)
        wanted -= slice_area
    return profile[0][0]


def _climb(wanted: float, width: float, slope: float) -> float:
    """The height t at which width·t + slope·t²/2 reaches ``wanted``."""
    return 2 * wanted / (width + sqrt(max(0.0, width * width + 2 * slope * wanted)))


def half_width(profile: tuple[Point, ...], y: float) -> float:
    """Half-width of the profile at ``y``, by straight lines between its points."""
    for (y0, w0), (y1, w1) in pairwise(profile):
        if y0 <= y <= y1:
            return w0 + (w1 - w0) * (y - y0) / (y1 - y0)
    raise ValueError(f"y {y} lies outside the profile")


def _below(profile: tuple[Point, ...], y: float) -> tuple[Point, ...]:
    return ((y, half_width(profile, y)), *(point for point in profile if point[0] > y))


def _mirrored(points: tuple[Point, ...], middle: float) -> str:
    """A closed path down the right side and up the left."""
    right = [f"{middle + w:g} {y:g}" for y, w in points]
    left = [f"{middle - w:g} {y:g}" for y, w in reversed(points)]
    return f"M{'L'.join(right + left)}Z"


def _tick(shape: Shape, share: float) -> tuple[float, float, float]:
    y = level(shape.profile, share)
    x = shape.width / 2 + half_width(shape.profile, y)
    return (round(x - (12 if share in {0.5, 1.0} else 7), 2), round(x, 2), y)
