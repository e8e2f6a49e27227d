"""What each kind of component adds to the network: one function a kind.

All values are SI, star equivalent per phase.  Pairs are (positive, zero) sequence.
"""

from typing import TYPE_CHECKING, Any

import numpy as np

from sim.kernels.columns import (
    LOAD_BREAKAWAY,
    LOAD_COLUMNS,
    LOAD_COMPRESSOR,
    LOAD_CONSTANT,
    LOAD_DIP,
    LOAD_DIP_SPEED,
    LOAD_DUTY,
    LOAD_KIND,
    LOAD_NONE,
    LOAD_PUMP,
    LOAD_SPEED,
    LOAD_TABLE,
    SOURCE_GRID,
)
from sim.network.cores import stamp_core, stamp_reactor
from sim.network.drives import stamp_drive
from sim.network.tables import CLARKE, STRAY
from sim.network.windings import HOUR, find_windings, find_zero_weights
from sim.params.cable.modes import cable_modes, count_modes

if TYPE_CHECKING:
    from sim.network.build import Parts

# Cables are sized for this multiple of the study's bandwidth, so that a closing front that rises within
# half a period of the bandwidth travels without visible dispersion (tests/physics/waves/test_fronts.py).
FRONT_MARGIN = 2.0
LEAKAGE = 1.001e-3      # current up to which an arrester counts as open [A]
# A Foster branch of this share of the DC resistance fills up the shorter of two lists.
IDLE_SHARE = 1e-12
LOAD_KINDS = {"none": LOAD_NONE, "pump": LOAD_PUMP, "compressor": LOAD_COMPRESSOR, "table": LOAD_TABLE}


def stamp_grid(parts: "Parts", grid: Any) -> None:
    """Stiff voltage behind the short-circuit impedance V^2/Sk at the given X/R."""
    impedance = grid.rated_v**2 / grid.short_circuit_va
    reactance = impedance / np.hypot(1.0, 1.0 / grid.x_over_r)
    w = 2.0 * np.pi * grid.frequency_hz
    resistance = reactance / grid.x_over_r
    ratio, whole = grid.x0_over_x1, dict(r=(resistance, grid.x0_over_x1 * resistance))
    whole["l"] = reactance / w, ratio * reactance / w
    star = add_neutral(parts, grid, "", grid.node, w)
    link = parts.add_link(f"{grid.name}.source", end=parts.node(grid.node), **whole,
                          zt=-1.0 if grid.earthed and star == grid.node else 0.0)
    if star != grid.node:
        parts.add_link(f"{grid.name}.zero_source", end=parts.node(star), wt=0.0, **whole)
    parts.add_source(grid.name, SOURCE_GRID, -1, grid.voltage_pu * grid.rated_v, w, link, parts.node(grid.node),
                     grid.phase_rad)


def stamp_transformer(parts: "Parts", transformer: Any) -> None:
    """Leakage referred to the `to` side between ratio and terminal, half the core at each winding.

    Zero sequence passes, is shunted to earth, or is blocked according to the vector group (IEC 60076-1: winding letters
    and clock number).
    """
    w = 2.0 * np.pi * transformer.frequency_hz
    first, second, clock = find_windings(transformer.vector_group)
    ratio = transformer.to_v / (transformer.from_v * (1.0 + transformer.tap_pu))
    base = transformer.to_v**2 / transformer.rated_va
    x = transformer.impedance_pu * base / np.hypot(1.0, 1.0 / transformer.x_over_r)
    r, inductance = x / transformer.x_over_r, x / w
    zero_from, zero_to = find_zero_weights(first, second, clock, ratio)
    near, far = (add_neutral(parts, transformer, f"{side}_", node, w) for side, node in
                 (("from", transformer.from_node), ("to", transformer.to_node)))
    leakage = dict(r=(r, r), l=(inductance, inductance))
    turned = ratio * np.exp(-1j * HOUR * clock)
    whole = dict(start=parts.node(transformer.from_node), end=parts.node(transformer.to_node), wf=turned)
    if (near, far) == (transformer.from_node, transformer.to_node):
        parts.add_link(f"{transformer.name}.leakage", **whole, zf=zero_from, zt=zero_to, **leakage)
    else:
        parts.add_link(f"{transformer.name}.leakage", **whole, zf=0.0, zt=0.0, **leakage)
        parts.add_link(f"{transformer.name}.zero_leakage", start=parts.node(near), end=parts.node(far), wf=0.0, wt=0.0,
                       zf=zero_from, zt=zero_to, **leakage)
    stamp_core(parts, transformer, w)
    half_loss = 0.5 * transformer.no_load_loss_pu * transformer.rated_va
    stray = transformer.winding_f + transformer.bushing_f
    for node, volts, letters in ((transformer.from_node, transformer.from_v, first),
                                 (transformer.to_node, transformer.to_v, second)):
        through = half_loss / volts**2
        parts.add_conductance(node, through, through if letters == "YN" else 0.0)
        parts.add_capacitance(node, stray, stray)


