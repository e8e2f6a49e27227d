"""Natural frequencies against closed forms, the peaks of the response, and the ringing of the waveform engine."""

import numpy as np
import pytest
from engines import circuits
from scipy.optimize import brentq

from sim.engines.handover import dead_state, to_waveform
from sim.engines.waveform.engine import WaveformEngine
from sim.network.build import build_network
from sim.phasors.nodal import POSITIVE, ZERO
from sim.studies.scan.resonances import find_gains, find_resonances, scale
from sim.studies.scan.response import find_response
from sim.studies.scan.setting import make_setting, whole_matrix
from sim.studies.scan.states import state_matrix
from studies.arrangements import CABLES, LOSSLESS, breaker, cable, grid, make, motor, node, transformer

STRAY = 1e-9            # farad at every node


def set_up(*tables, slip=None, **study):
    case = make(*tables, **study)
    return make_setting(case, build_network(case), slip)


def shunt(where, name="bank", **more):
    return "shunt", {"name": name, "node": where, **more}


def test_series_circuit():
    """R, L and C by hand: s = -R/2L + j sqrt(1/LC - (R/2L)^2), C with the node's own."""
    setting = set_up(grid(kv=33.0, mva=500.0, x_over_r=8.0), shunt("bus", capacitance_uf=30.0))
    z = 33e3**2 / 500e6
    r = z / np.hypot(1.0, 8.0)
    inductance, c = 8.0 * r / (100.0 * np.pi), 30e-6 + STRAY
    mode, = find_resonances(setting, 20.0, 5000.0)
    rate = 0.5 * r / inductance
    s = -rate + 1j * np.sqrt(1.0 / (inductance * c) - rate**2)
    assert mode.s == pytest.approx(s, rel=1e-10)
    assert mode.quality == pytest.approx(0.5 * abs(s) / rate, rel=1e-9)
    # at its natural frequency the capacitor sees 1/(1 - w^2 LC + j w RC) of the emf
    w = s.imag
    assert mode.gain[0] == pytest.approx(1.0 / (1.0 - w**2 * inductance * c + 1j * w * r * c), rel=1e-9)
    assert mode.participation == pytest.approx([1.0]) and mode.shape == pytest.approx([1.0])


@pytest.mark.parametrize("earthed", [True, False])
def test_zero_sequence_of_a_series_circuit(earthed):
    """The source's zero-sequence reactance and resistance are 3 times its positive ones; an unearthed capacitor is not
    there and leaves the stray."""
    setting = set_up(grid(kv=33.0, mva=500.0, x_over_r=8.0, x0_over_x1=3.0), node("bus", stray_nf=100.0),
                     shunt("bus", capacitance_uf=30.0, earthed=earthed))
    z = 3.0 * 33e3**2 / 500e6
    r = z / np.hypot(1.0, 8.0)
    inductance, c = 8.0 * r / (100.0 * np.pi), 1e-7 + (30e-6 if earthed else 0.0)
    mode, = find_resonances(setting, 20.0, 20e3, ZERO)
    assert mode.frequency_hz == pytest.approx(np.sqrt(1.0 / (inductance * c) - (0.5 * r / inductance) ** 2)
                                              / (2.0 * np.pi), rel=1e-9)
    assert mode.sequence == "zero" and not mode.gain.any()


def test_quarter_waves_of_an_open_line():
    """f = (2 n - 1)/(4 tau) on a stiff source; w Ls tan(w tau) = Zc with its inductance (any text on lines)."""
    _, inductance, c = CABLES[240]
    setting = set_up(grid(mva=1e6, x_over_r=500.0), cable(km=60.0, constants=(LOSSLESS, inductance, c)),
                     node("bus", stray_nf=0.01), node("tail", stray_nf=0.01), cable_error_pu=1e-8)
    modes = find_resonances(setting, 20.0, 5000.0)
    tau, surge = 60.0 * np.sqrt(inductance * 1e-3 * c * 1e-6), np.sqrt(inductance * 1e-3 / (c * 1e-6))
    source = 33e3**2 / 1e12 / (100.0 * np.pi)
    found = [mode.frequency_hz for mode in modes]
    orders = np.arange(1, len(found) + 1)
    assert len(found) == int(2.0 * tau * 5000.0 + 0.5)      # all that lie below, none besides
    # 3.5 uH before 21.6 mH of line, and 10 pF at its end, lengthen it by 1.6e-4 and 1e-6
    assert found == pytest.approx((2.0 * orders - 1.0) / (4.0 * tau), rel=2e-4)

    def miss(w):
        return w * source * np.sin(w * tau) - surge * np.cos(w * tau)
    exact = [brentq(miss, (n - 1.0) * np.pi / tau + 1.0, n * np.pi / tau - 1.0) / (2.0 * np.pi) for n in orders]
    # the stray at the end lengthens the line by 0.01 nF/14.4 uF; X/R = 500 shortens Ls by 2e-6 of it
    assert found == pytest.approx(exact, rel=1e-6)


