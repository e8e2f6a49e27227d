"""Torque against speed."""

import numpy as np
import pytest
from figure_reading import find_line, find_overlaps, read_words
from figure_runs import (
    RATED_TORQUE,
    SYNCHRONOUS,
    make_direct_run,
    make_drive_run,
    make_stalled_run,
    pump_torque,
)

from plots.page.page import palette
from plots.starts.torque_speed import draw_torque_speed, find_way
from sim.results.run import Event


def draw(run):
    return draw_torque_speed(run, run.case.machines[0])


@pytest.fixture(scope="module")
def figure(direct_run):
    return draw(direct_run)


def test_axes_have_units(figure):
    axes = figure.axes[0]
    assert axes.get_xlabel() == "Speed [% of synchronous, 100 % = 1500 rpm]"
    assert axes.get_ylabel() == "Torque [% of rated]"


def test_load_curve_is_the_load_of_the_case(figure):
    speed, load = find_line(figure.axes[0], "load torque").get_data()
    expected = 100.0 * pump_torque(speed / 100.0 * SYNCHRONOUS) / RATED_TORQUE
    turning = speed > 0.5       # at standstill a load has no torque of its own and none is drawn
    assert np.isfinite(load[turning]).all() and np.isnan(load[0])
    # the mean of a curved load over one cycle differs from the load at the mean speed by its curvature
    np.testing.assert_allclose(load[turning], expected[turning], atol=0.3)


def test_curve_at_rated_voltage_against_the_circuit(figure, direct_run):
    """Standstill torque from mesh currents of the equivalent circuit, written out."""
    circuit, motor = direct_run.case.machines[0].motor.circuit, direct_run.case.machines[0].motor
    magnetising, rotor = 1j * circuit.magnetising_reactance_ohm, circuit.rotor_resistance_ohm + 1j * 1.45
    meshes = np.array([[circuit.stator_resistance_ohm + 1j * 1.45 + magnetising, -magnetising],
                       [-magnetising, magnetising + rotor]])
    _, i_rotor = np.linalg.solve(meshes, [motor.rated_v / np.sqrt(3.0), 0.0])
    torque = 3.0 * abs(i_rotor) ** 2 * circuit.rotor_resistance_ohm / SYNCHRONOUS
    drawn = find_line(figure.axes[0], "steady, at rated voltage").get_ydata()[0]
    np.testing.assert_allclose(drawn, 100.0 * torque / motor.rated_torque_nm, rtol=1e-9)   # same algebra


def test_drive_start_has_no_curve_at_rated_voltage(drive_run):
    axes = draw(drive_run).axes[0]
    assert not [line for line in axes.lines if line.get_label().startswith("steady")]


def test_margin_is_shaded_between_load_and_motor(figure):
    assert palette.LEFT_OVER.lower() in {to_hex(patch) for patch in figure.axes[0].collections}


def to_hex(collection):
    return "#" + "".join(f"{round(255 * share):02x}" for share in collection.get_facecolor()[0][:3])


def test_worst_point_is_marked_where_the_summary_sees_it(figure, direct_run):
    motor = direct_run.summary["motors"]["booster"]
    line = find_line(figure.axes[0], "_worst")
    speed, (low, high) = line.get_xdata()[0], line.get_ydata()
    # one per cent of speed is searched around the summary's point; its share is of 99 % of synchronous
    assert abs(speed - 0.99 * motor["min_accelerating_torque_at_pct"]) <= 1.0
    assert high > low
    words = read_words(figure)
    assert f"least margin {motor['min_accelerating_torque_pct']:.1f} %" in words
    assert "at least 10 % asked: pass" in words


def test_margin_that_is_not_judged_says_why(drive_run):
    assert "not judged: the frequency ramp" in read_words(draw(drive_run))


def test_way_ends_with_the_supply(drive_run):
    way = find_way(drive_run, drive_run.case.machines[0])
    # the last window ends with the supply, where the machine runs at its 99 % and 100 %
    np.testing.assert_allclose([way.speed[-1], way.load[-1]], [99.0, 100.0], rtol=1e-6)


def test_way_ends_with_the_first_operation_at_speed():
    run = make_direct_run(samples=20_000)
    run.events.append(Event(2.6, "load", "booster", "booster load 50 %"))
    at = np.flatnonzero(run.stretches[0].t > 2.6)[0]
    run.stretches[0].signals["booster"]["load_torque"][at:] *= 0.5
    way = find_way(run, run.case.machines[0])
    assert way.load[-1] > 90.0 and way.speed[-1] > 97.0


def test_breakaway_is_marked_at_standstill(figure):
    points = [line.get_xydata()[0] for line in figure.axes[0].lines if line.get_label() == "_point"]
    assert any(np.allclose(point, [0.0, 30.0]) for point in points)
    assert "breakaway 30 %" in read_words(figure)


def test_stalled_machine_shows_what_was_missing(stalled_run):
    figure = draw(stalled_run)
    axes, words = figure.axes[0], read_words(figure)
    assert axes.get_xlabel() == "Time [s]"
    np.testing.assert_allclose(find_line(axes, "breakaway").get_ydata(), 30.0, rtol=1e-12)
    assert "available at standstill 14 % of rated" in words and "breakaway asks 30 %" in words
    path = axes.collections[0].get_paths()[0].get_extents()
    # shaded while there was voltage: to the sample, 0.01 s
    np.testing.assert_allclose([path.y1, path.x1], [30.0, 10.5], atol=0.02)


def test_load_event_raises_the_breakaway_torque():
    run = make_stalled_run()
    run.case.machines[0].load.load_pu = 1.5
    np.testing.assert_allclose(find_line(draw(run).axes[0], "breakaway").get_ydata(), 45.0, rtol=1e-12)


@pytest.mark.parametrize("outcome, word", [("hung", "hung below its speed"), ("tripped", "was tripped")])
def test_outcome_is_written(outcome, word):
    run = make_direct_run(samples=20_000)
    run.summary["motors"]["booster"] |= {"outcome": outcome, "trip_reason": "locked too long"}
    words = read_words(draw(run))
    assert word in words and "locked too long" in words


def test_machine_without_voltage_is_said():
    run = make_drive_run()
    run.summary["motors"]["booster"]["outcome"] = "not started"
    assert "saw no voltage" in read_words(draw(run))


def test_run_without_samples_is_said(empty_run):
    assert "holds no speed and torque" in read_words(draw(empty_run))


@pytest.mark.parametrize("name", ["drive_run", "direct_run", "stalled_run", "group_run"])
def test_no_text_overlaps(name, request):
    run = request.getfixturevalue(name)
    for machine in run.case.machines:
        assert find_overlaps(draw_torque_speed(run, machine)) == []
