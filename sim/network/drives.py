"""What a drive adds to the network: its output, its front end, and the row of numbers that its control reads."""

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.kernels import columns as c
from sim.kernels.columns import (
    PULSE_COLUMNS,
    PULSE_DEAD,
    PULSE_HZ,
    PULSE_LEVELS,
    PULSE_PHASE,
    PULSE_THIRD,
    SOURCE_DRIVE,
)
from sim.network.tables import STRAY

if TYPE_CHECKING:
    from sim.network.build import Parts

# The current limit withdraws voltage at this rate per unit of overcurrent; with a 20 ms current filter
# the loop settles in about 0.1 s without overshoot.
TRIM_RATE = 10.0
DAMPING = np.sqrt(0.5)      # of the controller of the direct voltage
SINE = np.sqrt(3.0 / 8.0)    # line-to-line RMS per unit of direct voltage at the end of sine modulation


def stamp_drive(parts: "Parts", drive: Any) -> None:
    """Controlled voltage behind an output impedance; blocked pulses are an open switch at the output."""
    inner = f"{drive.name}.bridge"
    outer = parts.node(drive.node)
    parts.add_node(inner, drive.rated_v, parts.node_island[outer], STRAY)
    base = drive.rated_v**2 / drive.rated_va
    w = 2.0 * np.pi * drive.frequency_hz
    r, x = drive.output_resistance_pu * base, drive.output_reactance_pu * base
    link = parts.add_link(f"{drive.name}.source", end=parts.node(inner),
                          r=(r, r), l=(x / w, x / w), zt=-1.0 if drive.earthed else 0.0)
    unit = len(parts.drives)
    parts.add_source(drive.name, SOURCE_DRIVE, unit, drive.rated_v, w, link, outer)
    row = write_control(drive)
    parts.fronts.append(stamp_front(parts, drive, row) if drive.front_end else (-1, -1))
    parts.drives.append(row)
    parts.pulses.append(write_pulses(drive.pulses))
    parts.outputs.append(link)
    parts.add_switch(drive.name, parts.node(inner), outer)


def write_control(drive: Any) -> np.ndarray:
    """Row of numbers that the control of a drive reads, (DRIVE_COLUMNS,)."""
    rated = drive.rated_va / (np.sqrt(3.0) * drive.rated_v)
    row = np.zeros(c.DRIVE_COLUMNS)
    row[c.DRIVE_VOLTS], row[c.DRIVE_HZ], row[c.DRIVE_RATED] = drive.rated_v, drive.frequency_hz, rated
    row[c.DRIVE_START_HZ], row[c.DRIVE_HOLD], row[c.DRIVE_RAMP] = drive.start_hz, drive.hold_s, drive.ramp_hz_per_s
    row[c.DRIVE_BOOST], row[c.DRIVE_BOOST_END] = drive.boost_pu, drive.boost_end_hz
    row[c.DRIVE_RISE], row[c.DRIVE_CEILING] = drive.voltage_rise_s, drive.voltage_max_pu
    row[c.DRIVE_LIMIT], row[c.DRIVE_FILTER] = drive.current_limit_pu * rated, drive.current_filter_s
    row[c.DRIVE_STALL], row[c.DRIVE_TRIM_RATE] = drive.stall_s, TRIM_RATE
    row[c.DRIVE_BENDS] = float(drive.limit_action == "bend")
    if drive.ramp_smoothing_s > 0.0:
        row[c.DRIVE_JERK] = drive.ramp_hz_per_s / drive.ramp_smoothing_s
    row[c.DRIVE_DROP], row[c.DRIVE_DROP_MOST] = drive.compensated_ohm, drive.compensation_max_pu * drive.rated_v
    row[c.DRIVE_SLIP], row[c.DRIVE_SEEN] = drive.slip_compensation_hz, drive.compensation_filter_s
    row[c.DRIVE_SEARCH_RATE], row[c.DRIVE_SEARCH_SHARE] = drive.catch_hz_per_s, drive.catch_voltage_pu
    row[c.DRIVE_REST] = drive.overload_recovery_s
    if drive.overcurrent_trip_pu is not None:
        row[c.DRIVE_OVERCURRENT] = drive.overcurrent_trip_pu * rated
    for k, stretch in enumerate(drive.stretches):
        row[c.DRIVE_STRETCH + 2 * k:c.DRIVE_STRETCH + 2 * k + 2] = stretch.to_hz, stretch.ramp_hz_per_s
    for k, (current, time) in enumerate(zip(drive.overload_pu, drive.overload_s)):
        row[c.DRIVE_OVERLOAD + 2 * k:c.DRIVE_OVERLOAD + 2 * k + 2] = current * rated, time
    if drive.dc_link:
        row[c.LINK_VOLTS] = drive.dc_link.rated_v
        row[c.DRIVE_PEAK] = drive.dc_link.modulation_max_pu * SINE
    return row


