"""Pulse patterns: step averages against dense comparison, and their spectra against double Fourier series."""

import numpy as np
import pytest
from scipy.special import jv

from sim.kernels.columns import PULSE_COLUMNS, PULSE_DEAD, PULSE_HZ, PULSE_LEVELS, PULSE_PHASE, PULSE_THIRD
from sim.kernels.control.pulses import bridge_average, dead_time_loss, leg_share

RATIO = 21                      # carriers in a period: an odd multiple of three, so that one period is enough
HZ = 50.0


def pattern(levels, third=0.0, dead=0.0, hz=RATIO * HZ, phase=0.0):
    row = np.zeros(PULSE_COLUMNS)
    row[[PULSE_LEVELS, PULSE_HZ, PULSE_PHASE, PULSE_THIRD, PULSE_DEAD]] = levels, hz, phase, third, dead
    return row


def averages(row, m, steps=4200, angle=0.0, out=1.0):
    """Averages of one leg over every step of a period."""
    h, w = 1.0 / HZ / steps, 2.0 * np.pi * HZ
    return np.array([leg_share(row, m, angle + w * k * h, w, out, k * h, h) for k in range(steps)])


def harmonics(values, orders):
    """Peak amplitudes of orders, the averaging over a step undone: a mean over h is sin(x)/x of the wave."""
    parts = np.fft.fft(values) / len(values)
    sinc = np.sinc(np.asarray(orders) / len(values))
    return 2.0 * np.abs(parts[orders]) / sinc


def test_averages_against_a_dense_comparison():
    """A million comparisons a period, summed over each step."""
    row, m, fine, steps = pattern(2, phase=0.7), 0.83, 1_000_000, 100
    t = (np.arange(fine) + 0.5) / fine / HZ
    x = RATIO * HZ * t + 0.7 / (2.0 * np.pi)
    saw = 4.0 * np.abs(x % 1.0 - 0.5) - 1.0
    dense = np.where(m * np.cos(2.0 * np.pi * HZ * t) > saw, 1.0, -1.0).reshape(steps, -1).mean(axis=1)
    assert averages(row, m, steps) == pytest.approx(dense, abs=1e-3)        # an edge is known to 1e-4 of a step there


