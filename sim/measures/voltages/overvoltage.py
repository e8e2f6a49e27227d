"""Voltage peaks and temporary overvoltage of a node, and the insulation they meet.

Peaks are per unit of the crest of the nominal voltage: sqrt(2/3) of it from phase to earth, sqrt(2) of it
between phases.
"""

from typing import Any

import numpy as np

from sim.params.voltage_classes import find_impulse_level
from sim.results.run import Peak

PHASE_EARTH_CREST = np.sqrt(2.0 / 3.0)
PHASE_PHASE_CREST = np.sqrt(2.0)


def measure_peaks(peak: Peak | None, base: float) -> dict[str, float | bool | None]:
    """Peaks of one node, under the names of the summary; all None when the run kept none.

    `base` is the nominal line-to-line voltage. [V]
    """
    if peak is None:
        return dict.fromkeys(("peak_phase_earth_pu", "peak_phase_earth_kv", "peak_phase_phase_pu",
                              "peak_time_s", "peak_at_least", "peak_needs_khz"))
    return {"peak_phase_earth_pu": peak.phase_earth / (PHASE_EARTH_CREST * base),
            "peak_phase_earth_kv": peak.phase_earth / 1e3,
            "peak_phase_phase_pu": peak.phase_phase / (PHASE_PHASE_CREST * base),
            "peak_time_s": peak.phase_earth_time,
            "peak_at_least": peak.needed > 0.0, "peak_needs_khz": 1e-3 * peak.needed or None}


def find_withstand(node: Any) -> tuple[float | None, str]:
    """Lightning impulse withstand voltage of a node [V peak] and where it comes from.

    A given value comes first; else the lowest standard level of the class at or below the given highest
    voltage for equipment.  None, with the reason, when the case gives neither or the class is outside the
    table (3.6 to 145 kV).
    """
    if node.lightning_withstand_v is not None:
        return node.lightning_withstand_v, "withstand as given"
    if node.um_v is None:
        return None, "give um_kv or lightning_withstand_kv of the node"
    um_kv = node.um_v / 1e3
    level = find_impulse_level(um_kv)
    if level is None:
        return None, f"no standard level held for um_kv = {um_kv:g}; give lightning_withstand_kv"
    return level[1] * 1e3, f"lowest standard level of class {level[0]:g} kV"
