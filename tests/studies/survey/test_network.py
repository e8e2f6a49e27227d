"""The network at rest against desk phasors."""

import numpy as np
import pytest
from reference import line
from scipy.optimize import brentq

from sim.studies.survey.study import survey
from studies.arrangements import (
    CABLES,
    HIGH,
    LOSSLESS,
    breaker,
    cable,
    drive,
    grid,
    make,
    motor,
    node,
    split,
    transformer,
)

MODAL = 1e-6            # the oscillators meet 1e-4 at 10 kHz and converge spectrally below: rounding is left at 50 Hz
PEAK = 1e-5             # the same at the some hundred hertz of a resonance, times its sharpness
STRAY = 1e-9            # farad at every node


def skewed(size, x_over_r):
    return size * (1.0 + 1j * x_over_r) / np.hypot(1.0, x_over_r)


def make_line(constants, km):
    r, inductance, c = constants
    return line.Line(r * 1e-3, inductance * 1e-6, c * 1e-9, km * 1e3)


@pytest.mark.parametrize("mva, estimate", [(800.0, 1.235), (2000.0, 1.117)])
def test_no_load_rise_of_a_long_feeder(mva, estimate):
    """120 km of 145 kV, 500 mm2 at 132 kV; the estimates are those of an earlier desk study of this arrangement."""
    nodes = survey(make(grid(kv=132.0, mva=mva), cable(km=120.0, constants=HIGH)))["nodes"]
    source, stray = skewed(132e3**2 / (mva * 1e6), 10.0), 100j * np.pi * STRAY
    divided = 1.0 / (1.0 + source * stray)
    desk = line.transfer(make_line(HIGH, 120.0), 100j * np.pi, source * divided, stray).far_voltage * divided
    assert nodes["tail"]["no_load_pu"] == pytest.approx(abs(desk), rel=MODAL)
    assert nodes["tail"]["no_load_pu"] == pytest.approx(estimate, abs=5e-3)     # its X/R is not known
    assert nodes["tail"]["no_load_kv"] == pytest.approx(132.0 * nodes["tail"]["no_load_pu"], rel=1e-12)


def test_parts_of_the_rise():
    """The cable's part is Ferranti's on the voltage at its near end; the rest is the source's."""
    found = survey(make(grid(kv=132.0, mva=800.0, voltage_pu=1.02), cable(km=120.0, constants=HIGH)))
    near, far = found["nodes"]["bus"], found["nodes"]["tail"]
    ferranti = found["cables"]["feeder"]["ferranti_rise_pct"]
    assert far["rise_in_cables_pct"] == pytest.approx(ferranti * near["no_load_pu"], rel=1e-3)    # stray at the end
    assert far["rise_elsewhere_pct"] == pytest.approx(100.0 * (near["no_load_pu"] - 1.02), rel=1e-9)
    assert far["rise_pct"] == pytest.approx(100.0 * (far["no_load_pu"] - 1.02), rel=1e-9)
    assert near["rise_in_cables_pct"] == 0.0


def test_parallel_cables_are_one_of_half_the_impedance():
    r, inductance, c = CABLES[240]
    double = survey(make(grid(), cable(km=50.0, constants=CABLES[240]),
                         cable(km=50.0, constants=CABLES[240], name="spare")))
    single = survey(make(grid(), cable(km=50.0, constants=(r / 2.0, inductance / 2.0, 2.0 * c))))
    for name in ("bus", "tail"):
        assert double["nodes"][name] == pytest.approx(single["nodes"][name], rel=MODAL, abs=1e-9)
    numbers, words = split(double["islands"]["host"])
    assert (pytest.approx(numbers, rel=PEAK), words) == split(single["islands"]["host"])


def test_parallel_transformers_are_one_of_twice_the_power():
    def look(*units):
        return survey(make(grid(), *units, breaker("low", "terminals"), motor("terminals")))["machines"]["pump"]
    pair = look(*(transformer("bus", "low", 33.0, 6.6, name=name, winding_nf=0.0) for name in ("one", "two")))
    single = look(transformer("bus", "low", 33.0, 6.6, mva=8.0, winding_nf=0.0))
    numbers, words = split(pair)
    # the same admittances in another order; a bushing of 0.2 nF more or less carries 1e-7 of the motor's current
    assert (pytest.approx(numbers, rel=1e-6), words) == split(single)


@pytest.mark.parametrize("km", [20.0, 60.0])
def test_resonance_with_the_source(km):
    """Lossless line behind an inductance: w Ls tan(w tau) = Zc (any text on transmission lines)."""
    _, inductance, c = CABLES[240]
    found = survey(make(grid(mva=300.0, x_over_r=500.0), cable(km=km, constants=(LOSSLESS, inductance, c))))
    source = 33e3**2 / 300e6 / (100.0 * np.pi)
    surge, tau = np.sqrt(inductance * 1e-3 / (c * 1e-6)), km * np.sqrt(inductance * 1e-3 * c * 1e-6)
    w = brentq(lambda w: w * source * np.tan(w * tau) - surge, 1.0, 0.499 * np.pi / tau)
    island = found["islands"]["host"]
    # 1 nF of stray at each end of 4.8 uF and more pulls by 2e-4; X/R = 500 makes Ls 2e-6 smaller
    assert island["first_resonance_hz"] == pytest.approx(w / (2.0 * np.pi), rel=3e-4)
    assert island["farthest_node"] == "tail"


def test_motors_raise_the_resonance():
    """The leakage of a motor lies across the capacitance and stiffens it."""
    island = survey(make(grid(), cable(km=28.0), transformer("tail", "low", 33.0, 6.6),
                         motor("low")))["islands"]["host"]
    assert island["first_resonance_with_motors_hz"] > 1.01 * island["first_resonance_hz"]


def test_farthest_node_is_that_behind_the_longest_cables():
    island = survey(make(node("nearer"), grid(), cable(end="near", km=5.0), breaker("near", "nearer"),
                         cable(end="far", km=9.0, name="other")))["islands"]["host"]
    assert island["farthest_node"] == "far"


def test_reactive_balance_of_an_island():
    """w C V^2, V^2/(Xs + Xm) and the square root of I0^2 - P0^2, by hand."""
    island = survey(make(grid(), cable(km=28.0), transformer("tail", "low", 33.0, 6.6, no_load_current_pct=0.5,
                                                             no_load_loss_pct=0.3), motor("low")))["islands"]["host"]
    charging = 100.0 * np.pi * 0.18e-6 * 28.0 * 33.0**2
    motors, cores = 1.2 / (0.95 * 0.88) / 3.29, 0.004 * 4.0
    assert island["charging_mvar"] == pytest.approx(charging, rel=1e-9)
    # the stator resistance of 0.007 pu beside 3.29: 5e-6
    assert island["motor_magnetising_mvar"] == pytest.approx(motors, rel=1e-5)
    assert island["transformer_magnetising_mvar"] == pytest.approx(cores, rel=1e-9)
    assert island["charging_to_magnetising_ratio"] == pytest.approx(charging / (motors + cores), rel=1e-5)


def test_every_island_has_its_source():
    found = survey(make(grid(), cable(km=10.0), drive("motor_bus"), motor("motor_bus", kv=3.3)))
    assert set(found["islands"]) == {"host", "inverter"}
    assert found["islands"]["host"]["motor_magnetising_mvar"] == 0.0
    assert found["islands"]["inverter"]["charging_mvar"] == 0.0
    assert found["nodes"]["motor_bus"]["no_load_pu"] == pytest.approx(1.0, abs=1e-4)    # strays behind 3.5 %
