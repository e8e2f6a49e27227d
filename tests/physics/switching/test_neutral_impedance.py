"""Earth faults beside transformers whose star points are earthed through an impedance, against nodal phasors in phase
coordinates with the star point as a terminal of its own.

Leakage and core of a winding share its star point: what both carry in the zero sequence passes the same impedance.
"""

import numpy as np
import pytest
from energy_books import lost_share
from engines.circuits import CREST, fault, grid, make_case, phases, phasor, shunt, transformer
from reference import faults, three_phase

from sim.engines.run.timeline import simulate

W = 100.0 * np.pi
HIGH, LOW, MVA = 10.0, 3.0, 4.0                     # kV, kV, MVA
SUPPLY = 100.0 / 500.0 * (1.0 + 3j) / np.hypot(1.0, 3.0)
LEAKAGE = 0.08 * LOW**2 / MVA * (1.0 + 5j) / np.hypot(1.0, 5.0)         # star equivalent on the second side [ohm]
MAGNETISING, TANK = 0.005, 0.6                      # no-load current and zero-sequence reactance, per unit
ARC, LOAD = 0.05, 500.0                             # ohm
SOLID = 1e-6                                        # a star point on earth [ohm]: 1e-5 of the least impedance here
LOST = 1.2e-6                                       # share of the energy that changed, measured up to 3.1e-7
EARTH = ("unit", "N1"), ("unit", "N2")


def run(group, core, node, kind, **neutral):
    """Fault at one side, a load of no zero sequence at the second; linear core without losses."""
    unit = {"to_kv": LOW, "group": group, "core": core, "impedance_pct": 8.0, "x_over_r": 5.0, "knee_pu": 3.0,
            "no_load_current_pct": 100.0 * MAGNETISING, "no_load_loss_pct": 0.0, "winding_nf": 0.0, "bushing_nf": 0.0}
    if core == "three_limb":
        unit["zero_magnetising_pct"] = 100.0 * TANK
    case = make_case(grid(mva=500.0, x_over_r=3.0), transformer("bus", "low", **unit, **neutral),
                     shunt("low", resistance_ohm=LOAD, earthed=False), fault(0.02, kind, node, resistance_ohm=ARC),
                     duration=0.4, bandwidth_khz=1.0)
    result = simulate(case, "waveform")
    assert lost_share(result) < LOST
    return phasor(*phases(result, "short", "current")), phasor(*phases(result, "bus")), phasor(*phases(result, "low"))


def half_core(pattern, node, star, volts, core):
    """Element of half a core across the coils of one winding."""
    ends = [(node, phase) for phase in range(3)] + [star]
    across = np.zeros((3, 4))
    for coil, pair in enumerate(pattern):
        for sign, end in zip((1.0, -1.0), pair):
            across[coil, end if isinstance(end, int) else 3] += sign
    base = volts**2 / MVA
    plain = -0.5j * MAGNETISING / base
    zero = 1.0 / (2j * TANK * base) if core == "three_limb" else plain
    is_delta = not across[:, 3].any()
    y = plain / 3.0 * np.eye(3) if is_delta else three_phase.phase_matrix(zero, plain)
    return ends, across.T @ y @ across


def solve(group, core, node, kind, near=0.0, far=0.0):
    """The same by nodal analysis; star points behind `near` and `far` [ohm]."""
    bare = group.replace("YN", "Y").replace("yn", "y")
    patterns = three_phase.transformer_coils(bare)
    source, drive = three_phase.source("bus", CREST * 1e3 * HIGH, SUPPLY, SUPPLY)
    load = three_phase.phase_matrix(1e-9j * W, 1.0 / LOAD)             # 1 nF of the node holds a delta to earth
    elements = [source, three_phase.shunt_element(three_phase.terminals("low"), load),
                *three_phase.transformer_element("unit", "bus", "low", bare, HIGH, LOW, LEAKAGE)]
    for pattern, side, star, volts, ohm in zip(patterns, ("bus", "low"), EARTH, (HIGH, LOW), (near, far)):
        elements += [half_core(pattern, side, star, volts, core),
                     three_phase.shunt_element([star], 1.0 / (ohm or SOLID))]
    short = faults.fault_element([(node, "abc".index(name)) for name in kind], ARC, 0.0)
    v = three_phase.solve([*elements, short], drive)
    into = np.zeros(3, dtype=complex)
    into[[phase for _, phase in short[0]]] = short[1] @ np.array([v[end] for end in short[0]])
    return into, three_phase.phase_voltages(v, "bus"), three_phase.phase_voltages(v, "low")


CASES = [("Dyn11", "low", {}), ("Dyn11", "low", {"far": 0.5}), ("Dyn11", "low", {"far": 3.0}),
         ("YNd11", "bus", {}), ("YNd11", "bus", {"near": 8.0}),
         ("YNyn0", "low", {}), ("YNyn0", "low", {"far": 3.0}), ("YNyn0", "low", {"near": 20.0}),
         ("YNyn0", "bus", {"near": 8.0, "far": 3.0}), ("YNyn6", "low", {"near": 8.0, "far": 1.0})]


@pytest.mark.parametrize("core", ["bank", "three_limb"])
@pytest.mark.parametrize("kind", ["a", "bc"])
@pytest.mark.parametrize("group, node, ohms", CASES, ids=[" ".join([g, *map(str, o.items())]) for g, _, o in CASES])
def test_earth_fault_beside_a_transformer(group, node, ohms, kind, core):
    """1e-3 of the largest current and of the crest: offsets of the magnetising current are left after 0.38 s."""
    keys = {"near": "from_neutral_resistance_ohm", "far": "to_neutral_resistance_ohm"}
    found = run(group, core, node, kind, **{keys[side]: ohm for side, ohm in ohms.items()})
    expected = solve(group, core, node, kind, **ohms)
    assert np.abs(found[0] - expected[0]).max() < 1e-3 * np.abs(expected[0]).max()
    for got, want, kv in zip(found[1:], expected[1:], (HIGH, LOW)):
        assert np.abs(got - want).max() < 1e-3 * CREST * 1e3 * kv
