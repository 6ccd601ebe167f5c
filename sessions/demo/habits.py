"""The ways of working that members of the invented house have."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Habit:
    """A way of working that members of the house have."""

    film: str
    index: int
    format: str
    sheets: tuple[int, int]
    developer: str
    vessels: tuple[str, ...]
    weight: int = 1


HABITS = (
    Habit("FP4 Plus", 125, "4×5", (3, 8), "xtol:to_draw", ("DRUM-1", "DRUM-2"), 5),
    Habit("HP5 Plus", 400, "4×5", (4, 8), "d-76:reused", ("TANK-1", "TANK-2"), 5),
    Habit("T-MAX 100", 100, "4×5", (4, 8), "t-max-rs:replenished", ("REEL-1",), 4),
    Habit("T-MAX 400", 400, "4×5", (4, 8), "t-max-rs:replenished", ("REEL-1",), 3),
    Habit("Delta 100", 100, "4×5", (4, 4), "dd-x:to_draw", ("TANK-2", "TANK-1"), 2),
    Habit("HP5 Plus", 400, "8×10", (1, 3), "xtol:to_draw", ("DRUM-2", "DRUM-1"), 3),
    Habit("FP4 Plus", 125, "5×7", (2, 6), "d-23:replenished", ("TRAY-1",), 2),
    Habit("HP5 Plus", 400, "8×10", (2, 4), "d-23:replenished", ("TRAY-2",), 1),
    Habit("T-MAX 400", 400, "120", (1, 2), "xtol:to_draw", ("REEL-2",), 2),
    Habit("HP5 Plus", 400, "135-36", (1, 2), "d-76:reused", ("TANK-3",), 2),
)
