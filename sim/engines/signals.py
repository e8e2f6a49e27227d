"""From kernel samples to named signals."""

import numpy as np

from sim.engines.iron import find_limb_flux
from sim.kernels import columns as c
from sim.kernels.columns import TRAIN_INERTIA
from sim.network.tables import CLARKE, is_inner
from sim.results.run import Stretch

PHASES = "abc"
TO_PHASES = CLARKE.T
PER_PHASE = 1.0 / np.sqrt(3.0)
SHAFT_SIGNALS = {"speed": c.SHAFT_SAMPLE_SPEED, "torque": c.SHAFT_SAMPLE_TORQUE, "load_torque": c.SHAFT_SAMPLE_LOAD,
                 "load_speed": c.SHAFT_SAMPLE_LOAD_SPEED, "shaft_torque": c.SHAFT_SAMPLE_TWISTING}
TWISTING = (c.SHAFT_SAMPLE_LOAD_SPEED, c.SHAFT_SAMPLE_TWISTING)     # of shafts with a second mass only
DRIVE_SIGNALS = {"frequency": c.DRIVE_SAMPLE_HZ, "emf": c.DRIVE_SAMPLE_EMF, "limit_trim": c.DRIVE_SAMPLE_TRIM,
                 "current": c.DRIVE_SAMPLE_AMPS, "dc_voltage": c.DRIVE_SAMPLE_DIRECT, "power": c.DRIVE_SAMPLE_POWER}


def envelope_stretch(network, samples):
    """Stretch of an envelope piece: magnitudes only."""
    signals = {}
    for n, name in enumerate(network.node_names):
        if not is_inner(name):
            _put(signals, name, "voltage", np.abs(samples.v[:, n]))
    _links(network, signals, lambda b: np.abs(samples.i[:, b]))
    for b, f, to in _list_capacitors(network):
        _put(signals, network.link_names[b], "voltage_across", np.abs(samples.v[:, f] - samples.v[:, to]))
    for name, rows in zip(network.cable_names, network.cable_rows):
        _put(signals, name, "current_from", PER_PHASE * np.abs(samples.cable[:, 0, rows[0]]))
        _put(signals, name, "current_to", PER_PHASE * np.abs(samples.cable[:, 1, rows[1]]))
    for q, name in enumerate(network.switch_names):
        _put(signals, name, "current", PER_PHASE * np.abs(samples.pole[:, q]))
    _machines_and_drives(network, signals, samples)
    return Stretch("envelope", samples.t, signals)


def waveform_stretch(network, samples):
    """Stretch of a waveform piece: magnitudes and phase quantities."""
    signals = {}
    phases = np.einsum("pc,tcn->tnp", TO_PHASES, samples.v)
    for n, name in enumerate(network.node_names):
        if is_inner(name):
            continue
        _put(signals, name, "voltage", np.hypot(samples.v[:, 0, n], samples.v[:, 1, n]))
        _put_phases(signals, name, "voltage", phases[:, n])
        _put(signals, name, "voltage_zero", PER_PHASE * samples.v[:, 2, n])
    _links(network, signals, lambda b: np.hypot(samples.i[:, 0, b], samples.i[:, 1, b]))
    for b, f, to in _list_capacitors(network):
        across = samples.v[:, :, f] - samples.v[:, :, to]
        _put(signals, network.link_names[b], "voltage_across", np.hypot(across[:, 0], across[:, 1]))
        _put_phases(signals, network.link_names[b], "voltage_across", across @ CLARKE)
    for name, rows in zip(network.cable_names, network.cable_rows):
        for end, quantity in ((0, "current_from"), (1, "current_to")):
            i = samples.cable[:, end, :, rows[end]]
            _put(signals, name, quantity, PER_PHASE * np.hypot(i[:, 0], i[:, 1]))
    for q, name in enumerate(network.switch_names):
        poles = samples.pole[:, q]
        vector = poles @ CLARKE.T
        _put(signals, name, "current", PER_PHASE * np.hypot(vector[:, 0], vector[:, 1]))
        _put_phases(signals, name, "current", poles)
    _machines_and_drives(network, signals, samples)
    for m, name in enumerate(network.machine_names):
        i = samples.stator[:, m]
        _put_phases(signals, name, "current", np.stack([i.real, i.imag], axis=1) @ CLARKE[:2])
    _ports(network, signals, samples)
    return Stretch("waveform", samples.t, signals)


