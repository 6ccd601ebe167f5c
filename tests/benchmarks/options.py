"""Every way to run 50 sheets in 30 vessels: ``python -m tests.benchmarks options``.

The whole answer of the planning page is measured, then what marks those that nothing beats against
comparing each with each; both must mark the same.
"""

from __future__ import annotations

import statistics
import time
from decimal import Decimal

from darkroom.models import Agitation
from sessions.asking import Ask
from sessions.choosing import Choosing
from sessions.means import Means
from sessions.offers import offer
from sessions.planning.options import Counts, beats, unbeaten
from tests.benchmarks.pairs import Ratio, ratio
from tests.benchmarks.stage import empty_house
from tests.factories.darkroom import (
    NOW,
    EquipmentFactory,
    FormatFactory,
    MemberFactory,
    VesselAgitationFactory,
    VesselFitFactory,
)
from tests.factories.sessions import bench

SHEETS, VESSELS, ANSWERS = 50, 30, 5


def ask_for(sheets: int, vessels: int) -> Ask:
    """A bench with so many vessels of many sizes and ways to be agitated."""
    house = bench()
    ways = list(Agitation)
    for n in range(1, vessels):
        vessel = EquipmentFactory(code=f"V-{n}", kind="drum")
        VesselAgitationFactory(equipment=vessel, agitation=ways[n % 4], max_ml=500 + 40 * n)
        VesselFitFactory(
            equipment=vessel,
            format=FormatFactory(),
            positions=6 + n % 3,
            advised=2 + n % 5,
            min_ml=200 + 15 * n,
        )
    return house.ask(MemberFactory(), sheets=sheets, own_minutes=Decimal(8))


def each_with_each(counts: list[Counts]) -> list[bool]:
    return [not any(beats(other, one) for other in counts) for one in counts]


def measure() -> Ratio:
    ask = ask_for(SHEETS, VESSELS)
    spent = []
    for _ in range(ANSWERS):
        start = time.perf_counter()
        found = offer(ask, at=NOW)
        spent.append(time.perf_counter() - start)
    choosing = Choosing(Means(ask, at=NOW))
    alone, _ = choosing.alone()
    counts = [manner.counts for manner in [*alone, *choosing.in_pairs()]]
    assert unbeaten(counts) == each_with_each(counts)
    print(f"{len(found.options)} shown of {len(counts)} ways, {sum(unbeaten(counts))} unbeaten")
    print(f"the whole answer: median {statistics.median(spent):.3f} s of {ANSWERS}")
    return ratio(lambda: void(each_with_each(counts)), lambda: void(unbeaten(counts)))


def void(_: object) -> None:
    """An answer that nobody looks at."""


def main() -> None:
    with empty_house():
        print("Comparing each with each, over one pass against the unbeaten:", measure())
