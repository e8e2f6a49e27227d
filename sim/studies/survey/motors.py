"""Derived quantities of the machines: from their circuit, and against the network that feeds them."""

from typing import Any, NamedTuple

import numpy as np

from sim.network.build import Network
from sim.network.tables import Machines
from sim.params.inertia import kinetic_constant
from sim.params.motor.circuit import Supply, air_gap_torque, breakdown, make_supply, pull_up
from sim.phasors.machines import find_branches
from sim.phasors.saturation import main_slope
from sim.studies.survey.cables import find_charging
from sim.studies.survey.network import (
    Island,
    build_machines,
    close_all,
    close_as_fed,
    find_emf,
    find_impedance,
    find_rated_s,
    list_islands,
    nominal_of,
    solve_voltages,
    trace_paths,
)

HALVINGS = 60
NO_LOAD_SHARES = (80, 110, 120)     # voltages beside the rated one [%]


class Row(NamedTuple):
    """A machine: its record, the table of all machines and its row there."""

    machine: Any
    machines: Machines
    m: int

    def find_admittance(self, hz: float, slip: float, volts: float = 0.0) -> complex:
        """What it is at its terminals: its circuit, its main path as saturated as a voltage between them leaves it
        [V], and the losses outside of it at the same voltage. [S]"""
        motor, s = self.machine.motor, 2j * np.pi * hz
        beyond = self.find_beyond(s, slip, volts)
        circuit = complex(find_branches(self.machines, self.m, s, slip, beyond).terminal)
        return circuit + motor.outside_loss_w / motor.rated_v**2

    def find_beyond(self, s: complex, slip: float, volts: float) -> float:
        """What the main path draws beyond its straight part per unit of flux, at a terminal voltage [V]. [1/H]

        The flux that a path of that slope takes falls with it: both meet once.
        """
        knee, excess = self.machines.knee[self.m], self.machines.excess[self.m]
        low, high = 0.0, volts / abs(s)
        for _ in range(HALVINGS):
            flux = 0.5 * (low + high)
            slope = main_slope(excess, knee, np.array(flux))[0]
            branches = find_branches(self.machines, self.m, s, slip, slope)
            taken = volts / abs(s) * abs(branches.stator / (branches.stator + branches.gap))
            low, high = (flux, high) if taken > flux else (low, flux)
        return float(main_slope(excess, knee, np.array(high))[0])


def list_rows(case: Any) -> list[Row]:
    """Every machine of a case."""
    machines = build_machines(case)
    return [Row(machine, machines, m) for m, machine in enumerate(case.machines)]


def survey_machines(case: Any, network: Network) -> dict[str, dict]:
    """Every machine of a case by name.

    Parameters
    ----------
    case : CheckedCase
    network : Network
        Without machines.

    Returns
    -------
    machines : dict
        Torques are air-gap torques at rated voltage and frequency.  What depends on the supply assumes that
        no other machine is connected; what depends on the start, that the switches stand as they do when the case
        first gives the machine voltage.  Fault level, start voltage and their ratio are None behind a drive.
    """
    rows = list_rows(case)
    islands = {island.number: island for island in list_islands(case, network)}
    places = {node.name: islands[node.island] for node in case.nodes if node.island in islands}
    return {row.machine.name: {**describe_rating(row.machine), **describe_curve(row), **describe_no_load(row),
                               **describe_start(case, network, row, places[row.machine.node]),
                               **describe_trip(case, network, row, places[row.machine.node])}
            for row in rows}


def find_input(motor: Any) -> float:
    """Rated apparent power at the terminals. [VA]"""
    return motor.rated_w / (motor.efficiency_pu * motor.power_factor_pu)


def rated_supply(motor: Any) -> Supply:
    """Rated voltage and frequency at the terminals."""
    return make_supply(motor.rated_v, motor.frequency_hz, motor.poles, motor.frequency_hz)


def describe_rating(machine: Any) -> dict:
    """Rated values, and inertia as stored energy at synchronous speed over rated input power."""
    motor = machine.motor
    speed = rated_supply(motor).synchronous_speed
    return {"rated_torque_nm": motor.rated_torque_nm, "rated_current_a": motor.rated_current_a,
            "rated_input_mva": find_input(motor) / 1e6, "synchronous_rpm": speed * 30.0 / np.pi,
            "inertia_constant_s": kinetic_constant(machine.shaft.inertia_kgm2, speed, find_input(motor))}


def describe_curve(row: Row) -> dict:
    """Turning points of torque and current from the circuit, in SI and per cent of rated."""
    motor = row.machine.motor
    supply, rated = rated_supply(motor), motor.rated_torque_nm
    torques = {"locked_rotor": (float(air_gap_torque(motor.circuit, supply, 1.0)), 1.0),
               "pull_up": pull_up(motor.circuit, supply), "breakdown": breakdown(motor.circuit, supply)}
    entry = {"locked_rotor_power_factor": np.cos(np.angle(row.find_admittance(motor.frequency_hz, 1.0)))}
    for name, slip in (("locked_rotor", 1.0), ("no_load", 0.0)):
        current = find_current(row, slip, motor.rated_v)
        entry |= {f"{name}_current_a": current, f"{name}_current_pct": 100.0 * current / motor.rated_current_a}
    for name, (torque, slip) in torques.items():
        entry |= {f"{name}_torque_nm": torque, f"{name}_torque_pct": 100.0 * torque / rated}
        if name != "locked_rotor":
            entry[f"{name}_slip_pct"] = 100.0 * slip
    return entry


