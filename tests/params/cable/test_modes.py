"""Oscillators of a cable against the exact line, an independent library, and closed forms."""

import numpy as np
import pytest
import skrf

from sim.params.cable.modes import MOST_MODES, cable_modes, count_modes, exact_two_port, modal_admittance

L, C = 0.41e-6, 0.18e-9             # 0.41 mH/km and 0.18 uF/km: 36 kV three-core cable, common practice
SPEED, SURGE = 1.0 / np.sqrt(L * C), np.sqrt(L / C)
BANDWIDTH, ERROR = 10e3, 1e-4       # twice the default bandwidth of a study (front margin), default error
LENGTHS = [5e3, 28e3, 40e3, 120e3]
# series R' [ohm/m] and shunt G' [S/m]: copper, a poor conductor, copper with leaky insulation
LOSSES = [(0.246e-3, 0.0), (2e-3, 0.0), (0.246e-3, 5e-9)]
LOSSY = pytest.mark.parametrize("length, r, g", [(length, *loss) for length in LENGTHS for loss in LOSSES])
EVERY = pytest.mark.parametrize("length, r, g", [(length, *loss) for length in LENGTHS
                                                 for loss in [(0.0, 0.0), *LOSSES]])


def make_modes(length, r, g, bandwidth=BANDWIDTH, error=ERROR):
    return cable_modes(count_modes(length, r, L, C, g, bandwidth, error), length, r, L, C, g)


def band():
    """Angular frequencies up to the bandwidth, off the raster that the sizing rule checks."""
    return 2j * np.pi * np.linspace(0.37, BANDWIDTH, 3001)


def transfers(y):
    """Open-end voltage, short-end current and short-end admittance of a two-port admittance."""
    return np.stack([-y[:, 1, 0] / y[:, 1, 1], -y[:, 1, 0] / y[:, 0, 0], y[:, 0, 0]])


def chain(y):
    """A, B and C of the chain (transmission) matrix."""
    through = -y[:, 1, 0]
    return np.stack([y[:, 1, 1] / through, 1.0 / through, (y[:, 0, 0] * y[:, 1, 1] - y[:, 1, 0] ** 2) / through])


def worst(got, exact):
    """Largest error of each row, relative to its peak."""
    return (np.abs(got - exact).max(axis=1) / np.abs(exact).max(axis=1)).max()


@LOSSY
def test_transfers_match_the_exact_line(length, r, g):
    """The promise of the sizing rule: each transfer within the error, relative to its peak, up to the bandwidth."""
    cosh, z_sinh, _ = exact_two_port(band(), length, r, L, C, g)
    exact = np.stack([1.0 / cosh, 1.0 / cosh, cosh / z_sinh])
    assert worst(transfers(modal_admittance(make_modes(length, r, g), band())), exact) <= ERROR


@pytest.mark.parametrize("length", LENGTHS)
def test_loss_free_chain_matches_the_exact_line(length):
    """The transfers of a loss-free line have poles on the axis; its chain parameters are bounded."""
    got = chain(modal_admittance(make_modes(length, 0.0, 0.0), band()))
    assert worst(got, np.stack(exact_two_port(band(), length, 0.0, L, C))) <= ERROR


@LOSSY
def test_transfers_match_an_independent_library(length, r, g):
    """scikit-rf's distributed circuit, a general-purpose microwave library."""
    frequency = skrf.Frequency.from_f(band().imag / (2.0 * np.pi), unit="Hz")
    line = skrf.media.DistributedCircuit(frequency, C=C, L=L, R=r, G=g).line(length, unit="m")
    got = transfers(modal_admittance(make_modes(length, r, g), band()))
    assert worst(got, transfers(line.y)) <= 1.05 * ERROR    # its S to Y conversion loses some digits near 0 Hz


@EVERY
def test_admittance_is_reciprocal_and_symmetrical(length, r, g):
    y = modal_admittance(make_modes(length, r, g), band() + 40.0)
    size = np.abs(y).max()
    assert np.abs(y[:, 0, 1] - y[:, 1, 0]).max() <= 1e-13 * size
    assert np.abs(y[:, 0, 0] - y[:, 1, 1]).max() <= 1e-9 * size     # the points mirror to rounding


