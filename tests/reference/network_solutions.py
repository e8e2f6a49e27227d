"""Steady state and energisation of a network given as plain dicts (see `random_networks`).

Two solutions are independent of each other and of any engine:

* `nodal_phasors`: full phase coordinates, cables as exact hyperbolic two-ports, transformers as three units
  connected coil by coil (see `three_phase`);
* `lumped_states` and `energise`: positive sequence in the time domain, exact by the matrix exponential, for
  networks without cables.  A closed breaker is an ideal joint there.

Model of the parts.  Grid: emf behind V^2/Sk at X/R; the zero sequence has `x0_over_x1` times the impedance,
or none if not earthed.  Transformer: leakage |Z| at X/R, half of the magnetising and loss admittance across
each winding, the winding capacitance from each side's terminals to earth.  Cable: uniform line per sequence.
Node: stray capacitance to earth.
"""

from typing import NamedTuple

import numpy as np
from scipy.linalg import expm

from . import line, three_phase

DEFAULT_STRAY_NF = 1.0


def grid_impedance(row):
    """Positive-sequence impedance. [ohm]"""
    size = row["rated_kv"] ** 2 / row["short_circuit_mva"]
    return size * (1.0 + 1j * row["x_over_r"]) / np.hypot(1.0, row["x_over_r"])


def leakage_impedance(row):
    """Star-equivalent leakage on the `to` side. [ohm]"""
    size = 0.01 * row["impedance_pct"] * row["to_kv"] ** 2 / row["rated_mva"]
    return size * (1.0 + 1j * row["x_over_r"]) / np.hypot(1.0, row["x_over_r"])


def core_admittance(row, side):
    """Half the no-load admittance, star equivalent, at one side's rated voltage. [S]"""
    whole = 0.01 * row["rated_mva"] / row[f"{side}_kv"] ** 2
    loss = row["no_load_loss_pct"]
    return 0.5 * whole * (loss - 1j * np.sqrt(row["no_load_current_pct"] ** 2 - loss**2))


def cable_lines(row):
    """Zero- and positive-sequence lines."""
    names = ("resistance_ohm_per_km", "inductance_mh_per_km", "capacitance_uf_per_km")
    conductance = 1e-9 * row.get("conductance_us_per_km", 0.0)
    lines = []
    for prefix, factors in (("zero_", (4.0, 3.0, 1.0)), ("", (1.0, 1.0, 1.0))):
        r, l, c = (row.get(prefix + name, factor * row[name]) for name, factor in zip(names, factors))
        lines.append(line.Line(1e-3 * r, 1e-6 * l, 1e-9 * c, 1e3 * row["length_km"], conductance))
    return lines


def shunt_admittance(row, w):
    """Admittance of a shunt per phase. [S]"""
    parts = []
    if row.get("resistance_ohm"):
        parts.append(row["resistance_ohm"] + 0j)
    if row.get("inductance_mh"):
        parts.append(1j * w * 1e-3 * row["inductance_mh"])
    if row.get("capacitance_uf"):
        parts.append(1.0 / (1j * w * 1e-6 * row["capacitance_uf"]))
    return 1.0 / sum(parts) if row["connection"] == "series" else sum(1.0 / z for z in parts)


def emf(row):
    """Phasor of phase a, phase to earth, rms. [V]"""
    size = 1e3 * row["voltage_pu"] * row["rated_kv"] / np.sqrt(3.0)
    return size * np.exp(1j * np.radians(row["phase_deg"]))


def group_factor(row):
    """Positive-sequence ratio: `to` voltage over `from` voltage at no load."""
    clock = int(row["vector_group"].lstrip("YNDynd"))
    tapped = row["from_kv"] * (1.0 + 0.01 * row["tap_pct"])
    return row["to_kv"] / tapped * np.exp(-1j * np.pi / 6.0 * clock)


