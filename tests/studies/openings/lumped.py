"""A motor's circuit of lumped elements, as a case and as the reference takes it."""

import numpy as np
from engines.circuits import CREST, breaker, event, grid, make_case, node, shunt, write
from reference.motor_opening import Circuit, Gap

W = 100.0 * np.pi
KV, MVA, X_OVER_R = 6.6, 30.0, 10.0
BUS, HEAD, MOTOR = 60.0, 10.0, 30.0                 # nF
LINE_MH, COIL_MH, COIL_OHM = 0.04, 45.0, 4.0
ORDER = 0.04
X = KV**2 / MVA / np.hypot(1.0, 1.0 / X_OVER_R)
LINE_OHM = W * 1e-3 * LINE_MH                       # a coil of quality 1
CIRCUIT = Circuit(CREST * 1e3 * KV, 50.0, X / X_OVER_R, X / W, 1e-9 * BUS, 1e-9 * HEAD, LINE_OHM, 1e-3 * LINE_MH,
                  1e-9 * MOTOR, COIL_OHM, 1e-3 * COIL_MH)


def gap_of(start=0.5, rise=3.0, most=20.0, quench=600.0):
    """Strength as the case writes it and as the reference does: [kV], [kV/ms], [kV], [A/us]."""
    keys = {"recovery_start_kv": start, "recovery_rise_kv_per_ms": rise, "recovery_most_kv": most,
            "quench_a_per_us": quench}
    return keys, Gap(1e3 * start, 1e6 * rise, 1e3 * most, 1e6 * quench)


def write_case(keys, duration=0.06, **study):
    """Source, bus, breaker, a line without capacitance between the strays of its ends, locked rotor."""
    line = write("[[series_reactor]]", name="line", from_="head", to="motor", reactance_ohm=LINE_OHM, quality=1.0,
                 high_frequency_quality=1e9)
    return make_case(grid(kv=KV, mva=MVA, x_over_r=X_OVER_R), node("bus", stray_nf=BUS), node("head", stray_nf=HEAD),
                     node("motor", stray_nf=MOTOR), breaker(**keys), line,
                     shunt("motor", connection="series", resistance_ohm=COIL_OHM, inductance_mh=COIL_MH, earthed=False),
                     event(ORDER, "open"), duration=duration, bandwidth_khz=5.0, **study)
