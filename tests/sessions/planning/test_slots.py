from hypothesis import given
from hypothesis import strategies as st

from sessions.planning import slots

small = st.integers(0, 60)
ranges = st.lists(st.tuples(small, small).map(lambda p: (min(p), max(p))), max_size=6)
stretches = st.lists(
    st.tuples(st.integers(0, 8), st.integers(1, 6)).map(lambda p: (p[0], p[0] + p[1])),
    min_size=1,
    max_size=3,
)


def members(found: list[slots.Range]) -> set[int]:
    return {n for low, high in found for n in range(low, high)}


@given(ranges)
def test_normal_keeps_the_set_and_leaves_no_touching_ranges(given_ranges):
    found = slots.normal(given_ranges)

    assert members(found) == members(given_ranges)
    assert all(left[1] < right[0] for left, right in zip(found, found[1:], strict=False))


@given(ranges, ranges)
def test_intersection_is_that_of_the_members(left, right):
    found = slots.intersection(slots.normal(left), slots.normal(right))

    assert members(found) == members(left) & members(right)


@given(ranges, stretches)
def test_starts_on_a_piece_are_those_tried_one_by_one(free, asked):
    inside = members(free)

    found = members(slots.starts_on_piece(slots.normal(free), asked))

    tried = {
        at for at in range(-20, 70) if all(set(range(at + a, at + b)) <= inside for a, b in asked)
    }
    assert found == tried


needs_strategy = st.lists(
    st.tuples(st.lists(st.integers(1, 3), min_size=1, max_size=3, unique=True), stretches),
    min_size=1,
    max_size=3,
)


@given(
    needs_strategy,
    st.dictionaries(st.integers(1, 3), ranges),
    ranges,
    st.integers(1, 20),
    small,
    st.integers(1, 5),
)
def test_free_starts_are_those_tried_one_by_one(needs, free, openings, attended, earliest, step):
    found = slots.free_starts(
        needs,
        free={piece: slots.normal(spans) for piece, spans in free.items()},
        openings=openings,
        attended_s=attended,
        not_before=earliest,
        step_s=step,
    )

    house = members(openings)
    times = {piece: members(spans) for piece, spans in free.items()}

    def works(at: int) -> bool:
        return set(range(at, at + attended)) <= house and all(
            any(
                all(set(range(at + a, at + b)) <= times.get(piece, set()) for a, b in asked)
                for piece in candidates
            )
            for candidates, asked in needs
        )

    assert found == [at for at in range(0, 70, step) if at >= earliest and works(at)]


@given(ranges, small, stretches)
def test_is_free_agrees_with_the_starts_of_what_is_left(busy, at, asked):
    left = sorted(set(range(-5, 100)) - members(busy))
    free = slots.normal((n, n + 1) for n in left)

    assert slots.is_free(busy, at, asked) == (at in members(slots.starts_on_piece(free, asked)))


def test_one_piece_must_serve_every_stretch_of_a_need():
    first_free, second_free = [(0, 10)], [(10, 20)]

    assert slots.starts_on_any([first_free, second_free], [(0, 5), (8, 12)]) == []


def test_touching_bookings_leave_the_moment_between_them_free():
    assert slots.is_free([(0, 900), (1800, 2700)], 900, [(0, 900)])
