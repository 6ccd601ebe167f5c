"""Divisions between two vessels, and what nothing beats, against trying everything."""

import math
import random
from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.planning.combining import Candidate, Frame, Seat, Share, counts_of, pairs
from sessions.planning.options import MOST_LOADS, Counts, beats, unbeaten

FRAME = Frame(warm_s=0, dark_s=600, clean_s=600)
A, B = Seat(1, "inversion"), Seat(2, "rocking")


@dataclass(frozen=True)
class Place:
    """A vessel as the brute force knows it."""

    most: int
    least_ml: int
    sheet_ml: int
    wet_s: int
    drift_c: float

    def share(self, sheets: int) -> Share:
        loads = math.ceil(sheets / self.most)
        load_ml = max(self.least_ml, math.ceil(sheets / loads) * self.sheet_ml)
        return Share(sheets, loads, load_ml, loads * load_ml, self.wet_s, self.drift_c)


def share_of(places):
    return lambda seat, line, sheets: places[seat].share(sheets)


def offered(places, sheets, frame=FRAME) -> list[Candidate]:
    seats = list(places)
    alone = [
        Candidate((seat,), shares, counts_of((seat,), shares, frame))
        for seat in seats
        if (shares := ((places[seat].share(sheets),),))[0][0].loads <= MOST_LOADS
    ]
    return [*alone, *pairs(seats, [sheets], share_of(places), frame)]


def run_by_the_clock(order: list[tuple[int, int]], frame: Frame) -> int:
    """Seconds until all is clean, each load moved second by second through booth and sink."""
    now, booth_free, sink_free, empty = frame.warm_s, frame.warm_s, frame.warm_s, {}
    for vessel, wet in order:
        now = booth_free
        while now < empty.get(vessel, 0) or now + frame.dark_s < sink_free:
            now += 1
        booth_free = now + frame.dark_s
        sink_free = max(booth_free, sink_free) + wet
        empty[vessel] = sink_free
    return sink_free + frame.clean_s


def turns(first: tuple[Seat, Share], second: tuple[Seat, Share] | None) -> list[tuple[int, int]]:
    """The vessel with more loads begins."""
    order, left = [], [first] if second is None else sorted([first, second], key=more_loads)
    rest = {seat.vessel: share.loads for seat, share in left}
    while any(rest.values()):
        for seat, share in left:
            if rest[seat.vessel]:
                rest[seat.vessel] -= 1
                order.append((seat.vessel, share.wet_s))
    return order


def more_loads(pair: tuple[Seat, Share]) -> int:
    return -pair[1].loads


def by_trying_everything(places, sheets, frame) -> set[tuple[float, ...]]:
    """The counts that nothing beats, of every vessel and every division between two."""
    found = []
    for seat, place in places.items():
        for n in range(1, sheets + 1):
            here = (seat, place.share(n))
            others = [s for s in places if s.vessel != seat.vessel] if n < sheets else [None]
            for other in others:
                there = None if other is None else (other, places[other].share(sheets - n))
                order = turns(here, there)
                if len(order) > MOST_LOADS:
                    continue
                parts = [p[1] for p in (here, there) if p is not None]
                found.append(
                    (
                        sum(p.used_ul for p in parts),
                        max(p.load_ml for p in parts),
                        run_by_the_clock(order, frame),
                        max(p.drift_c for p in parts),
                        0,
                        len(parts),
                    )
                )
    return {
        one
        for one in found
        if not any(
            all(a <= b for a, b in zip(other, one, strict=True)) and other != one for other in found
        )
    }


def some_places(dice: random.Random) -> dict[Seat, Place]:
    return {
        Seat(n, "any"): Place(
            most=dice.randint(1, 6),
            least_ml=dice.choice((200, 300, 475)),
            sheet_ml=dice.choice((0, 60, 128)),
            wet_s=60 * dice.randint(1, 5),
            drift_c=dice.choice((0.0, 0.4, math.inf)),
        )
        for n in range(1, dice.randint(2, 5))
    }


@pytest.mark.parametrize("seed", range(20))
def test_what_is_marked_is_what_trying_everything_leaves(seed):
    """A hundred houses each; seconds are few, so that the clock may tick through them all."""
    dice = random.Random(seed)
    for _ in range(100):
        places, sheets = some_places(dice), dice.randint(1, 14)
        frame = Frame(60 * dice.randint(0, 2), 60 * dice.randint(0, 4), 60)

        made = offered(places, sheets, frame)
        marks = unbeaten([one.counts for one in made])

        kept = {one.counts.axes for one, mark in zip(made, marks, strict=True) if mark}
        assert kept == by_trying_everything(places, sheets, frame)


figures = st.integers(0, 3)


@given(st.lists(st.builds(Counts, figures, figures, figures, figures, figures), max_size=24))
def test_marks_are_those_of_comparing_each_with_each(counts):
    assert unbeaten(counts) == [not any(beats(other, one) for other in counts) for one in counts]


@given(st.builds(Counts, figures, figures, figures, figures))
def test_nothing_beats_itself(counts):
    assert not beats(counts, counts)
    assert unbeaten([counts, counts]) == [True, True]


def test_nobody_knowing_the_drift_is_worse_than_any():
    known = Counts(used_ul=1, load_ml=1, attended_s=1, drift_c=9.0)
    unknown = Counts(used_ul=1, load_ml=1, attended_s=1, drift_c=math.inf)

    assert unbeaten([unknown, known]) == [False, True]


def test_two_vessels_are_faster_and_one_takes_fewer_hands():
    places = {A: Place(4, 475, 0, 1320, 0.0), B: Place(4, 475, 0, 1320, 0.0)}

    made = offered(places, 8)

    assert [(one.sheets, one.counts.attended_s // 60) for one in made] == [
        (((8,),), 10 + 22 + 10 + 22 + 10),
        (((8,),), 10 + 22 + 10 + 22 + 10),
        (((4, 4),), 10 + 22 + 22 + 10),
    ]
    assert unbeaten([one.counts for one in made]) == [True, True, True]


def test_the_vessel_with_more_loads_begins():
    places = {A: Place(4, 475, 0, 1320, 0.0), B: Place(1, 200, 0, 1320, 0.0)}

    made = pairs([A, B], [6], share_of(places), FRAME)

    assert [one.seats[0] for one in made if one.sheets == ((2, 4),)] == [B]


def test_ways_to_agitate_one_vessel_make_no_pair():
    again = Seat(1, "rotary")
    places = {A: Place(4, 475, 0, 1320, 0.0), again: Place(4, 300, 0, 1320, 0.0)}

    assert pairs([A, again], [8], share_of(places), FRAME) == []


def test_several_lines_are_divided_by_the_fewest_loads_and_evenly():
    places = {A: Place(4, 475, 0, 1320, 0.0), B: Place(4, 475, 0, 1320, 0.0)}

    (found,) = pairs([A, B], [8, 4, 4], share_of(places), FRAME)

    loads = [[share.loads if share else 0 for share in line] for line in found.shares]
    assert sum(map(sum, loads)) == 4
    assert [sum(column) for column in zip(*loads, strict=True)] == [2, 2]


def test_a_vessel_that_takes_none_of_a_line_leaves_it_to_the_other():
    places = {A: Place(4, 475, 0, 1320, 0.0), B: Place(4, 475, 0, 1320, 0.0)}

    def some(seat, line, sheets):
        return None if (seat, line) == (B, 0) else places[seat].share(sheets)

    (found,) = pairs([A, B], [8, 4], some, FRAME)

    assert set(found.seats) == {A, B}
    assert sum(sum(line) for line in found.sheets) == 12