def test_a_line_rings_down_at_r_over_2l():
    """Damping of standing waves on a line of small loss: R/2L, whatever the order (any text on lines)."""
    r, inductance, c = CABLES[240]
    setting = set_up(grid(mva=1e6, x_over_r=500.0), cable(km=60.0, constants=CABLES[240]), cable_error_pu=1e-8)
    modes = find_resonances(setting, 20.0, 5000.0)
    rates = [-mode.s.real for mode in modes]
    # the source's inductance, 1.6e-4 of the line's, holds that share of the energy without loss, more at high orders
    assert rates == pytest.approx([0.5 * r / (inductance * 1e-3)] * len(modes), rel=3e-3)


FEEDER = (grid(mva=400.0), transformer("bus", "head", 33.0, 33.0, mva=20.0), cable("head", km=40.0,
                                                                                 constants=CABLES[240]),
          transformer("tail", "low", 33.0, 6.6, mva=6.0, name="step"), motor("low"))


SKIN = (*FEEDER[:2], ("cable", {"name": "feeder", "from": "head", "to": "tail", "length_km": 40.0,
                                "conductor_mm2": 240.0, "rated_kv": 36.0}), *FEEDER[3:])


@pytest.mark.parametrize(("tables", "least"), [(FEEDER, 3), (SKIN, 0)])
def test_poles_are_the_peaks(tables, least):
    """Every sharp mode is a peak of the driving point of its worst node, and every sharp peak is a mode.

    A pole alone peaks at its own frequency but for zeta^2/2; what the other modes add at its peak, about 1/Q of it,
    moves the peak by a share of 1/(2 Q) of the half-width.  Broad modes melt into each other and are left out; skin
    effect leaves one sharp mode.
    """
    setting = set_up(*tables)
    modes = find_resonances(setting, 60.0, 5000.0)
    response = find_response(setting, 60.0, 5000.0)
    sharp = [mode for mode in modes if mode.quality > 10.0]
    assert len(sharp) > least
    peaks = set()
    for k in range(len(response.nodes)):
        size = np.abs(response.impedance[:, k, k])
        peaks |= {float(response.frequency[n]) for n in range(1, len(size) - 1) if size[n - 1] < size[n] >= size[n + 1]}
    for mode in sharp:
        k = response.nodes.index(setting.network.node_names[int(np.argmax(mode.participation))])
        size = np.abs(response.impedance[:, k, k])
        near = np.abs(response.frequency / mode.frequency_hz - 1.0) < 1.0 / mode.quality
        peak = response.frequency[near][np.argmax(size[near])]
        assert peak == pytest.approx(mode.frequency_hz, rel=0.25 / mode.quality)
    for peak in peaks:
        assert min(abs(mode.frequency_hz / peak - 1.0) * mode.quality for mode in modes) < 0.5


def test_a_mode_solves_the_nodal_equations():
    """Y(s) v = 0 with the matrix of the engines: to rounding of the terms that cancel."""
    setting = set_up(*FEEDER)
    for row in (POSITIVE, ZERO):
        modes = find_resonances(setting, 60.0, 5000.0, row)
        assert modes
        for mode in modes:
            matrix = scale(setting, whole_matrix(setting, mode.s, row))
            assert np.abs(matrix @ mode.shape).max() < 1e-7 * (np.abs(matrix) @ np.abs(mode.shape)).max()
            assert mode.participation.sum() == pytest.approx(1.0, abs=1e-12)


