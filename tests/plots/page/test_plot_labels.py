"""Labels beside line ends, and notes that keep clear of lines."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from plots.page.labels import count_ink, place_note, place_remark, spread
from plots.page.page import add_axes, lay_out, new_figure


@settings(max_examples=100, deadline=None)
@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=10))
def test_spread_keeps_order_and_distance(wanted):
    places = spread(np.array(wanted), [10.0] * len(wanted), 100.0)
    order = np.argsort(wanted, kind="stable")
    assert (np.diff(places[order]) >= 10.0 - 1e-9).all()
    assert places.min() >= 5.0 - 1e-9 and places.max() <= 95.0 + 1e-9


def test_spread_leaves_labels_that_do_not_meet():
    np.testing.assert_allclose(spread(np.array([80.0, 20.0]), [10.0, 20.0], 100.0), [80.0, 20.0])


def test_count_ink_counts_points_under_a_box():
    ink = np.array([[10.0, 10.0], [11.0, 10.0], [50.0, 50.0]])
    counts = count_ink(ink, np.array([[5.0, 5.0], [45.0, 45.0], [70.0, 70.0]]), np.array([10.0, 10.0]),
                       np.array([100.0, 100.0]))
    np.testing.assert_array_equal(counts, [2.0, 1.0, 0.0])


def make_axes():
    figure = new_figure()
    axes = add_axes(figure)
    axes.plot([0.0, 1.0], [0.0, 1.0], label="rise")
    axes.set(xlim=(0.0, 1.0), ylim=(0.0, 1.0))
    lay_out(figure, [3.0], 0.5, 1.0)
    return axes


def test_notes_keep_clear_of_the_line_and_of_each_other():
    axes = make_axes()
    first = place_note(axes, (0.5, 0.5), "one note")
    second = place_note(axes, (0.5, 0.5), "another note", taken=[first])
    remark = place_remark(axes, "a remark", taken=[first, second])
    boxes = [note.note_box for note in (first, second, remark)]
    line = axes.transData.transform(np.column_stack([np.linspace(0.0, 1.0, 2000)] * 2))
    for low, high in boxes:
        assert not ((line > low) & (line < high)).all(axis=1).any()
    for k, (low, high) in enumerate(boxes):
        for other_low, other_high in boxes[k + 1:]:
            assert not ((low < other_high).all() and (high > other_low).all())


def test_leaders_do_not_run_beneath_other_notes():
    """Points side by side, the second below the first's note: its leader goes around."""
    figure = new_figure()
    axes = add_axes(figure)
    axes.plot([0.1, 0.1, np.nan, 0.13, 0.13], [0.0, 0.7, np.nan, 0.0, 0.75], label="_lines")
    axes.set(xlim=(0.0, 1.0), ylim=(0.0, 1.0))
    lay_out(figure, [1.9], 0.5, 1.0)
    first = place_note(axes, (0.13, 0.75), "order 25: 0.56 %")
    place_note(axes, (0.1, 0.7), "order 19: 0.52 %", taken=[first])
    low, high = first.note_box
    for leader in (line for line in axes.lines if line.get_label() == "_leader"):
        ends = axes.transAxes.transform(np.column_stack(leader.get_data()))
        points = ends[0] + np.linspace(0.0, 1.0, 200)[:, None] * (ends[1] - ends[0])
        assert not ((points > low) & (points < high)).all(axis=1).any()