def first_modes(data: np.ndarray) -> np.ndarray:
    """States of all drives at rest, shape (D, DRIVE_STATES): at their first frequency, links charged or still to be."""
    state = np.zeros((len(data), c.DRIVE_STATES))
    state[:, c.X_HZ] = data[:, c.DRIVE_START_HZ]
    state[:, c.X_CHARGES] = data[:, c.FRONT_RESISTOR] > 0.0
    state[:, c.X_DIODES] = data[:, c.FRONT_RECTIFIER]
    state[:, c.X_CONTROLLED] = (data[:, c.LINK_FARADS] > 0.0) & (state[:, c.X_DIODES] + state[:, c.X_CHARGES] == 0.0)
    return state


def write_pulses(pulses: Any) -> np.ndarray:
    """Row of numbers of a pulse pattern, all zero without one, (PULSE_COLUMNS,)."""
    row = np.zeros(PULSE_COLUMNS)
    if pulses:
        row[PULSE_LEVELS] = {"two_level": 2, "three_level": 3, "cells": -pulses.cells}[pulses.bridge]
        row[PULSE_HZ], row[PULSE_PHASE] = pulses.carrier_hz, pulses.carrier_phase_rad
        row[PULSE_THIRD], row[PULSE_DEAD] = pulses.third_harmonic_pu, pulses.dead_time_s
    return row


def stamp_front(parts: "Parts", drive: Any, row: np.ndarray) -> tuple[int, int]:
    """Reactance between a node of another supply and a controlled voltage; writes its numbers into the drive's row.

    The link's controller has the natural frequency asked for: with W'' + Kp W' + Ki W = 0, Ki = w^2 and Kp = 2 z w.

    Returns
    -------
    link, node : int
    """
    front, link, node = drive.front_end, drive.dc_link, parts.node(drive.front_end.node)
    base = front.rated_v**2 / drive.rated_va
    w = 2.0 * np.pi * front.frequency_hz
    r, inductance = front.resistance_pu * base, front.reactance_pu * base / w
    rated = drive.rated_va / front.rated_v                      # as a space vector [A]
    natural = 2.0 * np.pi * front.control_hz
    row[c.LINK_FARADS], row[c.LINK_LOSS] = link.capacitance_f, link.loss_pu * drive.rated_va
    row[c.LINK_LEAST] = link.undervoltage_trip_pu * link.rated_v
    row[c.DRIVE_BUFFER], row[c.DRIVE_BUFFER_RATE] = link.ride_through_pu * link.rated_v, link.ride_through_hz_per_s
    row[c.FRONT_RECTIFIER] = float(front.kind == "rectifier")
    row[c.FRONT_STEPS] = front.pulses if front.kind == "rectifier" else 6
    row[c.FRONT_RATIO] = front.rated_v / front.bridge_v
    row[c.FRONT_W], row[c.FRONT_VOLTS], row[c.FRONT_FILTER] = w, front.rated_v, front.voltage_filter_s
    row[c.FRONT_R], row[c.FRONT_L], row[c.FRONT_GAIN] = r, inductance, inductance / front.current_s
    row[c.FRONT_MOST] = front.current_max_pu * rated
    row[c.FRONT_PULL], row[c.FRONT_PUSH] = 2.0 * DAMPING * natural, natural**2
    tangent = np.sqrt(1.0 / front.power_factor**2 - 1.0)
    row[c.FRONT_TANGENT] = -tangent if front.leading else tangent
    row[c.FRONT_RESISTOR] = 0.0 if front.charged else front.charging_resistance_pu * base
    number = parts.add_link(f"{drive.name}.front", end=node, r=(r, r), l=(inductance, inductance), zt=0.0)
    return number, node