def test_residue_gives_the_participation():
    """Near a pole the driving point of each node, per unit, is in proportion to its participation."""
    setting = set_up(*FEEDER)
    mode = max(find_resonances(setting, 60.0, 5000.0), key=lambda mode: mode.quality)
    near = mode.s * (1.0 + 1e-6)
    residues = np.abs(np.diag(np.linalg.inv(scale(setting, whole_matrix(setting, near)))))
    assert residues / residues.sum() == pytest.approx(mode.participation, abs=1e-3)   # rest: distance over half-width


def test_flux_of_a_cage_is_no_resonance():
    """It turns with the rotor just below 50 Hz and is an eigenvalue of the network, not a mode of the list."""
    setting = set_up(*FEEDER)
    found = np.linalg.eigvals(state_matrix(setting))
    turning = found[np.abs(found.imag - setting.rotor[0]) < 0.1 * setting.rotor[0]]
    assert len(turning) and (-turning.real < 0.5 * np.abs(turning)).all()
    assert all(mode.frequency_hz > 60.0 for mode in find_resonances(setting, 20.0, 5000.0))


def test_what_circulates_between_equal_cables_is_left_out():
    """Two equal cables are one of half the impedance; their own loop, in which both ends are still, is seen by none."""
    r, inductance, c = CABLES[240]
    pair = set_up(grid(mva=400.0), cable(km=40.0, constants=CABLES[240]), cable(km=40.0, constants=CABLES[240],
                                                                              name="spare"), cable_error_pu=1e-8)
    single = set_up(grid(mva=400.0), cable(km=40.0, constants=(r / 2.0, inductance / 2.0, 2.0 * c)),
                    cable_error_pu=1e-8)
    both = [[mode.s for mode in find_resonances(setting, 20.0, 5000.0)] for setting in (pair, single)]
    # the number of oscillators differs: each is right to 1e-8 of a transfer's peak
    assert len(both[0]) == len(both[1]) and both[0] == pytest.approx(both[1], rel=1e-6)
    found = np.linalg.eigvals(state_matrix(pair))
    assert np.count_nonzero((found.imag > 100.0) & (found.imag < 1e4 * np.pi)) > len(both[0])


def test_a_closed_breaker_joins_and_an_open_one_parts():
    """50 microohm beside ohms; behind an open breaker a cable rings by itself and no source drives it."""
    whole = set_up(grid(mva=400.0), cable("bus", km=40.0), node("bus", stray_nf=2.0))
    closed = set_up(grid(mva=400.0), breaker("bus", "head"), cable("head", km=40.0))
    s = [[mode.s for mode in find_resonances(setting, 20.0, 2000.0)] for setting in (whole, closed)]
    assert s[1] == pytest.approx(s[0], rel=1e-6)
    assert len(s[0]) == 2
    opened = set_up(grid(mva=400.0), breaker("bus", "head", closed=False), cable("head", km=40.0))
    modes = find_resonances(opened, 20.0, 2000.0)
    # open at both ends: half waves, 1/(2 tau) apart; 1 nF at each end of 7.2 uF lengthen by 2.8e-4
    tau = 40.0 * np.sqrt(0.41e-3 * 0.18e-6)
    assert [mode.frequency_hz for mode in modes] == pytest.approx(
        np.arange(1, len(modes) + 1) / (2.0 * tau), rel=5e-3)       # the loss of 0.246 ohm/km pulls the first by 0.3 %
    assert len(modes) == 1 and modes[0].source == -1 and not modes[0].gain.any()


def test_a_filter_without_inductance_is_no_state_of_its_own():
    """R-C string beside a grid: the roots of the third-order polynomial by hand."""
    setting = set_up(grid(kv=33.0, mva=500.0, x_over_r=8.0), shunt("bus", capacitance_uf=10.0),
                     shunt("bus", name="damper", connection="series", resistance_ohm=30.0, capacitance_uf=40.0))
    z = 33e3**2 / 500e6
    r = z / np.hypot(1.0, 8.0)
    inductance, c, rd, cd = 8.0 * r / (100.0 * np.pi), 10e-6 + STRAY, 30.0, 40e-6
    # (1 + s rd cd)(1 + s c (r + s L)) + s cd (r + s L) = 0
    polynomial = np.polyadd(np.polymul([rd * cd, 1.0], [c * inductance, c * r, 1.0]), [cd * inductance, cd * r, 0.0])
    roots = np.roots(polynomial)
    mode, = find_resonances(setting, 20.0, 5000.0)
    assert mode.s == pytest.approx(roots[roots.imag > 1.0][0], rel=1e-9)


