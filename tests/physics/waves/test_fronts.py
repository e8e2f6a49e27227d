"""The front that a closing pole launches: how steep, how punctual, and whether a cable carries it clean."""

import numpy as np
import pytest
from engines.circuits import breaker, build, cable, grid, make_constant, make_ideal, node, run_waveform

from sim.engines.waveform.gear import CLOSING_CENTRE, CLOSING_OHM, CLOSING_STEPS, closing_advance

STEP = 1000.0
# bandwidth [kHz], length [km], mH/km, uF/km: surge impedances of 22 to 95 ohm cover cables (common practice)
FRONTS = pytest.mark.parametrize("bandwidth, km, inductance, capacitance", [
    (2.0, 120.0, 0.41, 0.18), (5.0, 28.0, 0.41, 0.18), (5.0, 40.0, 0.2, 0.4), (5.0, 40.0, 0.9, 0.1),
    (10.0, 40.0, 0.41, 0.18)])


def launch(bandwidth, km, inductance, capacitance):
    """Time in periods of the bandwidth since the order, and phase a at head and tail up to the second wave."""
    step = 1e-3 / (50.0 * bandwidth)
    _, network = build(grid(mva=1e5), breaker(closed=False), node("head", stray_nf=0.01), node("tail", stray_nf=0.01),
                       cable(km=km, resistance_ohm_per_km=1e-6, inductance_mh_per_km=inductance,
                             capacitance_uf_per_km=capacitance), bandwidth_khz=bandwidth)
    make_ideal(network)
    make_constant(network, STEP)
    travel = km * np.sqrt(inductance * capacitance * 1e-9)
    run = run_waveform(network, CLOSING_STEPS * step + 2.8 * travel, step, close=["gear"])
    head, tail = (run.v[:, network.node_names.index(name), 0] for name in ("head", "tail"))
    return (run.t - closing_advance(step)) * 1e3 * bandwidth, head, tail


def crossing(t, values, share):
    """First time at which the front passes a share of its height."""
    k = np.flatnonzero(values > share * STEP)[0]
    return np.interp(share * STEP, values[k - 1:k + 1], t[k - 1:k + 1])


@FRONTS
def test_front_rises_in_a_third_of_a_period(bandwidth, km, inductance, capacitance):
    """v = Zc/(Zc + R) with R swept geometrically: from 10 to 90 % R falls by 81, a share ln 81/ln 1e5 of the
    sweep.  Within one step of the sampled sweep (1/50 period)."""
    t, head, _ = launch(bandwidth, km, inductance, capacitance)
    high, low = CLOSING_OHM
    closed = np.log(81.0) / np.log(high / low) * CLOSING_STEPS / 50.0
    assert closed == pytest.approx(1.0 / 3.0, abs=0.05)
    assert crossing(t, head, 0.9) - crossing(t, head, 0.1) == pytest.approx(closed, abs=0.02)


@FRONTS
def test_middle_of_the_front_is_on_time(bandwidth, km, inductance, capacitance):
    """The middle passes where R = Zc: less than a tenth of a period from the order for any cable."""
    t, head, _ = launch(bandwidth, km, inductance, capacitance)
    surge = np.sqrt(inductance / capacitance * 1e3)
    high, low = CLOSING_OHM
    closed = (np.log(high / surge) / np.log(high / low) - CLOSING_CENTRE) * CLOSING_STEPS / 50.0
    middle = crossing(t, head, 0.5)
    assert middle == pytest.approx(closed, abs=0.03)        # one step of the sweep and half a one of the method
    assert abs(middle) < 0.1


@FRONTS
def test_cable_carries_the_front_clean(bandwidth, km, inductance, capacitance):
    """The front doubles at the far end with less than 0.1 % of overshoot, and 0.2 % of ripple before it
    arrives: what of its spectrum lies above twice the bandwidth, the margin the cable is sized with."""
    _, _, tail = launch(bandwidth, km, inductance, capacitance)
    assert 2.0 * STEP <= tail.max() <= 2.0 * STEP * 1.001
    assert tail.min() >= -0.002 * 2.0 * STEP
