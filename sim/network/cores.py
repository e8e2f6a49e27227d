"""Saturable magnetic circuits: transformer cores and shunt reactors.

A core is two halves, one across each winding: the pi form that follows from a core-type magnetic circuit, where
each winding sees the flux of its own voltage.  A half is a linear link and, beyond the knee, three nonlinear
ports beside it.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.network.windings import coil_weights, find_limb_angles, find_windings
from sim.params.winding_loss import split_loss

if TYPE_CHECKING:
    from sim.network.build import Parts

WHOLE = (0.0, 0.0, 0.0)
BENDS = 4               # of a rounded knee


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
                       saturated * base / w, transformer.knee_rounding_pu,
                       [flux * volts / w for flux in transformer.remanence_pu])


def half_of(whole: float, leakage: float) -> float:
    """Reactance x of each half for which x parallel to (leakage + x) is the whole. [as given]"""
    return 0.5 * (2.0 * whole - leakage + np.sqrt(4.0 * whole**2 + leakage**2))


def zero_inductance(transformer: Any, base: float, w: float, linear: float) -> float:
    """Zero-sequence magnetising inductance of a half: the flux of three limbs returns through the tank, that of a bank
    of three cores through the cores. [H]"""
    return linear if transformer.core == "bank" else 2.0 * transformer.zero_magnetising_pu * base / w


def add_saturation(parts: "Parts", link: int, letters: str, hours: int, knee: float, saturated: float,
                   rounding: float, offsets: Sequence[float] = WHOLE) -> None:
    """Ports and core row beside a link of linear inductance.

    Parameters
    ----------
    link : int
    letters : str
        "D", "Y" or "YN".
    hours : int
        See `coil_weights`.
    knee : float
        Line-to-line RMS flux linkage where both lines of the curve meet: knee voltage over angular frequency. [V s]
    saturated : float
        Inductance beyond the knee, star equivalent. [H]
    rounding : float
        Share of the knee's flux, to both sides, over which a parabola joins the lines; it is followed by BENDS chords,
        and what lies outside of it stays as it is. [1]
    offsets : sequence of float
        Remanent flux of the limbs on the same scale. [V s]
    """
    row = parts.links[link]
    excess = 1.0 / saturated - 1.0 / row["l"][0]
    if excess <= 0.0:
        return
    crest, share = (np.sqrt(2.0), 1.0 / 3.0) if letters == "D" else (np.sqrt(2.0 / 3.0), 1.0)
    count = BENDS if rounding > 0.0 else 1
    knees = knee * (1.0 + rounding * (2.0 * np.arange(count) + 1.0 - count) / count)
    flux = np.append(knees, 2.0 * knee)
    drawn = excess * np.mean(np.maximum(flux[:, None] - knees, 0.0), axis=1)
    parts.add_ports(row["name"], row["start"], coil_weights(letters, hours), tuple(crest * flux),
                    tuple(share * crest * drawn), link, [crest * flux for flux in offsets])
    parts.cores.append(dict(link=link, knees=knees, added=np.full(count, excess / count)))


def find_corner(cores: Any) -> np.ndarray:
    """Flux linkage at which the first and the last line of every core's curve meet, shape (W,). [V s]"""
    bends = np.where(cores.excess > 0.0, cores.knee, 0.0)
    return np.sum(cores.excess * bends, axis=1) / np.sum(cores.excess, axis=1)


def stamp_reactor(parts: "Parts", reactor: Any) -> None:
    """Three coils to a star point; with a knee they saturate one by one."""
    w = 2.0 * np.pi * reactor.frequency_hz
    earthed = 1.0 if reactor.earthed else 0.0
    series, across = split_loss(w * reactor.inductance_h, reactor.resistance_ohm, reactor.high_frequency_quality,
                                reactor.frequency_hz)
    link = parts.add_link(reactor.name, start=parts.node(reactor.node), zf=earthed, volts=reactor.rated_v,
                          r=(series,) * 2, l=(reactor.inductance_h,) * 2)
    parts.add_link(f"{reactor.name}.damping", start=parts.node(reactor.node), zf=earthed, r=(across,) * 2)
    if reactor.knee_pu is not None:
        add_saturation(parts, link, "YN" if reactor.earthed else "Y", 0, reactor.knee_pu * reactor.rated_v / w,
                       reactor.saturated_pu * reactor.inductance_h, reactor.knee_rounding_pu)