@pytest.mark.parametrize("levels", (2, 3, -3))
@pytest.mark.parametrize("dead", (0.0, 8e-6))
def test_volt_seconds_do_not_depend_on_the_step(levels, dead):
    """The sum over all steps of a period is the same for 100, 1000 and 4000 steps."""
    sums = [averages(pattern(levels, 1.0 / 6.0, dead), 0.9, steps)[:steps // 4 * 2].sum() / steps
            for steps in (100, 1000, 4000)]
    assert np.ptp(sums) < 1e-9


# D. G. Holmes, T. A. Lipo, chapter 3 (from memory): a naturally sampled leg has at m carriers and n fundamentals the
# amplitude |4/(m pi) J_n(m pi M/2) sin((m + n) pi/2)|
SIDEBANDS = [(1, 0), (1, 2), (1, -2), (1, 4), (2, 1), (2, -1), (2, 3), (2, 5), (3, 0), (3, 2), (3, 4), (4, 1)]


@pytest.mark.parametrize("depth", (0.2, 0.6, 1.0))
def test_two_level_spectrum_against_bessel_functions(depth):
    """Each harmonic within 0.5 % of the fundamental; sidebands of neighbouring carriers that meet are added."""
    found = harmonics(averages(pattern(2), depth), np.arange(1, 4 * RATIO + 8))
    assert found[0] == pytest.approx(depth, rel=1e-4)
    for carriers, n in SIDEBANDS:
        order = carriers * RATIO + n
        total = sum(4.0 / (k * np.pi) * jv(order - k * RATIO, k * np.pi * depth / 2.0)
                    * np.sin((k + order - k * RATIO) * np.pi / 2.0) for k in range(1, 9))
        assert found[order - 1] == pytest.approx(abs(total), abs=0.005 * depth), (carriers, n)


# the same table by brute force, three levels in phase disposition, amplitudes in units of half the direct voltage
THREE = {0.8: {(1, 0): 0.4628, (1, 2): 0.0229, (1, 4): 0.0936, (2, 1): 0.1052, (2, 3): 0.1147, (2, 5): 0.0842},
         1.0: {(1, 0): 0.3297, (1, 2): 0.0958, (1, 4): 0.1071, (2, 1): 0.0676, (2, 3): 0.0093, (2, 5): 0.1187}}


@pytest.mark.parametrize("depth", THREE)
def test_three_level_spectrum(depth):
    """Against values from a fast Fourier transform with 201 carriers a period, where sidebands do not meet."""
    ratio = 201
    found = harmonics(averages(pattern(3, hz=ratio * HZ), depth, 20100), np.arange(1, 3 * ratio))
    assert found[0] == pytest.approx(depth, rel=1e-3)
    for (carriers, n), size in THREE[depth].items():
        assert found[carriers * ratio + n - 1] == pytest.approx(size, abs=0.005 * depth), (carriers, n)


@pytest.mark.parametrize("levels, depth, distortion", [(2, 0.4, 163.6), (2, 0.8, 91.5), (2, 1.0, 68.6),
                                                       (3, 0.4, 91.5), (3, 0.8, 42.1), (3, 1.0, 35.3)])
def test_distortion_between_lines(levels, depth, distortion):
    """THD of the line-to-line voltage within 1 %: the share of the square mean beyond the fundamental."""
    steps, w = 20100, 2.0 * np.pi * HZ
    row, h = pattern(levels, hz=201 * HZ), 1.0 / HZ / 20100
    legs = [np.array([leg_share(row, depth, a + w * k * h, w, 1.0, k * h, h) for k in range(steps)])
            for a in (0.0, -2.0 * np.pi / 3.0)]
    between = legs[0] - legs[1]
    # a step that holds an edge is not at full height: its square mean is that of the levels it lies between
    low = np.floor(between * (1 if levels == 3 else 0.5)) / (1 if levels == 3 else 0.5)
    high = low + (1.0 if levels == 3 else 2.0)
    square = np.mean(low**2 + (between - low) / (high - low) * (high**2 - low**2))
    first = np.sqrt(3.0) * depth / np.sqrt(2.0)
    assert 100.0 * np.sqrt(square / first**2 - 1.0) == pytest.approx(distortion, rel=0.01)


def test_third_harmonic_extends_the_linear_range():
    """One sixth of it allows 2/sqrt(3) of the fundamental before the reference passes the carrier's top (Holmes, Lipo,
    chapter 5); without it the fundamental falls behind."""
    most = 2.0 / np.sqrt(3.0)
    with_third, without = (harmonics(averages(pattern(2, third, hz=201 * HZ), most), np.array([1]))[0]
                           for third in (1.0 / 6.0, 0.0))
    assert with_third == pytest.approx(most, rel=2e-3) and without < 0.98 * most


def test_cells_push_the_first_sidebands_to_twice_their_number():
    """Three cells: nothing around carriers 1 to 5, sidebands around 6 (Holmes, Lipo, chapter 8)."""
    found = harmonics(averages(pattern(-3), 0.8, 12600), np.arange(1, 7 * RATIO))
    assert found[0] == pytest.approx(0.8, rel=1e-3)
    assert found[RATIO - 6:5 * RATIO + 5].max() < 0.004
    assert found[6 * RATIO - 6:6 * RATIO + 6].max() > 0.05


def test_cells_in_series_add_up_to_half_the_direct_voltage():
    """Three cells of 1 V give each phase whole volts from -3 to 3, hence a direct voltage of 6 V."""
    row, direct, asked = pattern(-3), 6.0, np.sqrt(1.5) * 3.0
    steps, w = 40_000, 2.0 * np.pi * HZ
    h = 1.0 / HZ / steps
    parts = [bridge_average(row, asked, w * k * h, w, direct, 0.0j, k * h, h) for k in range(steps)]
    phase = np.array([np.sqrt(2.0 / 3.0) * vector.real + zero / np.sqrt(3.0) for vector, zero in parts])
    whole = np.abs(phase - np.round(phase)) < 1e-9
    assert whole.mean() > 0.99 and set(np.round(phase[whole])) == set(range(-3, 4))
    assert harmonics(phase, np.array([1]))[0] == pytest.approx(3.0, rel=1e-3)


@pytest.mark.parametrize("out", (1.0, -1.0))
def test_dead_time_costs_its_volt_seconds(out):
    """One edge of each carrier period is delayed: the mean falls by T fc Vdc for a current out of the leg and rises by
    it for one into it (any text on drives), 2 T fc in units of half the direct voltage."""
    ideal, real = (averages(pattern(2, dead=dead), 0.5, out=out).mean() for dead in (0.0, 10e-6))
    assert real - ideal == pytest.approx(-out * 2.0 * 10e-6 * RATIO * HZ, rel=1e-6)


def stood(gate, samples):
    """Where a gate signal of one period has stood for so many samples before, too."""
    total = np.concatenate([[0], np.cumsum(np.concatenate([gate[-samples:], gate]))])
    return total[samples + 1:] - total[:-samples - 1] == samples + 1


def switch_leg(asked, dead_samples, out):
    """A leg of two switches with diodes, 1 high and 0 low: each conducts once asked for as long as the dead time;
    while neither does, the current flows through the lower diode when it leaves the leg and the upper when it enters.
    """
    upper, lower = stood(asked, dead_samples), stood(~asked, dead_samples)
    return np.where(upper, 1.0, np.where(lower, 0.0, 0.0 if out > 0.0 else 1.0))


@pytest.mark.parametrize("out", (1.0, -1.0))
@pytest.mark.parametrize("dead", (5e-6, 20e-6))
@pytest.mark.parametrize("levels", (2, 3, -3))
def test_pulses_shorter_than_the_dead_time_are_lost_and_no_more(levels, dead, out):
    """Switches and diodes sample by sample, two million a period; at 0.999 of the range the pulses at the crest are
    shorter than the dead time.  2e-3: an edge is known to 1e-3 of a step there, and a step holds two at most."""
    depth, fine, steps = 0.999, 2_000_000, 2000
    t, samples = (np.arange(fine) + 0.5) / fine / HZ, round(dead * HZ * fine)
    wave = depth * np.cos(2.0 * np.pi * HZ * t)

    def leg(reference, centre, height, shift, current):
        triangle = 4.0 * np.abs((RATIO * HZ * t + shift) % 1.0 - 0.5) - 1.0
        return switch_leg(reference > centre + height * triangle, samples, current)

    if levels == 2:
        volts = 2.0 * leg(wave, 0.0, 1.0, 0.0, out) - 1.0
    elif levels == 3:
        volts = leg(wave, 0.5, 0.5, 0.0, out) + leg(wave, -0.5, 0.5, 0.0, out) - 1.0
    else:
        volts = sum(leg(wave, 0.0, 1.0, k / 6.0, out) - leg(-wave, 0.0, 1.0, k / 6.0, -out) for k in range(3)) / 3.0
    found = averages(pattern(levels, dead=dead), depth, steps, out=out)
    assert found == pytest.approx(volts.reshape(steps, -1).mean(axis=1), abs=2e-3)
    assert np.abs(found).max() < 1.0 + 1e-9


def test_bridge_gives_the_space_vector_asked_for():
    """Over a period the average of vector times exp(-j w t) is the fundamental: V at its angle; no zero sequence is
    left on average."""
    steps, w = 2100, 2.0 * np.pi * HZ
    h, row = 1.0 / HZ / steps, pattern(2)
    parts = [bridge_average(row, 3300.0, 0.4 + w * k * h, w, 6000.0, 0.0j, k * h, h) for k in range(steps)]
    vector = np.mean([v * np.exp(-1j * w * (k + 0.5) * h) for k, (v, _) in enumerate(parts)])
    assert vector == pytest.approx(3300.0 * np.exp(0.4j), rel=2e-3)
    assert np.mean([zero for _, zero in parts]) == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("levels", (2, 3, -3))
@pytest.mark.parametrize("lag", (0.0, 0.6, -1.0))
def test_mean_loss_of_a_dead_time_is_the_fundamental_that_delayed_edges_take(levels, lag):
    """Against the pattern itself, three legs over a period.

    A sign change of the current meets the next edge up to a carrier period late, 2 pi/201 rad of the loss.
    """
    volts, direct, hz, amps = 5000.0, 9000.0, 201 * HZ, 700.0
    w, steps = 2.0 * np.pi * HZ, 12060
    h = 1.0 / HZ / steps
    found = [0.0j, 0.0j]
    for k in range(steps):
        angle = w * k * h
        current = amps * np.exp(1j * (angle + 0.5 * w * h - lag))
        for n, dead in enumerate((0.0, 5e-6)):
            row = pattern(levels, 1.0 / 6.0, dead, hz)
            vector, _ = bridge_average(row, volts, angle, w, direct, current, k * h, h)
            found[n] += vector * np.exp(-1j * (angle + 0.5 * w * h)) / steps
    loss = dead_time_loss(pattern(levels, 1.0 / 6.0, 5e-6, hz), direct, 1e-3, amps * np.exp(-1j * lag))
    assert abs(found[0] - found[1] - loss) < 2.0 * np.pi / 201 * abs(loss)


def test_the_loss_fades_around_no_current():
    """Half-way at 1/sqrt(3) of a hundredth of rated current, nothing at none, and always along the current."""
    row, rated = pattern(2, 0.0, 5e-6), 400.0
    full = abs(dead_time_loss(row, 9000.0, rated, 1e6 + 0j))
    assert dead_time_loss(row, 9000.0, rated, 0j) == 0.0
    assert abs(dead_time_loss(row, 9000.0, rated, 0.01j * rated)) == pytest.approx(0.5 * full, rel=1e-9)
    assert full == pytest.approx(np.sqrt(1.5) * 4.0 / np.pi * 5e-6 * RATIO * HZ * 9000.0, rel=1e-6)
