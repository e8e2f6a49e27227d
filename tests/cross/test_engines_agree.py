"""The same balanced start by the waveform engine, by the envelope engine and by both with their hand-over.

In a balanced network both engines solve the same equations; what separates them is their own error.  The waveform
engine's step leaves about 1e-5 of a peak, the envelope's tolerance of 1e-7 a step adds up to some 1e-5 while the
offset currents turn in its frame, and for the core flux, which is held a hundred times looser, to some 1e-4:
AGREE is a little more than their sum.

Only at a closing there is more.  In the waveform engine a pole closes by a front: its resistance sweeps from 1e4 to 0.1
ohm in 48 steps, 96 us, and it counts as closed where it passes the surge impedance of a cable, 46 % of the way.  A
motor of 3.3 ohm sees it close where it passes that, 70 % of the way, 23 us later, 0.7 % of a radian: that much
the currents differ from the run in which the envelope engine closes at once, AGREE_CLOSING.  The cable rings after a
closing, with an amplitude that depends on the front: the first milliseconds are left out.
"""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from cross.casefile import join_signal, machine_table, make_case
from sim.engines.run.timeline import simulate

AGREE, AGREE_CLOSING = 1e-3, 7.2e-3     # of each signal's peak
STUDY = {"bandwidth_khz": 2.0, "waveform_step_us": 2.0, "tolerance_pu": 1e-7}
CIRCUIT = (0.12, 1.6, 55.0, 0.16, 1.7)
CLOSE = 0.25
MAGNITUDES = ("voltage", "current", "current_from", "current_to", "flux_from", "flux_to", "speed", "torque", "emf",
              "frequency", "load_torque")
MOTOR = machine_table("motor", "terminals", CIRCUIT, 30.0, {"kind": "pump", "breakaway_pct": 5.0, "dip_pct": 5.0},
                      rated_kw=2000.0, rated_kv=6.6, poles=4)
FEEDER = [("cable", {"name": "feeder", "from": "head", "to": "tail", "length_km": 12.0, "resistance_ohm_per_km": 0.12,
                     "inductance_mh_per_km": 0.38, "capacitance_uf_per_km": 0.22}),
          ("transformer", {"name": "stepdown", "from": "tail", "to": "terminals", "rated_mva": 5.0, "from_kv": 33.0,
                           "to_kv": 6.6, "impedance_pct": 7.0})]


def direct_start(duration=1.2, tolerance=1e-7):
    """A breaker closes on feeder and motor; its pole resistance damps nothing, so the cable rings as it may."""
    study = STUDY | {"duration_s": duration, "tolerance_pu": tolerance}
    return make_case(study, ("grid", {"name": "host", "node": "bus", "rated_kv": 33.0, "short_circuit_mva": 300.0}),
                     ("cable", FEEDER[0][1] | {"from": "bus"}),
                     ("transformer", FEEDER[1][1] | {"to": "subsea"}),
                     ("breaker", {"name": "switch", "from": "subsea", "to": "terminals", "closed": False}), MOTOR,
                     ("event", {"at_s": CLOSE, "action": "close", "target": "switch"}))


def drive_start():
    """A drive ramps the motor over the same feeder to 16 Hz; a breaker with nothing behind it closes on the way, so
    that the run with both engines has to hand over twice."""
    drive = {"name": "host_drive", "node": "bus", "rated_kv": 3.3, "rated_kva": 3000.0, "start_hz": 4.0, "hold_s": 0.3,
             "ramp_hz_per_s": 8.0, "target_hz": 16.0, "boost_pct": 2.0, "voltage_rise_s": 0.2,
             "current_limit_pct": 300.0}
    stepup = {"name": "stepup", "from": "bus", "to": "head", "rated_mva": 5.0, "from_kv": 3.3, "to_kv": 33.0,
              "impedance_pct": 8.0}
    return make_case({"duration_s": 2.5} | STUDY, ("node", {"name": "spare"}), ("drive", drive),
                     ("transformer", stepup), *FEEDER, MOTOR,
                     ("breaker", {"name": "stub", "from": "tail", "to": "spare", "closed": False}),
                     ("event", {"at_s": 1.5, "action": "close", "target": "stub"}))


