"""The V/f line: by hand, its ceiling, and the same as the compiled control of a drive."""

import numpy as np
import pytest
from studies.arrangements import drive, grid, make, motor

from sim.kernels import columns as c
from sim.kernels.control.drive import drive_voltage
from sim.network.build import build_network
from sim.phasors.drive_line import find_boost, find_voltage, read_line

HZ = np.array([0.0, 0.5, 3.0, 9.99, 10.0, 25.0, 50.0, 54.0, 60.0])


def make_drive(**more):
    """3.3 kV at 50 Hz, 4 % of boost up to 10 Hz, and its row in the tables."""
    settings = {"boost_pct": 4.0, "boost_end_hz": 10.0, "frequency_hz": 50.0, **more}
    case = make(grid(node="host_bus", kv=3.3), drive(**settings), motor("bus", kv=3.3))
    return case.drives[0], build_network(case).tables.drives.data[0]


def test_line_by_hand():
    """V/f, the boost falling in a straight line to nothing at 10 Hz, the ceiling at rated voltage."""
    record, _ = make_drive()
    expected = [4.0, 1.0 + 3.8, 6.0 + 2.8, 19.98 + 0.004, 20.0, 50.0, 100.0, 100.0, 100.0]
    assert 100.0 * find_voltage(read_line(record), HZ) / 3300.0 == pytest.approx(expected, rel=1e-12)


FRONT = {"front_end": {"node": "host_bus", "kind": "active"}}


@pytest.mark.parametrize("more", [{}, {"voltage_max_pct": 108.0}, {"voltage_max_pct": 80.0}, {"boost_end_hz": 100.0},
                                  FRONT | {"voltage_max_pct": 130.0},
                                  FRONT | {"voltage_max_pct": 130.0, "dc_link": {"rated_kv": 5.0}}])
def test_line_is_that_of_the_control(more):
    """At every frequency, with the link at its rated voltage, in the last digits."""
    record, data = make_drive(**more)
    x = np.zeros(c.DRIVE_STATES)
    x[c.X_CLOCK], x[c.X_ENERGY] = 1e3, 0.5 * data[c.LINK_FARADS] * data[c.LINK_VOLTS] ** 2
    expected = []
    for hz in HZ:
        x[c.X_HZ] = hz
        expected.append(drive_voltage(x, data))
    assert find_voltage(read_line(record), HZ) == pytest.approx(expected, rel=1e-14)


def test_link_leaves_its_crest_over_root_two():
    """Sinusoidal modulation to its end: sqrt(3/8) of the direct voltage between lines (N. Mohan, T. M. Undeland, W. P.
    Robbins, Power Electronics, 8-4: 0.612 of it, from memory, to be checked); without a front end nothing limits."""
    link = {"dc_link": {"rated_kv": 4.0, "modulation_max_pct": 100.0}, "voltage_max_pct": 130.0}
    record, _ = make_drive(**FRONT, **link)
    assert read_line(record).ceiling_v == pytest.approx(0.612 * 4000.0, rel=1e-3)
    record, _ = make_drive(**link)
    assert read_line(record).ceiling_v == pytest.approx(1.3 * 3300.0, rel=1e-12)


def test_boost_gives_its_voltage_back():
    line, hz = read_line(make_drive()[0]), np.array([0.5, 2.0, 8.0, 30.0])
    boost = np.array([0.01, 0.06, 0.3, 0.2])
    found = find_boost(line, hz, find_voltage(line, hz, boost))
    assert found == pytest.approx([0.01, 0.06, 0.3, 0.0], rel=1e-12)