def node_names(network):
    """All node names, in order of appearance."""
    rows = [row for kind, rows in network.items() for row in rows if kind != "node"]
    return list(dict.fromkeys(row[end] for row in rows for end in ("node", "from", "to") if end in row))


def node_strays(network):
    """Stray capacitance of every node. [F]"""
    given = {row["name"]: row.get("stray_nf", DEFAULT_STRAY_NF) for row in network.get("node", [])}
    return {name: 1e-9 * given.get(name, DEFAULT_STRAY_NF) for name in node_names(network)}


def nodal_phasors(network: dict, extra=()) -> dict:
    """Steady state with all sources live.

    Parameters
    ----------
    network : dict
    extra : sequence of (terminals, matrix)
        Further elements in phase coordinates, for instance a fault.

    Returns
    -------
    voltages : dict
        Node -> three phase-to-earth phasors, rms. [V]
    """
    w = 2.0 * np.pi * network["grid"][0]["frequency_hz"]
    elements, currents = list(extra), {}
    for row in network["grid"]:
        z = grid_impedance(row)
        zero = z * row["x0_over_x1"] if row["earthed"] else np.inf
        element, drive = three_phase.source(row["node"], emf(row), zero, z)
        elements.append(element)
        currents.update({name: currents.get(name, 0.0) + i for name, i in drive.items()})
    for name, stray in node_strays(network).items():
        elements.append(three_phase.shunt_element(three_phase.terminals(name), 1j * w * stray))
    for kind, build in (("transformer", _transformer_elements), ("cable", _cable_elements),
                        ("breaker", _breaker_elements), ("shunt", _shunt_elements)):
        for row in network.get(kind, []):
            elements += build(row, w)
    solved = three_phase.solve(elements, currents)
    return {name: three_phase.phase_voltages(solved, name) for name in node_names(network)}


def _transformer_elements(row, w):
    winding = 1j * w * 1e-9 * row["winding_nf"]
    cores = (core_admittance(row, side) for side in ("from", "to"))
    tapped = row["from_kv"] * (1.0 + 0.01 * row["tap_pct"])
    units = three_phase.transformer_element(row["name"], row["from"], row["to"], row["vector_group"], tapped,
                                            row["to_kv"], leakage_impedance(row), *cores)
    earth = [three_phase.shunt_element(three_phase.terminals(row[end]), winding) for end in ("from", "to")]
    return units + earth


def _cable_elements(row, w):
    zero, positive = (line.admittance_matrix(part, 1j * w) for part in cable_lines(row))
    ends = (three_phase.terminals(row[end]) for end in ("from", "to"))
    return [three_phase.two_port_element(*ends, zero, positive)]


def _breaker_elements(row, w):
    ends = (three_phase.terminals(row[end]) for end in ("from", "to"))
    return [three_phase.series_element(*ends, 1e6 / row["contact_resistance_uohm"])] if row["closed"] else []


def _shunt_elements(row, w):
    y = shunt_admittance(row, w)
    matrix = three_phase.phase_matrix(y if row["earthed"] else 0.0, y)
    return [three_phase.shunt_element(three_phase.terminals(row["node"]), matrix)]


class States(NamedTuple):
    """x' = a x + b exp(j w t) in space vectors; `rows` maps node -> index of its voltage."""

    a: np.ndarray
    b: np.ndarray
    w: float
    rows: dict


def lumped_states(network: dict) -> States:
    """State equations of a network without cables; space vectors are amplitude-invariant. [V], [A]"""
    if network.get("cable"):
        raise ValueError("a network with cables has no finite set of states")
    w = 2.0 * np.pi * network["grid"][0]["frequency_hz"]
    rows = _joined_rows(network)
    count = 1 + max(rows.values())
    c, g, branches = np.zeros(count), np.zeros(count), []
    for name, stray in node_strays(network).items():
        c[rows[name]] += stray
    for row in network.get("transformer", []):
        _stamp_transformer(row, w, rows, c, g, branches)
    for row in network.get("shunt", []):
        _stamp_shunt(row, rows[row["node"]], c, g, branches)
    for row in network["grid"]:
        z = grid_impedance(row)
        branches.append(({rows[row["node"]]: -1.0}, z.real, z.imag / w, np.inf, np.sqrt(2.0) * emf(row)))
    return _assemble(c, g, branches, w, rows)


