"""The line reference against closed forms, a second library and a second inversion."""

import mpmath
import numpy as np
import pytest

from . import line as reference

# 40 km of a medium-voltage cable, round numbers
CABLE = reference.Line(0.16e-3, 0.40e-6, 0.19e-9, 40e3)
LOSSLESS = reference.Line(0.0, 0.40e-6, 0.19e-9, 40e3)
SURGE, TRAVEL = reference.surge_impedance(LOSSLESS), reference.travel_time(LOSSLESS)


def test_two_port_agrees_with_scikit_rf():
    hz = np.array([0.5, 16.7, 50.0, 777.0, 5e3, 20e3])
    ours = reference.admittance_matrix(CABLE, 2j * np.pi * hz)
    # two routes through double precision: S-parameters lose digits where the line is electrically short
    # (Zc over its series impedance is 3e3 at 0.5 Hz)
    assert np.allclose(ours, reference.library_admittance(CABLE, hz), rtol=1e-9, atol=0.0)


@pytest.mark.parametrize("s", [2j * np.pi * 50.0, 300.0 + 2j * np.pi * 400.0])
def test_many_sections_tend_to_the_two_port(s):
    """The error of a pi ladder falls with the square of the number of sections."""
    exact = reference.admittance_matrix(CABLE, s)
    errors = [np.abs(reference.ladder_admittance(CABLE, s, n) - exact).max() for n in (200, 400)]
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.01)     # next term is of order (1/n)^2
    assert errors[1] < 1e-4 * np.abs(exact).max()


def test_two_port_is_reciprocal_and_chain_determinant_is_one():
    a, b, c, d = reference.chain_matrix(CABLE, 100.0 + 2j * np.pi * 300.0)
    assert a * d - b * c == pytest.approx(1.0, rel=1e-12)
    y = reference.admittance_matrix(CABLE, 2j * np.pi * 50.0)
    assert y[0, 1] == y[1, 0] and y[0, 0] == y[1, 1]


def test_transfer_solves_the_network_of_source_line_and_load():
    s = 2j * np.pi * 120.0
    zs, yl = 0.5 + s * 11e-3, 1.0 / (30.0 + s * 0.05)
    y = reference.admittance_matrix(CABLE, s)
    near, far = np.linalg.solve(y + np.diag([1.0 / zs, yl]), [1.0 / zs, 0.0])
    got = reference.transfer(CABLE, s, zs, yl)
    assert got.far_voltage == pytest.approx(far, rel=1e-10)
    assert got.near_voltage == pytest.approx(near, rel=1e-10)
    assert got.near_current == pytest.approx((1.0 - near) / zs, rel=1e-10)
    assert got.far_current == pytest.approx(far * yl, rel=1e-10)


@pytest.mark.parametrize("image, original", [
    (lambda s: 1.0 / (s + 50.0), lambda t: np.exp(-50.0 * t)),
    (lambda s: s / (s * s + 314.0**2), lambda t: np.cos(314.0 * t)),
    (lambda s: 2000.0 / ((s + 30.0) ** 2 + 2000.0**2), lambda t: np.exp(-30.0 * t) * np.sin(2000.0 * t)),
], ids=["decay", "cosine", "damped"])
def test_inversions_of_known_pairs(image, original):
    t = np.array([1e-4, 1e-3, 7e-3, 0.02])
    # exp(-16) = 1.1e-7 of values not above 1
    assert np.allclose(reference.invert(image, t), original(t), rtol=0.0, atol=2e-7)
    assert np.allclose(reference.invert_precisely(image, t), original(t), rtol=0.0, atol=1e-9)


def test_cosine_transform_is_that_of_a_shifted_cosine():
    got = reference.invert(lambda s: reference.cosine(s, 50.0, 0.7), [0.013])
    assert got[0] == pytest.approx(np.cos(2.0 * np.pi * 50.0 * 0.013 + 0.7), abs=2e-7)


