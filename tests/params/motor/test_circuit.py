"""The equivalent circuit against hand-written network algebra and against what it must obey."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.params.motor import circuit as ec


def make_circuit(rs, xs, xm, rr, xr, r2=None, x2=None):
    return SimpleNamespace(stator_resistance_ohm=rs, stator_reactance_ohm=xs, magnetising_reactance_ohm=xm,
                           rotor_resistance_ohm=rr, rotor_reactance_ohm=xr, second_rotor_resistance_ohm=r2,
                           second_rotor_reactance_ohm=x2)


SINGLE = make_circuit(0.06, 0.9, 32.0, 0.10, 0.9)
DOUBLE = make_circuit(0.06, 0.6, 32.0, 0.10, 1.4, 0.6, 0.5)
SUPPLY = ec.make_supply(6600.0, 50.0, 4, 50.0)
EXACT = 1e-12     # the same algebra in another order: rounding only
SEARCH = 1e-8     # golden section stops where the flat top hides the slip: square root of rounding

positive = st.floats(0.01, 5.0)


def mesh_currents(circuit, supply, slip):
    """Stator and cage currents from Kirchhoff's mesh equations solved as a matrix. [A rms]"""
    a = supply.frequency_ratio
    cages = [(circuit.rotor_resistance_ohm, circuit.rotor_reactance_ohm)]
    if circuit.second_rotor_resistance_ohm is not None:
        cages.append((circuit.second_rotor_resistance_ohm, circuit.second_rotor_reactance_ohm))
    size = 1 + len(cages)
    xm = 1j * a * circuit.magnetising_reactance_ohm
    z = np.full((size, size), xm)
    z[0, 0] += circuit.stator_resistance_ohm + 1j * a * circuit.stator_reactance_ohm + supply.source_impedance
    for k, (r, x) in enumerate(cages, 1):
        z[k, k] += r / slip + 1j * a * x
    e = np.zeros(size, dtype=complex)
    e[0] = supply.voltage / np.sqrt(3.0)
    return np.linalg.solve(z, e), np.array([r for r, _ in cages])


@pytest.mark.parametrize("circuit", [SINGLE, DOUBLE], ids=["single cage", "double cage"])
@pytest.mark.parametrize("slip", [1.0, 0.3, 0.01, -0.02, 1.7])
@pytest.mark.parametrize("ratio, source", [(1.0, 0.0), (0.06, 0.02 + 0.05j), (1.0, 0.2 + 1.1j)])
def test_current_and_torque_obey_mesh_equations(circuit, slip, ratio, source):
    supply = ec.make_supply(6600.0 * ratio, 50.0 * ratio, 4, 50.0, source)
    currents, resistances = mesh_currents(circuit, supply, slip)
    torque = 3.0 * np.sum(np.abs(currents[1:]) ** 2 * resistances / slip) / (2.0 * np.pi * 25.0 * ratio)
    # condition number of the mesh matrix is below 1e4: 1e-11 leaves a decade of margin over rounding
    assert ec.stator_current(circuit, supply, slip) == pytest.approx(currents[0], rel=1e-11)
    assert ec.air_gap_torque(circuit, supply, slip) == pytest.approx(torque, rel=1e-11)
    terminal = 6600.0 * ratio / np.sqrt(3.0) - source * currents[0]
    assert ec.input_impedance(circuit, slip, ratio) == pytest.approx(terminal / currents[0], rel=1e-11)


def test_arrays_give_the_same_as_scalars():
    slip = np.array([[0.01, 0.2], [0.0, 1.0]])
    for function in (ec.stator_current, ec.air_gap_torque, ec.shaft_power):
        together = function(DOUBLE, SUPPLY, slip)
        assert together.shape == (2, 2)
        one_by_one = [function(DOUBLE, SUPPLY, s) for s in slip.ravel()]
        assert np.allclose(together.ravel(), one_by_one, rtol=EXACT, atol=0.0)
    ratios = np.array([0.1, 0.5, 1.0])
    assert np.allclose(ec.input_impedance(SINGLE, 1.0, ratios),
                       [ec.input_impedance(SINGLE, 1.0, a) for a in ratios], rtol=EXACT, atol=0.0)


def test_power_in_is_copper_loss_plus_air_gap_power():
    slip = np.geomspace(1e-3, 1.0, 50)
    current = ec.stator_current(DOUBLE, SUPPLY, slip)
    power_in = 3.0 * np.real(6600.0 / np.sqrt(3.0) * np.conj(current))
    loss = 3.0 * DOUBLE.stator_resistance_ohm * np.abs(current) ** 2
    assert np.allclose(power_in, loss + ec.air_gap_power(DOUBLE, SUPPLY, slip), rtol=EXACT, atol=0.0)