def add_neutral(parts: "Parts", component: Any, side: str, node: str, w: float) -> str:
    """Node at which the zero sequence of a winding begins: `node` itself, or an inner node behind three times the
    impedance between star point and earth."""
    resistance = getattr(component, f"{side}neutral_resistance_ohm")
    inductance = getattr(component, f"{side}neutral_reactance_ohm") / w
    if resistance == 0.0 and inductance == 0.0:
        return node
    inner = f"{component.name}.star_{side}".rstrip("_")
    outer = parts.node(node)
    parts.add_node(inner, parts.node_volts[outer], parts.node_island[outer], STRAY)
    parts.add_link(f"{inner}.neutral", start=outer, end=parts.node(inner), wf=0.0, wt=0.0, r=(1.0, 3.0 * resistance),
                   l=(0.0, 3.0 * inductance))
    return inner


def stamp_cable(parts: "Parts", cable: Any) -> None:
    """The sections of a cable, joint by joint."""
    nodes = [cable.from_node, *cable.joints, cable.to_node]
    parts.cable_rows.append((cable.name, len(parts.cables), len(parts.cables) + len(cable.sections) - 1))
    for section, start, end in zip(cable.sections, nodes, nodes[1:]):
        _stamp_section(parts, section, start, end)


def _stamp_section(parts: "Parts", section: Any, start: str, end: str) -> None:
    """Oscillators of both sequences of a uniform cable, sized from the study's bandwidth, near a gap from its own."""
    lines = [list_line(section.length_m, line) for line in (section.positive, section.zero)]
    branches = pair_branches(section.positive, section.zero)
    study = parts.study
    band = max(study.bandwidth_hz, parts.bands.get((start, end), 0.0))
    count = max(count_modes(*line, FRONT_MARGIN * band, study.cable_error_pu, pairs)
                for line, pairs in zip(lines, branches))
    positive, zero = (cable_modes(count, *line, pairs) for line, pairs in zip(lines, branches))
    parts.cables.append(dict(start=parts.node(start), end=parts.node(end), positive=positive, zero=zero))
    for name in (start, end):
        ends = positive.end_capacitance, zero.end_capacitance
        parts.add_capacitance(name, *ends)
        parts.add_conductance(name, ends[0] * positive.shunt_rate, ends[1] * zero.shunt_rate)


def list_line(length: float, line: Any) -> tuple[float, float, float, float, float]:
    return (length, line.resistance_ohm_per_m, line.inductance_h_per_m, line.capacitance_f_per_m,
            line.conductance_s_per_m)


def pair_branches(positive: Any, zero: Any) -> list[list[tuple[float, float]]]:
    """Foster branches of both sequences, the shorter list filled up with branches that do nothing."""
    lists = [list(zip(line.branch_resistance_ohm_per_m, line.branch_inductance_h_per_m)) for line in (positive, zero)]
    most = max(map(len, lists))
    return [pairs + [(IDLE_SHARE * line.resistance_ohm_per_m, line.inductance_h_per_m)] * (most - len(pairs))
            for pairs, line in zip(lists, (positive, zero))]


def stamp_breaker(parts: "Parts", breaker: Any) -> None:
    """Three poles between two nodes."""
    rise = breaker.recovery_rise_v_per_s or 0.0
    most = np.inf if breaker.recovery_most_v is None else breaker.recovery_most_v
    parts.add_switch(breaker.name, parts.node(breaker.from_node), parts.node(breaker.to_node),
                     1.0 / breaker.contact_resistance_ohm, closed=breaker.closed, chop=breaker.chopping_a,
                     race=(breaker.recovery_start_v, rise, most, breaker.quench_a_per_s))


def stamp_fault(parts: "Parts", fault: Any) -> None:
    """Poles from the faulty phases to a star point, which is earthed through a resistance, solidly, or not at all."""
    earth = 0.0
    if fault.earth:
        earth = 1.0 / fault.earth_resistance_ohm if fault.earth_resistance_ohm > 0.0 else np.inf
    parts.add_switch(fault.name, parts.node(fault.node), g=1.0 / fault.resistance_ohm, star=earth, phases=fault.phases)


def stamp_arrester(parts: "Parts", arrester: Any) -> None:
    """One column from each phase to earth; below its leakage current of a milliampere it carries none."""
    first = int(np.searchsorted(arrester.curve_a, LEAKAGE, side="right")) - 1
    parts.add_ports(arrester.name, parts.node(arrester.node), CLARKE.T, tuple(arrester.curve_v[first:]),
                    (0.0, *arrester.curve_a[first + 1:]))


def stamp_shunt(parts: "Parts", shunt: Any) -> None:
    """Parallel elements go to the node, a series string is one link; unearthed stars block zero sequence."""
    r, inductance, c = shunt.resistance_ohm, shunt.inductance_h, shunt.capacitance_f
    earthed = 1.0 if shunt.earthed else 0.0
    node = parts.node(shunt.node)
    if shunt.connection == "series":
        elastance = 1.0 / c if c else 0.0
        parts.add_link(shunt.name, start=node, r=(r or 0.0,) * 2, l=(inductance or 0.0,) * 2,
                       s=(elastance,) * 2, zf=earthed)
        return
    if r:
        parts.add_conductance(shunt.node, 1.0 / r, earthed / r)
    if c:
        parts.add_capacitance(shunt.node, c, earthed * c)
    if inductance:
        parts.add_link(shunt.name, start=node, l=(inductance, inductance), zf=earthed)


