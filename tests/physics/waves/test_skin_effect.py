"""Cables whose impedance depends on frequency: both engines against exact two-ports and a Laplace inversion.

The branches are the product's own fit; that they follow the Bessel functions is checked in tests/params.
Here: what a network makes of them.
"""

import mpmath
import numpy as np
import pytest
from engines.circuits import build, grid, make_constant, make_ideal, node, run_waveform, steady_envelope, write

from sim.engines.handover import to_waveform
from sim.params.cable.modes import exact_two_port
from sim.phasors.nodal import cable_admittance, nodal_matrix

STEP = 1000.0
R_SOURCE, L_SOURCE, KM = 5.0, 2e-3, 30.0
ERROR = 1e-4        # study.cable_error_pu, of each transfer's peak


def built_cable(km=KM, sections=None):
    text = write("[[cable]]", name="line", from_="bus", to="tail", length_km=None if sections else km,
                 conductor_mm2=240, voltage_class_kv=36)
    return text + "".join(write("[[cable.section]]", **section) for section in sections or ())


def make_network(sections=None, **settings):
    case, network = build(grid(mva=1e5, kv=33.0), node("bus", stray_nf=0.01), node("tail", stray_nf=0.01),
                          built_cable(sections=sections), **settings)
    make_ideal(network, resistance=R_SOURCE, inductance=L_SOURCE)
    return case, network


def series(line, s):
    branches = zip(line.branch_resistance_ohm_per_m, line.branch_inductance_h_per_m)
    return line.resistance_ohm_per_m + s * line.inductance_h_per_m + sum(s * l * r / (r + s * l) for r, l in branches)


def exact_response(case, times):
    """Open-end voltage behind R + L after a step, by de Hoog's inversion; chain matrices of the sections multiply."""
    def transform(s):
        source = R_SOURCE + s * L_SOURCE
        total = mpmath.matrix([[1, source], [0, 1]])
        for section in case.cables[0].sections:
            z, y = series(section.positive, s), s * section.positive.capacitance_f_per_m
            angle, surge = mpmath.sqrt(z * y) * section.length_m, mpmath.sqrt(z / y)
            total = total * mpmath.matrix([[mpmath.cosh(angle), surge * mpmath.sinh(angle)],
                                           [mpmath.sinh(angle) / surge, mpmath.cosh(angle)]])
        return STEP / s / total[0, 0]

    return np.array([float(mpmath.invertlaplace(transform, t, method="dehoog", degree=30)) for t in times])


def test_built_cable_has_branches():
    case, network = make_network()
    line = case.cables[0].sections[0].positive
    assert len(line.branch_resistance_ohm_per_m) >= 2
    assert network.tables.cables.alpha.shape[1] == max(
        len(getattr(case.cables[0].sections[0], sequence).branch_resistance_ohm_per_m)
        for sequence in ("positive", "zero"))


@pytest.mark.parametrize("row, sequence", [(0, "positive"), (1, "zero")])
def test_oscillators_with_branches_are_the_exact_two_port(row, sequence):
    """Up to the bandwidth, to the error the study asks for (relative to the peak of each transfer)."""
    case, network = make_network()
    section = case.cables[0].sections[0]
    line = getattr(section, sequence)
    branches = list(zip(line.branch_resistance_ohm_per_m, line.branch_inductance_h_per_m))
    s = 2j * np.pi * np.linspace(20.0, network.bands.cable[0], 60)
    cosh, z_sinh, _ = exact_two_port(s, section.length_m, line.resistance_ohm_per_m, line.inductance_h_per_m,
                                     line.capacitance_f_per_m, 0.0, branches)
    got = np.array([cable_admittance(network.tables, 0, at, row) for at in s])
    ends = network.tables.cables.end_c[row, 0] * s
    got[:, 0, 0] += ends
    got[:, 1, 1] += ends
    assert np.abs(-got[:, 1, 0] / got[:, 1, 1] - 1.0 / cosh).max() < ERROR * np.abs(1.0 / cosh).max()
    assert np.abs(got[:, 0, 0] - cosh / z_sinh).max() < ERROR * np.abs(cosh / z_sinh).max()


SECTIONS = [{"length_km": 2.0, "temperature_degc": 20.0}, {"length_km": 25.0},
            {"length_km": 3.0, "conductor_mm2": 150}]


@pytest.mark.parametrize("sections", [None, SECTIONS], ids=["uniform", "sections"])
@pytest.mark.parametrize("bandwidth, step, most", [(5.0, 4e-6, 1e-2), (20.0, 1e-6, 2e-3)])
def test_step_follows_its_laplace_transform(sections, bandwidth, step, most):
    """As in test_line.py: kinks of the fronts hold frequencies above the bandwidth, the error falls with it."""
    case, network = make_network(sections, bandwidth_khz=bandwidth)
    make_constant(network, STEP)
    travel = sum(part.length_m * np.sqrt(part.positive.inductance_h_per_m * part.positive.capacitance_f_per_m)
                 for part in case.cables[0].sections)
    times = travel * np.array([1.6, 2.2, 2.8, 3.6, 4.6, 6.0])
    run = run_waveform(network, 6.2 * travel, step)
    got = np.interp(times, run.t, run.v[:, network.node_names.index("tail"), 0])
    assert np.abs(got - exact_response(case, times)).max() < most * STEP


def test_steady_state_stays_in_both_engines():
    """A run that starts in the phasor solution stays there: 20 ms of waveform steps turn, they do not drift."""
    _, network = make_network()
    state = steady_envelope(network)
    before = np.abs(state.x[:2]).copy()
    run = run_waveform(network, 0.02, 4e-6, state=to_waveform(network, state))
    after = np.hypot(run.state.x[0, :2], run.state.x[1, :2])
    np.testing.assert_allclose(after, before, rtol=1e-5)        # order two: (w h)^2/12 a radian


def test_nodal_matrix_and_state_agree():
    """Branch currents of the phasor solution leave no current at the nodes."""
    _, network = make_network()
    s = 1j * np.array([100.0 * np.pi])
    y = nodal_matrix(network, s, network.closed)
    state = steady_envelope(network)
    v = state.x[:2]
    source = network.tables.sources.volts[0] / (R_SOURCE + s[0] * L_SOURCE)
    assert abs((y @ v)[1]) < 1e-9 * abs(source)
    assert abs((y @ v)[0]) == pytest.approx(abs(source), rel=1e-9)
