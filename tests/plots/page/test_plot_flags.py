"""Labels of events: no label meets another label or the line of another event."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from plots.page.flags import arrange, write_number

ROOM = 7.5


def find_clashes(positions, places):
    """Pairs of which one label lies on the other's label or line."""
    clashes = []
    for i, a in enumerate(places):
        for j, b in enumerate(places):
            same_row = i < j and a.row == b.row and a.start < b.end and b.start < a.end
            crossed = b.row > a.row and a.start < positions[j] < a.end and positions[j] != positions[i]
            if same_row or crossed:
                clashes.append((i, j))
    return clashes


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(0.0, 4.0), st.floats(0.3, 3.0)), max_size=12))
def test_labels_with_room_at_the_right_never_meet(flags):
    positions, widths = [x for x, _ in flags], [width for _, width in flags]
    assert find_clashes(positions, arrange(positions, widths, ROOM)) == []


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(0.0, ROOM), st.floats(0.3, 3.0)), max_size=12))
def test_labels_never_share_a_place_and_stay_on_the_axis(flags):
    positions, widths = [x for x, _ in flags], [width for _, width in flags]
    places = arrange(positions, widths, ROOM)
    same_row = [(i, j) for i, j in find_clashes(positions, places) if places[i].row == places[j].row]
    assert same_row == []
    assert all(place.start > -0.2 and place.end < ROOM + 0.2 for place in places)


def test_three_labels_near_the_end_of_the_axis():
    """Two only fit to the left; the third would fit to the right but for them."""
    positions = [5.25, 6.19, 7.12]
    places = arrange(positions, [1.5, 1.6, 1.9], ROOM)
    assert find_clashes(positions, places) == []


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(3.2, ROOM), st.floats(0.3, 3.0)), max_size=12))
def test_labels_with_room_at_the_left_never_meet(flags):
    positions, widths = [x for x, _ in flags], [width for _, width in flags]
    assert find_clashes(positions, arrange(positions, widths, ROOM)) == []


def test_far_apart_labels_share_the_lowest_row():
    assert [place.row for place in arrange([0.0, 3.0, 6.0], [1.0, 1.0, 1.0], ROOM)] == [0, 0, 0]


def test_poles_of_one_opening_form_stairs():
    places = arrange([1.0, 1.2, 1.4], [1.0, 1.0, 1.0], ROOM)
    assert sorted(place.row for place in places) == [0, 1, 2] or any(place.leftward for place in places)
    assert find_clashes([1.0, 1.2, 1.4], places) == []


def test_numbers_are_short():
    assert [write_number(x, 3) for x in (27.0, 0.2, 1.23456, -0.0001, -2.5)] == [
        "27", "0.2", "1.235", "0", "\N{MINUS SIGN}2.5"]
    assert write_number(np.float64(130.0), 0) == "130"