def test_equal_cages_are_one_cage_of_half_the_impedance():
    two = make_circuit(0.06, 0.9, 32.0, 0.2, 1.8, 0.2, 1.8)
    slip = np.geomspace(1e-3, 1.0, 20)
    assert np.allclose(ec.air_gap_torque(two, SUPPLY, slip), ec.air_gap_torque(SINGLE, SUPPLY, slip),
                       rtol=EXACT, atol=0.0)
    assert ec.breakdown(two, SUPPLY).torque == pytest.approx(ec.breakdown(SINGLE, SUPPLY).torque, rel=EXACT)
    # flat top: a slip error d changes the torque by d squared
    assert ec.breakdown(two, SUPPLY).slip == pytest.approx(ec.breakdown(SINGLE, SUPPLY).slip, rel=1e-6)


def test_slip_zero_takes_magnetising_current_only():
    current = abs(ec.stator_current(SINGLE, SUPPLY, 0.0))
    assert current == pytest.approx(6600.0 / np.sqrt(3.0) / abs(0.06 + 32.9j), rel=EXACT)
    assert ec.air_gap_torque(SINGLE, SUPPLY, 0.0) == 0.0
    assert ec.stator_current(make_circuit(1.0, 2.0, np.inf, 1.0, 2.0), SUPPLY, 0.0) == 0.0
    assert np.isinf(ec.input_impedance(make_circuit(1.0, 2.0, np.inf, 1.0, 2.0), 0.0))


def test_locked_rotor_power_factor_is_that_of_the_motor_behind_any_source():
    z = ec.input_impedance(SINGLE, 1.0)
    behind = ec.make_supply(6600.0, 50.0, 4, 50.0, 3.0 + 0.1j)
    assert ec.locked_rotor(SINGLE, behind).power_factor == pytest.approx(z.real / abs(z), rel=EXACT)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(rs=positive, xs=positive, xm=st.floats(5.0, 100.0), rr=positive, xr=positive,
       ratio=st.floats(0.05, 1.2))
def test_no_slip_beats_the_closed_breakdown(rs, xs, xm, rr, xr, ratio):
    circuit = make_circuit(rs, xs, xm, rr, xr)
    supply = ec.make_supply(400.0 * ratio, 50.0 * ratio, 4, 50.0, 0.1 + 0.3j)
    top = ec.breakdown(circuit, supply)
    slips = top.slip * np.geomspace(1e-2, 1e2, 401)
    assert np.all(ec.air_gap_torque(circuit, supply, slips) <= top.torque * (1.0 + EXACT))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(share=st.floats(0.0, 0.999), double=st.booleans())
def test_operating_slip_gives_back_the_power(share, double):
    circuit = DOUBLE if double else SINGLE
    power = 0.9 * share**2 * ec.breakdown(circuit, SUPPLY).torque * SUPPLY.synchronous_speed
    slip = ec.slip_at_power(circuit, SUPPLY, power)
    assert ec.shaft_power(circuit, SUPPLY, slip) == pytest.approx(power, rel=SEARCH, abs=1e-3)
    assert slip <= ec.breakdown(circuit, SUPPLY).slip


def test_load_beyond_breakdown_has_no_operating_slip():
    top = ec.breakdown(SINGLE, SUPPLY)
    assert np.isnan(ec.slip_at_power(SINGLE, SUPPLY, top.torque * SUPPLY.synchronous_speed))


def test_double_cage_stops_at_the_first_peak_and_finds_the_saddle():
    # well separated cages: inner one peaks near synchronous speed, outer one at standstill
    circuit = make_circuit(0.02, 0.2, 40.0, 0.05, 4.0, 2.0, 0.4)
    top, saddle = ec.breakdown(circuit, SUPPLY), ec.pull_up(circuit, SUPPLY)
    slips = np.linspace(1e-4, 1.0, 200001)
    torque = ec.air_gap_torque(circuit, SUPPLY, slips)
    first = np.flatnonzero(np.diff(torque) < 0.0)[0]
    assert torque[-1] > top.torque                       # the outer cage's torque is not breakdown torque
    step = 5e-6     # of the grid, which misses at most about (step / slip)^2 of a flat top
    assert top.torque == pytest.approx(torque[first], rel=(step / top.slip) ** 2)
    assert top.slip == pytest.approx(slips[first], abs=2 * step)
    assert saddle.torque == pytest.approx(torque[first:].min(), rel=SEARCH)
    assert saddle.slip == pytest.approx(slips[first + torque[first:].argmin()], abs=2 * step)


def test_pull_up_is_at_standstill_for_a_single_cage():
    least = ec.pull_up(SINGLE, SUPPLY)
    assert least.slip == 1.0
    assert least.torque == pytest.approx(ec.locked_rotor(SINGLE, SUPPLY).torque, rel=EXACT)
