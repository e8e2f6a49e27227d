"""The line closed pole by pole against series of waves, the exact two-port and a ladder of sections."""

import numpy as np
import pytest
from scipy.linalg import expm

from . import line, switching, three_phase, three_pole_line

STEP = 1e-6
WAVES = three_pole_line.Waves(110.0, 340, 48.0, 200)
ALIKE = three_pole_line.Waves(48.0, 200, 48.0, 200)
W = 100.0 * np.pi
TURNS = np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0
ALL = np.zeros(3)


def sines(t):
    return np.sin(W * t + TURNS)


def test_uncoupled_phases_follow_the_series_of_waves():
    closings = np.array([0.0, 700e-6, 1900e-6])
    charge = (0.0, -1.0, 0.6)
    ends = three_pole_line.energise(ALIKE, STEP, 5000, sines, closings, charge)
    for k in range(3):
        exact = switching.open_end_voltage(ends.t - closings[k], 200e-6, charge[k],
                                           lambda time, k=k: np.sin(W * (time + closings[k]) + TURNS[k]))
        edge = np.abs((ends.t - closings[k]) / 200e-6 % 2.0 - 1.0) < 1e-4          # on a front itself either is right
        assert np.abs(ends.far[~edge, k] - exact[~edge]).max() < 1e-9


def test_load_gives_the_lattice():
    ends = three_pole_line.energise(ALIKE, STEP, 2400, lambda t: np.ones(3), ALL, load=70.0)
    _, far = line.lattice(1.0, 48.0, 0.0, 70.0, 5)
    for k, plateau in enumerate(far):
        assert ends.far[(2 * k + 2) * 200, 1] == pytest.approx(plateau, rel=1e-12)


def as_lines():
    """The two sequences as uniform lines of 20 km."""
    return [line.Line(0.0, z * n * STEP / 20e3, n * STEP / z / 20e3, 20e3)
            for z, n in ((110.0, 340), (48.0, 200))]


def test_single_pole_agrees_with_the_two_port():
    """Phase a on a sine of angle zero, b and c open: a ramp, no jump, which Fourier series invert well.

    Two numbers of terms agree to 1e-4 of the crest; the steps themselves are exact.
    """
    t = np.array([0.41e-3, 0.9e-3, 1.53e-3, 2.22e-3])
    parts = as_lines()

    def image(s, phase):
        chain = [line.chain_matrix(part, s) for part in parts]
        y = [c / a for a, _, c, _ in chain]                                 # far end open
        z = [1.0 / y[0], 1.0 / y[1]]
        own, mutual = (z[0] + 2.0 * z[1]) / 3.0, (z[0] - z[1]) / 3.0        # phase impedances seen at the near end
        i = line.cosine(s, 50.0, -0.5 * np.pi) / own
        near = [own * i, mutual * i, mutual * i]
        zero = sum(near) / 3.0 / chain[0][0]
        return zero + (near[phase] - sum(near) / 3.0) / chain[1][0]

    ends = three_pole_line.energise(WAVES, STEP, 2300, lambda t: np.sin(W * t) * np.ones(3),
                                    np.array([0.0, np.inf, np.inf]))
    for phase in (0, 1):
        expected = line.invert(lambda s, phase=phase: image(s, phase), t, terms=20000)
        assert ends.far[np.round(t / STEP).astype(int), phase] == pytest.approx(expected, abs=2e-4)


def ladder(closings, t, sections=60):
    """Time integrals of the far voltages by a ladder of sections, phases coupled, exact in time between closings."""
    n = sections + 1
    l, c = (three_phase.phase_matrix(*(getattr(part, name) * 20e3 / sections for part in as_lines())).real
            for name in ("inductance", "capacitance"))
    shunt = np.kron(np.diag(np.r_[0.5, np.ones(n - 2), 0.5]), c)
    series = np.kron(np.eye(sections), l)
    into = np.kron(np.eye(n)[:, 1:] - np.eye(n)[:, :-1], np.eye(3))        # section k ends in node k + 1
    size, dt = 3 * (n + sections), t[1] - t[0]
    state, integral, out, steps = np.zeros(size), np.zeros(3), [], {}
    for time in t:
        on = np.asarray(closings) <= time + 1e-9
        if on.tobytes() not in steps:
            steps[on.tobytes()] = _ladder_step(shunt, series, into, on, dt)
        step, fed = steps[on.tobytes()]
        state[:3][on] = 1.0
        out.append(integral.copy())
        before = state[3 * sections:3 * n].copy()
        state = step @ state + fed
        integral = integral + 0.5 * dt * (before + state[3 * sections:3 * n])
    return np.array(out)


def _ladder_step(shunt, series, into, on, dt):
    """One step with the closed phases of the first node held at 1 V."""
    nodes, held = len(shunt), np.flatnonzero(on)
    free = np.setdiff1d(np.arange(nodes), held)
    size = nodes + len(series)
    a = np.zeros((size + 1, size + 1))
    a[np.ix_(free, np.arange(nodes, size))] = np.linalg.solve(shunt[np.ix_(free, free)], into[free])
    a[nodes:size, :nodes] = -np.linalg.solve(series, into.T)
    whole = expm(a * dt)
    return whole[:size, :size], whole[:size, size]


def test_poles_one_after_the_other_agree_with_a_ladder():
    """1 V direct on all phases in turn, induced voltages included.  A ladder rings behind every front; the integral
    of the far voltages over time hardly sees it: off by 6.4e-3, 2.9e-3, 2.0e-3 of 1 V for 30, 60, 120 sections."""
    closings = np.array([0.0, 520e-6, 1240e-6])
    ends = three_pole_line.energise(WAVES, STEP, 2600, lambda t: np.ones(3), closings)
    exact = np.vstack([np.zeros(3), np.cumsum(0.5 * STEP * (ends.far[1:] + ends.far[:-1]), axis=0)])
    t = ends.t[::4]
    assert np.abs(ladder(closings, t) - exact[::4]).max() < 4e-3 * t[-1]


def test_open_phases_take_what_is_induced():
    """First wave of phase a alone: the ratio of mutual to own surge impedance on b and c."""
    ends = three_pole_line.energise(WAVES, STEP, 100, lambda t: np.ones(3), np.array([0.0, np.inf, np.inf]))
    expected = (110.0 - 48.0) / (110.0 + 2.0 * 48.0)
    assert ends.near[50] == pytest.approx([1.0, expected, expected], rel=1e-12)
