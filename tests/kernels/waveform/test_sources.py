"""Sources in a waveform stage: pulses at the link's voltage, and what passes between output and front end."""

from types import SimpleNamespace

import numpy as np
import pytest

from sim.kernels import columns as c
from sim.kernels.control.drive import drive_voltage
from sim.kernels.control.pulses import bridge_average
from sim.kernels.waveform import sources

from ..control.test_drive import make_drive, make_state

pytestmark = pytest.mark.usefixtures("plain_python")

ROW = np.zeros(c.PULSE_COLUMNS)
ROW[[c.PULSE_LEVELS, c.PULSE_HZ]] = 2.0, 1000.0


@pytest.mark.parametrize("stored, before, direct", [(None, 0.0, 1600.0), (1500.0, 1500.0, 1500.0),
                                                    (1500.0, 1520.0, 1490.0), (0.0, 0.0, 1.6)])
def test_pulses_stand_at_the_direct_voltage_of_the_link(stored, before, direct):
    """That of the middle of the step where there is a link, never nothing: a thousandth of rated."""
    more = {} if stored is None else {"LINK_FARADS": 2e-3}
    data, x = make_drive(LINK_VOLTS=1600.0, **more), make_state(25.0)
    x[c.X_ANGLE], x[c.X_ENERGY] = 0.8, 1e-3 * (stored or 0.0) ** 2
    found = sources.pulse_voltage(ROW, data, x, np.array([stored or 0.0, before]), 10.0 + 0j, 0.3, 1e-4)
    expected = bridge_average(ROW, drive_voltage(x, data), 0.8, 2.0 * np.pi * 25.0, direct, 10.0 * np.exp(0.8j), 0.3,
                              1e-4)
    assert found == pytest.approx(expected)
    assert abs(found[1]) <= np.sqrt(3.0) * 0.5 * direct * (1.0 + 1e-9)


def test_what_output_and_front_end_exchange_is_no_delivery():
    """Re(push conj(i)) and the zero sequence of both links of a drive with a front end, nothing of one without."""
    push = np.array([100.0 + 50j, 200.0 - 10j, 7.0 + 0j])
    x = np.zeros((3, 1 + 3))
    x[0, 1:], x[1, 1:] = [3.0, -5.0, 11.0], [1.0, 2.0, 0.0]
    zero = np.array([4.0, 0.0, 5.0])
    x[2, 1:] = [2.0, 3.0, 1.0]
    for front, expected in ((1, 350.0 + 8.0 + (-1000.0 - 20.0)), (-1, 0.0)):
        tables = SimpleNamespace(drives=SimpleNamespace(link=np.array([0]), front=np.array([front])),
                                 layout=SimpleNamespace(link=1))
        assert sources.exchanged_power(tables, push, zero, x) == pytest.approx(expected)
