"""Two islands in one run: a grid of 50 Hz at the host and a drive of 100 Hz at the far end."""

from types import SimpleNamespace

import numpy as np
import pytest
from figure_runs import SyntheticRun, make_drive, make_drive_case, make_link, make_machine, make_phases, make_row

from plots.curves.panels import draw_voltages
from plots.curves.series import rated_frequency
from plots.page.page import add_axes, new_figure
from plots.switching.moments import find_closeup, find_cycle, find_window
from sim.results.run import Event, Stretch

T = np.linspace(0.0, 0.4, 80_001)
RATED = {"host": 50.0, "bus": 50.0, "output": 100.0, "motor_bus": 100.0}
AT = 0.2


@pytest.fixture
def run():
    """Each node holds a steady voltage with a ripple at the frequency of its own island; the drive runs at 80 Hz."""
    nodes = [SimpleNamespace(name=name, nominal_v=6600.0, um_v=None, lightning_withstand_v=None, stray_f=1e-9,
                             frequency_hz=hz, island=int(hz == 100.0)) for name, hz in RATED.items()]
    drive = make_drive("far_drive", "output")
    drive.frequency_hz = 100.0
    case = make_drive_case(nodes=nodes, drives=[drive], machines=[make_machine("pump", "motor_bus")],
                           grids=[SimpleNamespace(name="shore", node="host", rated_v=6600.0, frequency_hz=50.0)],
                           cables=[make_link("umbilical", "host", "bus")], transformers=[],
                           breakers=[make_link("host_breaker", "host", "bus"),
                                     make_link("motor_breaker", "output", "motor_bus")])
    signals = {name: make_phases(T, 5400.0) | {"voltage": 6600.0 * (1.0 + 0.2 * np.sin(2.0 * np.pi * hz * T))}
               for name, hz in RATED.items()}
    signals["far_drive"] = {"frequency": np.full(len(T), 80.0)}
    events = [Event(AT, "open", "host_breaker", "host_breaker opens"),
              Event(AT, "open", "motor_breaker", "motor_breaker opens")]
    rows = [make_row("bus_voltage", "bus", 100.0, 85.0), make_row("bus_voltage", "output", 100.0, 85.0)]
    return SyntheticRun(case, [Stretch("waveform", T, signals)], events, {}, {"criteria": rows})


def find_line(axes, start):
    return next(line for line in axes.lines if line.get_label().startswith(start))


@pytest.mark.parametrize("owner, hz", [("bus", 50.0), ("motor_bus", 100.0), ("umbilical", 50.0), ("shore", 50.0),
                                       ("far_drive", 100.0), ("pump", 100.0), ("motor_breaker", 100.0)])
def test_rated_frequency_is_that_of_the_island(run, owner, hz):
    assert rated_frequency(run.case, owner) == hz


@pytest.mark.parametrize("node, hz", RATED.items())
def test_a_mean_goes_over_a_cycle_of_its_own_island(run, node, hz):
    axes = add_axes(new_figure())
    draw_voltages(axes, run)
    t, share = find_line(axes, f"{node} (").get_data()
    np.testing.assert_allclose(np.diff(t)[2:20], 0.5 / hz, rtol=1e-9)
    # a whole cycle of the ripple cancels; over the 10 ms of the other island up to 2 / pi of a 50 Hz ripple would stay
    np.testing.assert_allclose(share, 100.0, atol=0.01)


def test_a_limit_behind_a_grid_holds_all_along_and_is_named_once(run):
    axes = add_axes(new_figure())
    draw_voltages(axes, run)
    limits = [line for line in axes.lines if "bus limit" in line.get_label()]
    assert len(limits) == 1 and limits[0].get_transform() == axes.get_yaxis_transform()


def test_a_limit_behind_a_drive_holds_near_its_own_rated_frequency(run):
    del run.summary["criteria"][0]
    run.stretches[0].signals["far_drive"]["frequency"][:] = np.where(T < 0.1, 80.0, 95.0)       # of 100 Hz
    axes = add_axes(new_figure())
    draw_voltages(axes, run)
    t, limit = find_line(axes, "bus limit").get_data()
    assert np.isnan(limit[t < 0.1]).all() and (limit[t >= 0.1] == 85.0).all()


@pytest.mark.parametrize("breaker, node, hz", [("host_breaker", "bus", 50.0), ("motor_breaker", "motor_bus", 80.0)])
def test_a_closeup_counts_cycles_of_what_feeds_its_node(run, breaker, node, hz):
    event = next(event for event in run.events if event.where == breaker)
    closeup = find_closeup(run, event)
    assert closeup.node.name == {"host_breaker": "host", "motor_breaker": "output"}[breaker]
    assert find_cycle(run, node, AT) == pytest.approx(1.0 / hz, rel=1e-12)
    assert AT - find_window(run, closeup)[0] == pytest.approx(1.0 / hz, rel=1e-9)