@pytest.mark.parametrize("attenuation", [0.0, 0.3], ids=["lossless", "distortionless"])
def test_step_behind_inductance_has_the_closed_form_of_its_waves(attenuation):
    per_metre = attenuation / LOSSLESS.length
    line = LOSSLESS._replace(resistance=per_metre * SURGE, conductance=per_metre / SURGE)
    t = np.linspace(0.15, 4.85, 41) * TRAVEL
    expected = reference.inductive_front(t, SURGE, TRAVEL, 11e-3, attenuation)
    rough = np.abs(reference.step_response(line, t, 0.0, 11e-3, terms=2000) - expected).max()
    fine = np.abs(reference.step_response(line, t, 0.0, 11e-3) - expected).max()
    # the kink at each arrival leaves terms that fall with 1/n^2: four times as many, a sixteenth
    assert fine < rough / 8.0 and fine < 5e-6


def test_both_inversions_agree_on_a_lossy_loaded_line():
    def image(s):
        return reference.transfer(CABLE, s, 0.5 + s * 11e-3, 1 / (50 + s * 0.1)).far_voltage / s

    t = np.array([0.8, 1.6, 2.7]) * TRAVEL
    fast, slow = reference.invert(image, t, terms=32000), reference.invert_precisely(image, t)
    # exp(-16) = 1.1e-7 of values up to 1.5
    assert np.allclose(fast, slow, rtol=0.0, atol=3e-7)


def test_inversion_holds_after_many_passages():
    """A chain of pi sections: inverted from its two-port, and exact in time by the matrix exponential."""
    t = np.linspace(0.0, 40.0 * TRAVEL, 81)

    def image(s):
        y = reference.ladder_admittance(CABLE, s, 15)
        ratio = -y[:, 1, 0] / y[:, 1, 1]
        seen = y[:, 0, 0] + y[:, 0, 1] * ratio
        return ratio / (1.0 + (0.5 + s * 11e-3) * seen) / s

    # exp(-16) = 1.1e-7 of values up to 3; the response of a chain is smooth, so truncation is smaller
    expected = reference.ladder_step(CABLE, t, 0.5, 11e-3, 15)
    assert np.allclose(reference.invert(image, t[1:], terms=3000), expected[1:], rtol=0.0, atol=4e-7)


def test_line_response_is_the_limit_of_chains():
    t = np.linspace(0.0, 20.0 * TRAVEL, 81)
    exact = np.append(0.0, reference.step_response(CABLE, t[1:], 0.5, 0.3, terms=4000))
    errors = [np.abs(reference.ladder_step(CABLE, t, 0.5, 0.3, n) - exact).max() for n in (20, 40, 80)]
    # a chain rounds off the kinks at the arrivals, so its largest error falls slower than 1/sections^2
    assert errors[0] > 1.4 * errors[1] > 1.9 * errors[2] and errors[2] < 1e-3


def test_step_into_lossless_line_reaches_the_lattice_plateaus():
    """Resistive ends: plateaus between arrivals, read in the middle of each."""
    near, far = reference.lattice(1.0, SURGE, 10.0, 100.0, 3)

    def image(s):
        return reference.transfer(LOSSLESS, s, 10, mpmath.mpf("0.01")).far_voltage / s

    got = reference.invert_precisely(image, np.array([2.0, 4.0, 6.0]) * TRAVEL, degree=60)
    # the Fourier sum of a jump, accelerated: each reflection needs more terms
    assert np.allclose(got, far, rtol=0.0, atol=2e-3)
    assert near[0] == pytest.approx(SURGE / (SURGE + 10.0))


def test_lattice_of_open_line_doubles_and_settles():
    _, far = reference.lattice(1.0, 40.0, 0.0, np.inf, 4)
    assert np.array_equal(far, [2.0, 0.0, 2.0, 0.0])
    near, far = reference.lattice(1.0, 40.0, 40.0, np.inf, 3)
    assert np.array_equal(far, [1.0, 1.0, 1.0]) and near[0] == 0.5 and near[1] == 1.0


def test_ferranti_rise_of_lossless_line_is_one_over_cosine():
    assert reference.ferranti(LOSSLESS, 50.0) == pytest.approx(1.0 / np.cos(2.0 * np.pi * 50.0 * TRAVEL))