def _list_capacitors(network):
    """Capacitors in the way of the current: link, its first and its second node."""
    links = network.tables.links
    return [(b, links.start[b], links.end[b]) for b in np.flatnonzero(links.s[0] > 0.0)
            if links.start[b] >= 0 and links.end[b] >= 0]


def _ports(network, signals, samples):
    """Limb fluxes and winding currents of transformers, phase currents of reactors and arresters."""
    t = network.tables
    flux, w = find_limb_flux(t, samples.i), network.link_w
    rows = {}
    for p, name in enumerate(network.port_names):
        rows.setdefault(name, []).append(p)
    for name, limbs in rows.items():
        owner, _, part = name.partition(".")
        if part:
            links = t.ports.link[limbs]
            base = np.hypot(*t.ports.weight[limbs, :2].T) * network.link_volts[links] / w[links]
            _put_phases(signals, owner, f"flux_{part[5:]}", flux[:, limbs] / base)
        elif t.ports.link[limbs[0]] < 0:
            _put_phases(signals, owner, "current", samples.port[:, limbs])
    beside = t.ports.link[:, None] == np.arange(len(t.links.start))
    drawn = np.einsum("tp,pc,pl->tcl", samples.port, t.ports.weight, beside)
    for b, name in enumerate(network.link_names):
        owner, _, part = name.partition(".")
        if part == "leakage":
            into = samples.i[:, 0, b] + 1j * samples.i[:, 1, b]
            into = np.conj(t.links.wf[b]) * into
            core = network.link_names.index(f"{owner}.core_from")
            behind = f"{owner}.star_from.neutral"
            zero = (samples.i[:, 2, network.link_names.index(behind)] if behind in network.link_names
                    else t.links.zf[b] * samples.i[:, 2, b])
            winding = np.stack([into.real, into.imag, zero], axis=1)
            _put_phases(signals, owner, "current_from", (winding + samples.i[:, :, core] + drawn[:, :, core]) @ CLARKE)
        elif part.endswith("neutral"):
            drop = samples.v[:, 2, t.links.start[b]] - samples.v[:, 2, t.links.end[b]]
            side = part.removesuffix(".neutral").removeprefix("star")
            _put(signals, owner, f"voltage_neutral{side}", PER_PHASE * drop)
        elif not part and owner not in network.drive_names:
            _put_phases(signals, owner, "current", (samples.i[:, :, b] + drawn[:, :, b]) @ CLARKE)


def _put(signals, name, quantity, values):
    signals.setdefault(name, {})[quantity] = np.ascontiguousarray(values)


def _put_phases(signals, name, stem, values):
    for k, phase in enumerate(PHASES):
        _put(signals, name, f"{stem}_{phase}", values[:, k])


def _links(network, signals, magnitude):
    """Source currents, transformer fluxes and series-branch currents from link currents."""
    t = network.tables
    for b, name in enumerate(network.link_names):
        owner, _, part = name.partition(".")
        if part in ("core_from", "core_to"):
            flux = t.links.l[0, b] * magnitude(b) * network.link_w[b] / network.link_volts[b]
            _put(signals, owner, f"flux_{part[5:]}", flux)
        elif part == "leakage":
            _put(signals, owner, "current", PER_PHASE * magnitude(b))
        elif part == "front":
            _put(signals, owner, "front_current", PER_PHASE * magnitude(b))
        elif part in ("source", "") and owner not in network.drive_names:
            _put(signals, owner, "current", PER_PHASE * magnitude(b))


def _machines_and_drives(network, signals, samples):
    for m, name in enumerate(network.machine_names):
        _put(signals, name, "current", PER_PHASE * np.abs(samples.stator[:, m]))
        for quantity, k in SHAFT_SIGNALS.items():
            if k not in TWISTING or network.tables.machines.train[m, TRAIN_INERTIA] > 0.0:
                _put(signals, name, quantity, samples.shaft[:, m, k])
    for l, name in enumerate(network.drive_names):
        linked = network.tables.drives.front[l] >= 0
        for quantity, k in DRIVE_SIGNALS.items():
            if k != c.DRIVE_SAMPLE_DIRECT or linked:
                _put(signals, name, quantity, samples.drive[:, l, k])

