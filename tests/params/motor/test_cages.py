"""Two parallel cages from impedances, and the torque of many motors at once, against plain circuit algebra."""

import numpy as np
import pytest

from sim.params.motor import cages as mc
from sim.params.motor import circuit as ec
from sim.params.motor.fit import FittedCircuit

ALGEBRA = 1e-8      # closed form: rounding, magnified where running and standstill reactance nearly agree


def make_cages(count, seed=3):
    """Random running and starting cages. [pu]"""
    rng = np.random.default_rng(seed)
    r1, x1 = rng.uniform(0.005, 0.02, count), rng.uniform(0.1, 0.5, count)
    return mc.Cages(r1, x1, r1 * rng.uniform(1.5, 8.0, count), x1 * rng.uniform(0.1, 0.8, count))


def find_impedance(cages, slip):
    z = slip / mc.admit_cages(cages, slip)
    return z.real + 1j * z.imag / slip


@pytest.mark.parametrize("high", [1.0, 0.7])
def test_cages_come_back_from_two_impedances(high):
    cages = make_cages(500)
    again = mc.solve_cages(0.01, find_impedance(cages, 0.01), high, find_impedance(cages, high))
    for expected, found in zip(cages, again):
        assert np.allclose(found, expected, rtol=ALGEBRA, atol=0.0)


def test_relations_of_the_derivation():
    """Resistance grows, reactance falls, and at equal resistances R(inf)/R0 = 2 - X8/X0."""
    cages = make_cages(200)
    low, high = find_impedance(cages, 1e-4), find_impedance(cages, 1.0)
    assert np.all(high.real > low.real) and np.all(high.imag < low.imag)
    x1, x2 = 0.4, 0.1
    equal = mc.Cages(0.02, x1, 0.02, x2)
    near, far = find_impedance(equal, 1e-6), find_impedance(equal, 1e5)
    # both ends are 1e-4 of the corner away in slip, the error is its square
    assert far.real / near.real == pytest.approx(2.0 - far.imag / near.imag, rel=1e-6)


def test_impedances_no_two_cages_have_give_nan():
    falls, rises = 0.02 + 0.1j, 0.01 + 0.2j
    assert np.isnan(mc.solve_cages(0.01, falls, 1.0, rises)).all()              # resistance falls
    assert np.isnan(mc.solve_cages(0.01, 0.01 + 0.1j, 1.0, 0.02 + 0.2j)).all()  # reactance rises
    assert np.isnan(mc.solve_cages(0.01, 0.01 + 0.11j, 1.0, 0.2 + 0.1j)).all()  # too much displacement


@pytest.mark.parametrize("resistance, reactance", [(1.001, 0.999), (3.0, 0.3), (800.0, 0.01)])
def test_scaled_cages_have_the_impedance_and_the_ratios(resistance, reactance):
    z = 0.012 + 0.22j
    cages = mc.scale_cages(0.01, z, resistance, reactance)
    assert complex(find_impedance(cages, 0.01)) == pytest.approx(z, rel=1e-9)
    assert cages.r2 / cages.r1 == pytest.approx(resistance) and cages.x2 / cages.x1 == pytest.approx(reactance)


def test_breakdown_is_that_of_the_equivalent_circuit():
    cages = make_cages(60)
    stator = mc.Stator(*(np.full(60, value) for value in (0.008, 0.09, 0.3)))
    found = mc.find_breakdown_power(stator, cages, 0.005)
    supply = ec.make_supply(1.0, 50.0, 2, 50.0)
    for k, power in enumerate(found):
        circuit = FittedCircuit(0.008, 0.09, 1.0 / 0.3, *(float(value[k]) for value in cages))
        top = ec.breakdown(circuit, supply)
        expected = top.torque if top.slip <= 1.0 else float(ec.air_gap_torque(circuit, supply, 1.0))
        # parabola through a grid of 3.9 % in slip
        assert power == pytest.approx(expected * supply.synchronous_speed, rel=1e-4)


def test_a_curve_that_only_rises_breaks_down_at_standstill():
    stator, cages = mc.Stator(0.01, 0.1, 0.3), mc.Cages(0.5, 0.1, 0.6, 0.05)
    assert mc.find_breakdown_power(stator, cages, 0.01)[0] == pytest.approx(mc.find_gap_power(stator, cages, 1.0))