def stamp_series_reactor(parts: "Parts", reactor: Any) -> None:
    """Coils between two nodes."""
    w = 2.0 * np.pi * reactor.frequency_hz
    zero = reactor.reactance_ohm if reactor.zero_reactance_ohm is None else reactor.zero_reactance_ohm
    resistance = reactor.reactance_ohm / reactor.quality
    parts.add_link(reactor.name, start=parts.node(reactor.from_node), end=parts.node(reactor.to_node),
                   r=(resistance, resistance), l=(reactor.reactance_ohm / w, zero / w))


def stamp_series_capacitor(parts: "Parts", capacitor: Any) -> None:
    """Capacitors between two nodes."""
    resistance = capacitor.reactance_ohm / capacitor.quality
    elastance = 2.0 * np.pi * capacitor.frequency_hz * capacitor.reactance_ohm
    parts.add_link(capacitor.name, start=parts.node(capacitor.from_node), end=parts.node(capacitor.to_node),
                   r=(resistance,) * 2, s=(elastance,) * 2)


def stamp_machine(parts: "Parts", machine: Any) -> None:
    """Induction machine with one or two rotor cages behind a common magnetising reactance."""
    motor, load = machine.motor, machine.load
    circuit = motor.circuit
    w = 2.0 * np.pi * motor.frequency_hz
    lm = circuit.magnetising_reactance_ohm / w
    leakages = [circuit.stator_reactance_ohm / w, circuit.rotor_reactance_ohm / w]
    resistances = [circuit.stator_resistance_ohm, circuit.rotor_resistance_ohm]
    if circuit.second_rotor_resistance_ohm is not None:
        leakages.append(circuit.second_rotor_reactance_ohm / w)
        resistances.append(circuit.second_rotor_resistance_ohm)
    size = len(leakages)
    gamma, r = np.zeros((3, 3)), np.zeros(3)
    gamma[:size, :size] = np.linalg.inv(np.full((size, size), lm) + np.diag(leakages))
    r[:size] = resistances
    parts.add_capacitance(machine.node, motor.winding_f, motor.winding_f)
    parts.add_conductance(machine.node, motor.outside_loss_w / motor.rated_v**2, 0.0)
    leak = np.zeros(3)
    leak[:size] = 1.0 / np.array(leakages)
    parts.machines.append(dict(name=machine.name, node=parts.node(machine.node), gamma=gamma, r=r, leak=leak,
                               whole=leak.sum() + 1.0 / lm, knee=motor.knee_pu * motor.rated_v / w,
                               excess=(1.0 / motor.saturated_pu - 1.0) / lm,
                               pairs=motor.poles / 2.0, load=_load_row(load), table=_load_table(load),
                               load_factor=load.load_pu, **_train(machine.shaft)))


def _train(shaft: Any) -> dict[str, Any]:
    """One stiff mass, or motor and driven machine at both ends of a shaft that twists."""
    if shaft.stiffness_nm_per_rad is None:
        return dict(j=shaft.inertia_kgm2, train=(0.0, 0.0, 0.0))
    return dict(j=shaft.motor_inertia_kgm2,
                train=(shaft.load_inertia_kgm2, shaft.stiffness_nm_per_rad, shaft.damping_nms_per_rad))


def _load_row(load: Any) -> np.ndarray:
    row = np.zeros(LOAD_COLUMNS)
    row[LOAD_DUTY] = load.duty_torque_nm
    row[LOAD_SPEED] = load.duty_speed_rad_per_s
    row[LOAD_BREAKAWAY] = load.breakaway_pu
    row[LOAD_DIP] = load.dip_pu
    row[LOAD_DIP_SPEED] = load.dip_speed_pu
    row[LOAD_CONSTANT] = load.constant_pu
    row[LOAD_KIND] = LOAD_KINDS[load.kind]
    return row


def _load_table(load: Any) -> tuple[np.ndarray, np.ndarray]:
    if load.kind != "table":
        return np.zeros(0), np.zeros(0)
    return np.asarray(load.speed_pu, dtype=float), np.asarray(load.torque_pu, dtype=float)


# records of a checked case -> what each adds to the network; rows of the tables come in this order
STAMPS = {"grids": stamp_grid, "drives": stamp_drive, "transformers": stamp_transformer, "cables": stamp_cable,
          "breakers": stamp_breaker, "series_reactors": stamp_series_reactor,
          "series_capacitors": stamp_series_capacitor, "shunts": stamp_shunt, "reactors": stamp_reactor,
          "arresters": stamp_arrester, "machines": stamp_machine, "faults": stamp_fault}