# builder, moment of closing, time left out around it [s]
CASES = {"direct": (direct_start, CLOSE, 0.01), "drive": (drive_start, 1.5, 0.02)}


@pytest.fixture(scope="module", params=sorted(CASES))
def runs(request):
    build, switched, skipped = CASES[request.param]
    case = build()
    results = {engine: simulate(case, engine) for engine in ("waveform", "auto")}
    # closing at once, the envelope engine follows the ringing of every node: at 1e-6 that is affordable
    results["envelope"] = simulate(direct_start(tolerance=1e-6) if request.param == "direct" else case, "envelope")
    return request.param, results, switched, skipped


def gaps(result, other, switched, skipped):
    """Largest distance of every magnitude of `result` from the waveform run `other`, of its peak."""
    found = {}
    for name, signals in other.stretches[-1].signals.items():
        for quantity in signals:
            if quantity not in MAGNITUDES or name in ("spare", "stub"):
                continue
            t, values = join_signal(other, name, quantity)
            at, got = join_signal(result, name, quantity)
            inside = (at >= t[0]) & (at <= t[-1]) & ((at < switched - skipped) | (at > switched + skipped))
            gap = np.abs(got[inside] - CubicSpline(t, values)(at[inside])).max()
            found[name, quantity] = float(gap / max(np.abs(values).max(), 1e-9))
    return found


@pytest.mark.parametrize("engine", ("envelope", "auto"))
def test_engines_agree(engine, runs):
    kind, results, switched, skipped = runs
    found = gaps(results[engine], results["waveform"], switched, skipped)
    assert {quantity for _, quantity in found} >= {"voltage", "current", "speed", "torque", "flux_to"}
    limit = AGREE_CLOSING if (kind, engine) == ("direct", "envelope") else AGREE
    assert max(found.values()) < limit, {key: gap for key, gap in found.items() if gap >= limit}


def test_hand_over_leaves_no_jump(runs):
    """From the last sample before to the first after a hand-over every magnitude moves as in the run without one."""
    _, results, _, _ = runs
    stretches = results["auto"].stretches
    assert [stretch.engine for stretch in stretches] == ["envelope", "waveform", "envelope"]
    for before, after in zip(stretches, stretches[1:]):
        assert 0.0 < after.t[0] - before.t[-1] < 3e-3
        for name, signals in before.signals.items():
            for quantity in set(signals) & set(MAGNITUDES) & set(after.signals[name]):
                t, values = join_signal(results["waveform"], name, quantity)
                move = np.diff(CubicSpline(t, values)([before.t[-1], after.t[0]]))[0]
                jump = after.signals[name][quantity][0] - signals[quantity][-1] - move
                assert abs(jump) < AGREE * max(np.abs(values).max(), 1e-9), (name, quantity, before.t[-1])


@pytest.mark.parametrize("tolerance", (1e-4, 1e-5, 1e-6, 1e-7, 1e-8))
def test_envelope_closes_a_live_breaker_at_any_tolerance(tolerance):
    """A contact of 50 microohm shares the charge of two nodes within a picosecond; no step needs to resolve that."""
    result = simulate(direct_start(CLOSE + 1e-3, tolerance), "envelope")
    assert result.failure is None
    assert result.stretches[-1].t[-1] == pytest.approx(CLOSE + 1e-3)
    assert result.stretches[-1].signals["motor"]["current"][-1] > 0.0


def test_ramp_begins_at_the_end_of_the_hold():
    """Below its limit a drive's frequency is start + ramp (t - hold): straight, so every method is exact on it."""
    study = {"duration_s": 0.9, "tolerance_pu": 1e-4}
    drive = {"name": "host_drive", "node": "head", "rated_kv": 33.0, "rated_kva": 3000.0, "start_hz": 4.0,
             "hold_s": 0.3, "ramp_hz_per_s": 8.0, "voltage_rise_s": 0.2, "current_limit_pct": 400.0}
    case = make_case(study, ("drive", drive), *FEEDER, MOTOR)
    t, hz = join_signal(simulate(case, "envelope"), "host_drive", "frequency")
    assert np.abs(hz - 4.0 - 8.0 * np.maximum(t - 0.3, 0.0)).max() < 1e-6
