"""Steady curves that a start is held against: a motor's torque and current over its slip, a drive's voltage over
its frequency.
"""

from typing import Any

import numpy as np

from sim.params.motor.circuit import Supply, air_gap_torque, breakdown, make_supply, stator_current
from sim.phasors.drive_line import find_voltage, read_line


def find_torque(motor: Any, voltage_pu: float, slip: Any) -> Any:
    """Air-gap torque at rated frequency and a share of rated voltage. [% of rated]

    Parameters
    ----------
    motor : object
        `circuit` (see `sim.params.motor.circuit`), rated_v [V], frequency_hz [Hz], poles, rated_torque_nm [N m].
    voltage_pu : float
        Of rated voltage. [pu]
    slip : float or ndarray
        [1]
    """
    return 100.0 * air_gap_torque(motor.circuit, find_supply(motor, voltage_pu), slip) / motor.rated_torque_nm


def find_current(motor: Any, voltage_pu: float, slip: Any) -> Any:
    """Line current at rated frequency, that of losses outside the circuit included. [% of rated]

    Parameters
    ----------
    motor : object
        As for `find_torque`, with rated_current_a [A]; outside_loss_w [W] when the terminals take losses that the
        circuit does not hold.
    voltage_pu : float
        Of rated voltage. [pu]
    slip : float or ndarray
        [1]
    """
    supply = find_supply(motor, voltage_pu)
    outside = getattr(motor, "outside_loss_w", 0.0) / motor.rated_v**2 * supply.voltage / np.sqrt(3.0)
    return 100.0 * np.abs(stator_current(motor.circuit, supply, slip) + outside) / motor.rated_current_a


def find_breakdown_slip(motor: Any) -> float:
    """Slip of the largest torque at rated voltage and frequency, 1 at most. [1]"""
    return min(breakdown(motor.circuit, find_supply(motor, 1.0)).slip, 1.0)


def find_supply(motor: Any, voltage_pu: float) -> Supply:
    """Supply at rated frequency and a share of rated voltage."""
    return make_supply(voltage_pu * motor.rated_v, motor.frequency_hz, motor.poles, motor.frequency_hz)


def find_drive_voltage(drive: Any, hz: np.ndarray) -> np.ndarray:
    """Voltage of a drive on its V/f line with boost, under its ceiling, line-to-line RMS. [V]

    Parameters
    ----------
    drive : Record
        Of the case.
    hz : ndarray, shape (n,)
        [Hz]
    """
    return find_voltage(read_line(drive), hz)