@EVERY
def test_admittance_is_passive_at_every_frequency(length, r, g):
    """Hermitian part positive semidefinite far beyond the band too: the admittance is positive-real.

    Taken 1 rad/s inside the right half-plane, where the poles of a loss-free line do not swallow the digits.
    """
    s = 1.0 + 2j * np.pi * np.geomspace(1e-3, 1e7, 4000)
    y = modal_admittance(make_modes(length, r, g), s)
    lowest = np.linalg.eigvalsh(0.5 * (y + np.conj(np.swapaxes(y, 1, 2)))).min(axis=1)
    assert (lowest >= -1e-14 * np.abs(y).max(axis=(1, 2))).all()    # rounding of the largest entry


@pytest.mark.parametrize("length, r, g", [(length, *loss) for length in LENGTHS for loss in LOSSES[:2]])
def test_direct_current_sees_the_series_resistance(length, r, g):
    y = modal_admittance(make_modes(length, r, g), np.array([1e-6j]))[0]
    assert -1.0 / y[1, 0] == pytest.approx(r * length, rel=1e-6)


@EVERY
def test_slow_change_sees_the_total_capacitance(length, r, g):
    """Both ends together: 2/Zc tanh(gamma l / 2), which tends to (s C' + G') l as the line gets short for the wave."""
    s = np.array([30.0j])
    y = modal_admittance(make_modes(length, r, g), s)[0].sum()
    z_each, y_each = r + s[0] * L, g + s[0] * C
    angle = length * np.sqrt(z_each * y_each)
    assert y == pytest.approx(2.0 * np.sqrt(y_each / z_each) * np.tanh(0.5 * angle), rel=1e-8)
    assert y == pytest.approx(y_each * length, rel=abs(angle) ** 2 / 6.0)      # twice the next term of the series


@pytest.mark.parametrize("length", LENGTHS)
def test_open_end_rises_by_ferranti(length):
    """V2/V1 = 1/cos(beta l) of the loss-free line; any text on transmission lines."""
    w = 2.0 * np.pi * 50.0
    y = modal_admittance(make_modes(length, 0.0, 0.0), np.array([1j * w]))
    assert transfers(y)[0, 0] == pytest.approx(1.0 / np.cos(w * length / SPEED), rel=1e-6)


def test_oscillator_frequencies_converge_to_the_standing_waves():
    """Both ends held: k pi v / l.  Spectral: doubling the count gains digits, not a fixed factor."""
    length, k = 40e3, np.arange(1, 6)
    gaps = [np.abs(np.sort(cable_modes(count, length, 0.0, L, C).sigma)[1:6] * length / (k * np.pi * SPEED) - 1.0)
            for count in (8, 12, 16, 24)]
    largest = [gap.max() for gap in gaps]
    assert largest[1] < 0.05 * largest[0] and largest[2] < 0.01 * largest[1]
    assert largest[3] < 1e-12


def test_size_grows_with_travel_time_and_bandwidth_only():
    counts = [count_modes(length, 0.246e-3, L, C, 0.0, BANDWIDTH, ERROR) for length in LENGTHS]
    assert counts == sorted(counts)
    assert count_modes(40e3, 0.246e-3, L, C, 0.0, BANDWIDTH, ERROR) == count_modes(20e3, 0.492e-3, L, C, 0.0,
                                                                                   2.0 * BANDWIDTH, ERROR)
    # pi points a wavelength and a constant resolve a wave on a Legendre grid (Canuto et al., section 2.3, from
    # memory, to be checked)
    for count, length in zip(counts, LENGTHS):
        assert count <= np.pi * BANDWIDTH * length / SPEED + 12.0


def test_too_many_oscillators_are_left_to_shorter_cables():
    """None for the whole; a quarter of it needs a quarter, within the few that any cable needs."""
    assert count_modes(500e3, 0.1e-3, L, C, 0.0, 40e3, ERROR) is None
    assert count_modes(125e3, 0.1e-3, L, C, 0.0, 40e3, ERROR) <= MOST_MODES
