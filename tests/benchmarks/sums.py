"""How fast the sums are: ``python -m tests.benchmarks sums``.

First calls per second of the everyday ones, then the drift time in closed form against scipy's
quad and brentq on the same courses, turn by turn in one run. Both must give the same minutes.
"""

from __future__ import annotations

import math
import random
import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from scipy import integrate, optimize

from chemistry.science import wear
from chemistry.science.area import AU_MM2, remaining_sheets
from chemistry.science.drift import Course, drift_time_min
from chemistry.science.heat import pour_in_c
from chemistry.science.load import load_volume_ml
from chemistry.science.mixing import Dilution, mix
from chemistry.science.rows import PrintedRow, row_fit, row_time_min
from tests.benchmarks.pairs import ratio

LITRE_UL = 1_000_000
NOON = datetime(2025, 3, 1, 12, tzinfo=UTC)
ROW = PrintedRow("film, developer", ((20.0, 8.0), (22.0, 6.75), (24.0, 5.75)))
FIT = row_fit(ROW)
FIXER = wear.BathFigures(way="reused", capacity_mm2_per_l={"film": 20 * AU_MM2})
DILUTION = Dilution(Decimal(50))
DRIFT = {"printed_min": 8.0, "reference_c": 20.0, "k_per_c": FIT.k_per_c}
RANGE = {"low_c": 15.0, "high_c": 30.0}


def some_courses(count: int) -> list[Course]:
    """Vessels between 18 and 26 °C in rooms of 16 to 26 °C, always the same ones."""
    dice = random.Random(1)
    return [
        Course(dice.uniform(18, 26), dice.uniform(16, 26), dice.uniform(10, 200))
        for _ in range(count)
    ]


def a_life(uses: int) -> list[wear.Event]:
    """A bath filled once and used so many times."""
    life: list[wear.Event] = [wear.VolumeEvent(NOON, NOON, 0, LITRE_UL)]
    for key in range(1, uses + 1):
        at = NOON + timedelta(hours=key)
        life.append(wear.UseEvent(at, at, key, AU_MM2 / 4, "film"))
    return life


def by_scipy(course: Course) -> float:
    """The same time by quadrature and root finding."""

    def missing(minutes: float) -> float:
        done, _ = integrate.quad(
            lambda at: math.exp(FIT.k_per_c * (course.at_c(at) - 20.0)), 0, minutes
        )
        return float(done) - 8.0

    return float(optimize.brentq(missing, 0, 240, xtol=1e-9))


def by_closed_form(course: Course) -> float:
    return drift_time_min(course, **DRIFT, **RANGE)


def load() -> Decimal:
    return load_volume_ml(
        vessel_min_ml=Decimal(200),
        vessel_max_ml=Decimal(2000),
        stock_ml_per_au=Decimal(10),
        dilution_parts=Decimal(50),
        area_mm2=AU_MM2,
        per_pass_mm2_per_l=None,
    )


def everyday() -> dict[str, Callable[[], object]]:
    course, life = some_courses(1)[0], a_life(100)
    state = wear.replay(life[:9], figures=FIXER, full_ul=LITRE_UL)
    planned = {"area_mm2": AU_MM2, "material": "film", "figures": FIXER}
    heat = {"solution_j_per_c": 2088.0, "poured_c": 20.5}
    vessel = {"vessel_j_per_c": 250.0, "vessel_c": 22.0}
    return {
        "sheets that remain": lambda: remaining_sheets(5 * AU_MM2, AU_MM2 / 4),
        "stock and water": lambda: mix(510_000, DILUTION),
        "volume of a load": load,
        "time at another temperature": lambda: row_time_min(ROW, 21.3, fit=FIT),
        "coefficient of a row": lambda: row_fit(ROW),
        "pour-in temperature": lambda: pour_in_c(**heat, **vessel),
        "drift time": lambda: by_closed_form(course),
        "wear after a load": lambda: wear.after_load(state, full_ul=LITRE_UL, **planned),
        "what forbids a load": lambda: wear.refusals(state, **planned),
        "replay of 100 uses": lambda: wear.replay(life, figures=FIXER, full_ul=LITRE_UL),
    }


def calls_per_s(run: Callable[[], object], *, turns: int = 7, turn_s: float = 0.1) -> float:
    """Median over several turns, each about a tenth of a second long."""
    count, spent = 1, 0.0
    while spent < turn_s:
        count *= 2
        spent = seconds(run, count)
    return statistics.median(count / seconds(run, count) for _ in range(turns))


def seconds(run: Callable[[], object], count: int) -> float:
    start = time.perf_counter()
    for _ in range(count):
        run()
    return time.perf_counter() - start


def main() -> None:
    for name, run in everyday().items():
        print(f"{name:<28} {calls_per_s(run):>12,.0f} calls per second")
    courses = some_courses(200)
    apart = max(abs(by_scipy(course) - by_closed_form(course)) for course in courses)
    if apart > 1e-6:
        raise SystemExit(f"closed form and quadrature differ by {apart} min")
    slower = ratio(
        lambda: [by_scipy(course) for course in courses] and None,
        lambda: [by_closed_form(course) for course in courses] and None,
    )
    print(f"drift of {len(courses)} courses, quad and brentq over closed form: {slower}")
    print(f"largest difference between the two: {apart:.1e} min")