def _joined_rows(network):
    """Index of every node; nodes joined by closed breakers share one."""
    root = {name: name for name in node_names(network)}
    for row in network.get("breaker", []):
        if row["closed"]:
            old, new = root[row["to"]], root[row["from"]]
            root = {name: new if home == old else home for name, home in root.items()}
    order = list(dict.fromkeys(root.values()))
    return {name: order.index(home) for name, home in root.items()}


def _stamp_transformer(row, w, rows, c, g, branches):
    start, end, z = rows[row["from"]], rows[row["to"]], leakage_impedance(row)
    branches.append(({start: group_factor(row), end: -1.0}, z.real, z.imag / w, np.inf, 0.0))
    for side, node in (("from", start), ("to", end)):
        core = core_admittance(row, side)
        g[node] += core.real
        c[node] += 1e-9 * row["winding_nf"]
        branches.append(({node: 1.0}, 0.0, -1.0 / (w * core.imag), np.inf, 0.0))


def _stamp_shunt(row, node, c, g, branches):
    r, l = row.get("resistance_ohm", 0.0), 1e-3 * row.get("inductance_mh", 0.0)
    farad = 1e-6 * row.get("capacitance_uf", 0.0)
    if row["connection"] == "series":
        branches.append(({node: 1.0}, r, l, farad or np.inf, 0.0))
        return
    g[node] += 1.0 / r if r else 0.0
    c[node] += farad
    if l:
        branches.append(({node: 1.0}, 0.0, l, np.inf, 0.0))


def _assemble(c, g, branches, w, rows):
    """States: node voltages, branch currents, voltages of series capacitors.

    A branch is (weights of node voltages that drive it, R, L, series C, emf); its current leaves each node
    times the conjugate of the weight.
    """
    n, m = len(c), len(branches)
    held = [k for k, branch in enumerate(branches) if np.isfinite(branch[3])]
    a, b = np.zeros((n + m + len(held),) * 2, dtype=complex), np.zeros(n + m + len(held), dtype=complex)
    a[range(n), range(n)] = -g / c
    for k, (weights, r, l, farad, source) in enumerate(branches):
        i = n + k
        a[i, i] -= r / l
        b[i] += source / l
        for node, weight in weights.items():
            a[i, node] += weight / l
            a[node, i] -= np.conj(weight) / c[node]
        if k in held:
            v = n + m + held.index(k)
            a[i, v] -= 1.0 / l
            a[v, i] += 1.0 / farad
    return States(a, b, w, rows)


def settled(states: States) -> np.ndarray:
    """State of the steady state at t = 0."""
    return np.linalg.solve(1j * states.w * np.eye(len(states.b)) - states.a, states.b)


def energise(states: States, t, x=None) -> dict:
    """Node voltages when all sources come on at t = 0 with the network in state x (at rest by default).

    Parameters
    ----------
    t : ndarray, shape (n,)
        Equally spaced from 0. [s]

    Returns
    -------
    voltages : dict
        Node -> space vector, shape (n,); phase a is its real part, phase b that of a^2 times it. [V peak]
    """
    n = len(states.b)
    whole = np.zeros((n + 1, n + 1), dtype=complex)
    whole[:n, :n], whole[:n, n], whole[n, n] = states.a, states.b, 1j * states.w
    step = expm(whole * (t[1] - t[0]))
    y = np.zeros((len(t), n + 1), dtype=complex)
    y[0, n] = 1.0
    if x is not None:
        y[0, :n] = x
    for k in range(1, len(t)):
        y[k] = step @ y[k - 1]
    return {name: y[:, row] for name, row in states.rows.items()}