def find_current(row: Row, slip: float, volts: float) -> float:
    """Line current at rated frequency and a voltage between the terminals [V]. [A]"""
    return abs(row.find_admittance(row.machine.motor.frequency_hz, slip, volts)) * volts / np.sqrt(3.0)


def describe_no_load(row: Row) -> dict:
    """No-load current as the circuit draws it.

    Returns
    -------
    entry : dict
        no_load_at_80_current_pct and so on: at that share of rated voltage, of rated current.  no_load_curve_error_pct:
        largest error over the points of the no-load curve, None without one.
    """
    motor = row.machine.motor
    errors = [abs(find_current(row, 0.0, volts) / amps - 1.0) for volts, amps in motor.no_load_curve]
    currents = {f"no_load_at_{share}_current_pct":
                100.0 * find_current(row, 0.0, 0.01 * share * motor.rated_v) / motor.rated_current_a
                for share in NO_LOAD_SHARES}
    return {**currents, "no_load_curve_error_pct": 100.0 * max(errors) if errors else None}


def describe_start(case: Any, network: Network, row: Row, island: Island) -> dict:
    """Locked-rotor power against the fault level, and the voltage that is left at the terminals.

    The switches stand as they do when the case first gives the machine voltage: a bypass is still open then.
    """
    motor, node = row.machine.motor, network.node_names.index(row.machine.node)
    still = row.find_admittance(island.frequency_hz, 1.0)
    start = motor.rated_v**2 * abs(still)
    entry = {"start_mva": start / 1e6, "fault_level_mva": None, "start_to_fault_level_pct": None,
             "start_voltage_pu": None}
    if not island.is_grid:
        return entry
    closed = close_as_fed(case, network, row.machine.node)
    fault = nominal_of(network, row.machine.node) ** 2 / abs(find_impedance(network, node, closed))
    left = abs(solve_voltages(network, find_rated_s(network), find_emf(network), {node: still}, closed)[node])
    return entry | {"fault_level_mva": fault / 1e6, "start_to_fault_level_pct": 100.0 * start / fault,
                    "start_voltage_pu": left / motor.rated_v}


def describe_trip(case: Any, network: Network, row: Row, island: Island) -> dict:
    """What stays on the machine once the breaker nearest the source has opened.

    Returns
    -------
    entry : dict
        tripped_by: name of the breaker, of the drive when there is no breaker, None when the machine stays
        fed or nothing can open.  cable_mvar_left: charging of the cables that stay with the machine;
        cable_to_magnetising_ratio: it over the machine's magnetising_mvar.  self_excitation_ratio:
        capacitive current that the network left takes at the machine's terminals (transformers, reactors and
        series impedances counted) over the machine's no-load current, both reactive, at rated frequency.
    """
    machine, idle = row.machine, row.find_admittance(island.frequency_hz, 0.0, row.machine.motor.rated_v)
    magnetising = -idle.imag * machine.motor.rated_v**2
    entry = {"magnetising_mvar": magnetising / 1e6, "tripped_by": None, "cable_mvar_left": None,
             "cable_to_magnetising_ratio": None, "self_excitation_ratio": None}
    opened = find_opened(case, machine, island)
    if opened is None:
        return entry
    cables = list_cables_left(case, machine, opened)
    charging = find_charging(cables, {node.name: node.nominal_v for node in case.nodes}, island.frequency_hz)
    seen = 1.0 / find_impedance(network, network.node_names.index(machine.node), close_all(network, opened))
    entry |= {"tripped_by": opened, "cable_mvar_left": charging / 1e6}
    if magnetising > 0.0:
        entry |= {"cable_to_magnetising_ratio": charging / magnetising,
                  "self_excitation_ratio": -seen.imag / idle.imag}
    return entry


def find_opened(case: Any, machine: Any, island: Island) -> str | None:
    """The breaker nearest the source on the way to a machine, else the drive; None when that leaves it fed."""
    path = trace_paths(case, island.source.node).get(machine.node, [])
    breakers = {breaker.name for breaker in case.breakers}
    found = next((link.name for link in path if link.name in breakers), None)
    if found is None:
        return None if island.is_grid else island.source.name
    reached = trace_paths(case, machine.node, found)
    return None if any(source.node in reached for source in (*case.grids, *case.drives)) else found


def list_cables_left(case: Any, machine: Any, opened: str) -> list[Any]:
    """Cables that stay joined to a machine once a breaker has opened."""
    reached = trace_paths(case, machine.node, opened)
    return [cable for cable in case.cables if cable.from_node in reached]
