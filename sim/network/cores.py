"""Saturable magnetic circuits: transformer cores and shunt reactors.

A core is two halves, one across each winding: the pi form that follows from a core-type magnetic circuit, where
each winding sees the flux of its own voltage.  A half is a linear link and, beyond the knee, three nonlinear
ports beside it.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.network.windings import coil_weights, find_limb_angles, find_windings

if TYPE_CHECKING:
    from sim.network.build import Parts

WHOLE = (0.0, 0.0, 0.0)


def stamp_core(parts: "Parts", transformer: Any, w: float) -> None:
    """Both halves of a core at its windings.

    The saturated reactance of a half follows from the one that the outer winding shows with the core saturated: half in
    parallel with the other half behind the leakage.  Where a star point is earthed through an impedance the zero
    sequence of its half hangs on the inner node before that impedance and does not saturate.
    """
    first, second, clock = find_windings(transformer.vector_group)
    hours = find_limb_angles(first, second, clock)
    current, loss = transformer.no_load_current_pu, transformer.no_load_loss_pu
    magnetising = np.sqrt(max(current**2 - loss**2, 1e-12))
    saturated = half_of(transformer.air_core_pu, transformer.impedance_pu)
    ends = ((transformer.from_node, transformer.from_v, first, "from"),
            (transformer.to_node, transformer.to_v, second, "to"))
    for (node, volts, letters, side), hour in zip(ends, hours):
        base = volts**2 / transformer.rated_va
        linear = 2.0 * base / (w * magnetising)
        zero = zero_inductance(transformer, base, w, linear)
        inner = f"{transformer.name}.star_{side}"
        is_behind = inner in parts.node_names
        if is_behind:
            parts.add_link(f"{inner}.core", start=parts.node(inner), wf=0.0, l=(linear, zero))
        link = parts.add_link(f"{transformer.name}.core_{side}", start=parts.node(node), volts=volts,
                              zf=1.0 if letters == "YN" and not is_behind else 0.0, l=(linear, zero))
        add_saturation(parts, link, "Y" if is_behind else letters, hour, transformer.knee_pu * volts / w,
                       saturated * base / w, [flux * volts / w for flux in transformer.remanence_pu])


def half_of(whole: float, leakage: float) -> float:
    """Reactance x of each half for which x parallel to (leakage + x) is the whole. [as given]"""
    return 0.5 * (2.0 * whole - leakage + np.sqrt(4.0 * whole**2 + leakage**2))


def zero_inductance(transformer: Any, base: float, w: float, linear: float) -> float:
    """Zero-sequence magnetising inductance of a half: the flux of three limbs returns through the tank, that of a bank
    of three cores through the cores. [H]"""
    return linear if transformer.core == "bank" else 2.0 * transformer.zero_magnetising_pu * base / w


def add_saturation(parts: "Parts", link: int, letters: str, hours: int, knee: float, saturated: float,
                   offsets: Sequence[float] = WHOLE) -> None:
    """Ports and core row beside a link of linear inductance.

    Parameters
    ----------
    link : int
    letters : str
        "D", "Y" or "YN".
    hours : int
        See `coil_weights`.
    knee : float
        Line-to-line RMS flux linkage at the knee: knee voltage over angular frequency. [V s]
    saturated : float
        Inductance beyond the knee, star equivalent. [H]
    offsets : sequence of float
        Remanent flux of the limbs on the same scale. [V s]
    """
    row = parts.links[link]
    excess = 1.0 / saturated - 1.0 / row["l"][0]
    if excess <= 0.0:
        return
    crest, share = (np.sqrt(2.0), 1.0 / 3.0) if letters == "D" else (np.sqrt(2.0 / 3.0), 1.0)
    parts.add_ports(row["name"], row["start"], coil_weights(letters, hours), (crest * knee, 2.0 * crest * knee),
                    (0.0, share * excess * crest * knee), link, [crest * flux for flux in offsets])
    parts.cores.append(dict(link=link, knee=knee, excess=excess))


def stamp_reactor(parts: "Parts", reactor: Any) -> None:
    """Three coils to a star point; with a knee they saturate one by one."""
    w = 2.0 * np.pi * reactor.frequency_hz
    earthed = 1.0 if reactor.earthed else 0.0
    link = parts.add_link(reactor.name, start=parts.node(reactor.node), zf=earthed, volts=reactor.rated_v,
                          r=(reactor.resistance_ohm,) * 2, l=(reactor.inductance_h,) * 2)
    if reactor.knee_pu is not None:
        add_saturation(parts, link, "YN" if reactor.earthed else "Y", 0, reactor.knee_pu * reactor.rated_v / w,
                       reactor.saturated_pu * reactor.inductance_h)