def list_poles(signal, step, order):
    """Complex frequencies in a sum of damped oscillations, from the shift of its signal subspace.

    R. Roy, T. Kailath, *ESPRIT*, IEEE Transactions on Acoustics, Speech and Signal Processing 37 (1989) 984 (from
    memory, to be checked).
    """
    half = len(signal) // 2
    hankel = np.lib.stride_tricks.sliding_window_view(signal, half)
    basis = np.linalg.svd(hankel.T, full_matrices=False)[0][:, :order]
    return np.log(np.linalg.eigvals(np.linalg.lstsq(basis[:-1], basis[1:])[0])) / step


CONSTANT = {"resistance_ohm_per_km": 0.096, "inductance_mh_per_km": 0.36, "capacitance_uf_per_km": 0.24}
BUILT = {"resistance_ohm_per_km": None, "inductance_mh_per_km": None, "capacitance_uf_per_km": None,
         "conductor_mm2": 240, "rated_kv": 36.0}       # skin effect, screens and return path by Foster branches


@pytest.mark.parametrize(("constants", "row", "speed"), [
    (CONSTANT, POSITIVE, 0.0), (CONSTANT, POSITIVE, 1.0), (BUILT, POSITIVE, 1.0),
    (CONSTANT, ZERO, 1.0), (BUILT, ZERO, 1.0)])
def test_the_waveform_engine_rings_at_the_first_resonance(constants, row, speed):
    """A charge on the far end of a feeder, its motor at standstill or at rated speed, the source short-circuited.

    The method's own error at w h = 0.008 is (w h)^2/25 of the frequency, 3e-6 (at 0.01 in the zero sequence 4e-6), and
    no more than that of w in the damping, which is 1.5 % of w: 2e-4.  The fit of 40 poles to 500 samples agrees with
    itself to 1e-8, with 20 poles more and whether it begins at 4 or at 10 ms.
    Both sequences ring in a space vector: the positive one is compared.
    """
    case, network = circuits.build(
        circuits.grid(kv=33.0, mva=400.0), circuits.transformer("bus", "head", 33.0, 33.0, rated_mva=20.0),
        circuits.cable("head", km=40.0, **constants),
        circuits.transformer("tail", "low", 33.0, 6.6, name="step", rated_mva=6.0),
        circuits.machine("low", kv=6.6, inertia=1e5), bandwidth_khz=2.0)
    network.tables.sources.volts[:] = 0.0
    setting = make_setting(case, network, None if speed else 1.0)
    state, at = to_waveform(network, dead_state(network)), network.node_names.index("tail")
    state.x[0 if row == POSITIVE else 2, at] = 1e3
    state.speed[:] = setting.rotor / network.tables.machines.pairs
    run = circuits.run_waveform(network, 0.1, 4e-6, stride=50, state=state,
                                engine=WaveformEngine(network, 4e-6, 50))
    alpha, beta, zero = np.moveaxis(run.samples.v[run.t > 0.004, :, at], 1, 0)
    poles = list_poles(alpha + 1j * beta if row == POSITIVE else zero, run.t[1] - run.t[0], 40)
    first = find_resonances(setting, 60.0, 2000.0, row)[0]
    nearest = poles[np.argmin(np.abs(poles - first.s))]
    assert nearest.imag == pytest.approx(first.s.imag, rel=1e-5)
    assert nearest.real == pytest.approx(first.s.real, rel=3e-4)


def test_gain_of_a_drive_counts_from_its_rated_voltage():
    from studies.arrangements import drive

    setting = set_up(drive(kv=3.3), cable(km=1.0))
    gains = find_gains(setting, 1j, 0)          # far below everything: what is behind the impedance is at the node
    assert np.abs(gains) == pytest.approx(np.ones(len(gains)), rel=1e-3)
