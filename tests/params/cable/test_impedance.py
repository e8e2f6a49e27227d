"""Impedances of a cable against high-precision arithmetic, closed limits, IEC 60287 and field solutions."""

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference.sheathed_trefoil import find_inductance
from scipy.special import jv

from sim.params.cable import iec60287
from sim.params.cable import impedance as ci

MU = 4e-7 * np.pi
COPPER, LEAD, STEEL = 2.2e-8, 2.6e-7, 2.4e-7      # warm [ohm m]
FREQUENCY = np.array([0.1, 1.0, 16.7, 50.0, 400.0, 3e3, 20e3, 100e3])
S = 2j * np.pi * FREQUENCY
EXACT = 1e-6                # asked of the Bessel functions over the band
RADIUS, SPACING = 9.1e-3, 43e-3
SHEATH = ci.Tube(19.3e-3, 21.3e-3, LEAD)
ARMOUR = ci.Tube(48e-3, 53e-3, STEEL, 10.0)
SECTION = ci.CrossSection(RADIUS, COPPER, SHEATH, SPACING, 2e-3 / LEAD, ARMOUR, 56e-3, True)


def high_precision(formula, s):
    """Values of a formula at complex angular frequencies, at 30 digits; the last axis is the frequency."""
    with mpmath.workdps(30):
        return np.array([np.array(formula(mpmath.mpc(each)), dtype=complex) for each in s]).T


def solid_exact(s, radius, resistivity, permeability=1.0):
    def formula(each):
        m = mpmath.sqrt(each * MU * permeability / resistivity)
        ratio = mpmath.besseli(0, m * radius) / mpmath.besseli(1, m * radius)
        return resistivity * m / (2 * mpmath.pi * radius) * ratio
    return high_precision(formula, s)


def tube_exact(s, tube):
    """Schelkunoff's three impedances as printed, without scaling."""
    def formula(each):
        m = mpmath.sqrt(each * MU * tube.permeability / tube.resistivity)
        b, c, i, k = m * tube.inner, m * tube.outer, mpmath.besseli, mpmath.besselk
        below = i(1, c) * k(1, b) - i(1, b) * k(1, c)
        inner = m / (2 * mpmath.pi * tube.inner) * (i(0, b) * k(1, c) + k(0, b) * i(1, c)) / below
        outer = m / (2 * mpmath.pi * tube.outer) * (i(0, c) * k(1, b) + k(0, c) * i(1, b)) / below
        return [tube.resistivity * z for z in (inner, outer, 1 / (2 * mpmath.pi * tube.inner * tube.outer) / below)]
    return high_precision(formula, s)


@pytest.mark.parametrize("radius", [3e-3, 9.1e-3, 28e-3])
@pytest.mark.parametrize("permeability", [1.0, 300.0])
def test_solid_conductor_against_high_precision(radius, permeability):
    found = ci.solid_impedance(S, radius, COPPER, permeability)
    assert np.abs(found / solid_exact(S, radius, COPPER, permeability) - 1.0).max() < EXACT


@pytest.mark.parametrize("tube", [SHEATH, ARMOUR, ci.Tube(16e-3, 16.16e-3, COPPER), ci.Tube(5e-3, 30e-3, COPPER)])
def test_tube_against_high_precision(tube):
    for found, exact in zip(ci.tube_impedances(S, tube), tube_exact(S, tube)):
        strong = np.abs(exact) > 1e-250                                   # below, the transfer is nothing
        assert np.abs(found / exact - 1.0)[strong].max() < EXACT


@pytest.mark.parametrize("radius", [20e-3, 80e-3])
def test_sea_against_high_precision(radius):
    def formula(each):
        x = mpmath.sqrt(each * MU / 0.25) * radius
        return each * MU / (2 * mpmath.pi) * mpmath.besselk(0, x) / (x * mpmath.besselk(1, x))
    assert np.abs(ci.sea_impedance(S, radius) / high_precision(formula, S) - 1.0).max() < EXACT


def test_low_frequency_is_dc_resistance_and_internal_inductance():
    s = np.array([2j * np.pi * 0.1])
    z = ci.solid_impedance(s, RADIUS, COPPER)[0]
    # the next term of the series is (x/2)^4/12 of it, 2e-8 at 0.1 Hz
    assert z.real == pytest.approx(COPPER / (np.pi * RADIUS**2), rel=1e-6)
    assert z.imag / s[0].imag == pytest.approx(MU / (8.0 * np.pi), rel=1e-6)


def test_high_frequency_is_the_skin_of_the_surface():
    s = np.array([2j * np.pi * 1e6])
    depth = np.sqrt(2.0 * COPPER / (s[0].imag * MU))
    z = ci.solid_impedance(s, RADIUS, COPPER)[0]
    # plane skin, then the curvature as half a skin depth; the third term is (depth/radius)^2 = 7e-5
    curved = COPPER / (4.0 * np.pi * RADIUS**2)
    assert z == pytest.approx(COPPER * (1 + 1j) / depth / (2.0 * np.pi * RADIUS) + curved, rel=2e-4)


def test_nothing_overflows_far_above_the_band():
    s = np.array([2j * np.pi * 1e10])
    each = [ci.solid_impedance(s, 0.05, COPPER), *ci.tube_impedances(s, ARMOUR), ci.sea_impedance(s, 0.08),
            ci.positive_impedance(s, SECTION), ci.zero_impedance(s, SECTION)]
    assert np.all(np.isfinite(each))


def test_thin_wall_is_one_resistance():
    tube = ci.Tube(20e-3, 20.02e-3, COPPER)
    s = np.array([2j * np.pi * 50.0])
    for z in ci.tube_impedances(s, tube):
        # inductance across the wall: s mu t/(6 pi r) = 1.3e-8 of 8.7e-3 ohm/m
        assert z[0] == pytest.approx(ci.tube_resistance(tube), rel=1e-5)


def test_tube_with_a_closing_bore_is_a_solid():
    outer = ci.tube_impedances(S, ci.Tube(1e-7, RADIUS, COPPER))[1]
    # what the bore takes out: (1e-7/9e-3)^2, and rounding in the second kind's functions
    assert np.abs(outer / ci.solid_impedance(S, RADIUS, COPPER) - 1.0).max() < 1e-7


def test_transfer_dies_in_a_thick_wall():
    inner, outer, transfer = (z[-1] for z in ci.tube_impedances(S, ci.Tube(20e-3, 25e-3, COPPER)))
    depth = np.sqrt(COPPER / (np.pi * FREQUENCY[-1] * MU))
    # plane wall: transfer over surface is 2 exp(-t/depth); curvature 25/20 in 5 %
    assert abs(transfer) / abs(np.sqrt(inner * outer)) == pytest.approx(2.0 * np.exp(-5e-3 / depth), rel=0.05)


def test_sea_resistance_at_low_frequency():
    s = np.array([2j * np.pi * 50.0])
    # w mu0/8, the classical return of unbounded ground; m r = 3.6e-3 leaves (m r)^2 ln(m r) terms below 1e-3
    assert ci.sea_impedance(s, 56e-3)[0].real == pytest.approx(s[0].imag * MU / 8.0, rel=1e-3)


def test_sea_does_not_exist_at_zero_frequency():
    # w mu0/(2 pi) ln(1/m r) = 3e-14 ohm/m at 1e-9 Hz, against 1e-5 of any conductor
    assert abs(ci.sea_impedance(np.array([2e-9j * np.pi]), 56e-3)[0]) < 1e-13


@pytest.mark.parametrize("x", [0.5, 1.0, 1.5, 2.0, 2.5, 2.8, 3.0, 3.4, 3.8, 4.2, 4.9])
def test_skin_effect_is_that_of_iec60287(x):
    resistance = COPPER / (np.pi * RADIUS**2)
    frequency = x**2 * resistance / (8e-7 * np.pi)
    exact = ci.solid_impedance(np.array([2j * np.pi * frequency]), RADIUS, COPPER)[0].real / resistance
    # accuracy of the standard's formulae: 0.6 % of the resistance (from memory, to be checked)
    assert 1.0 + iec60287.skin_factor(x) == pytest.approx(exact, rel=0.006)


def bare(radius, spacing):
    """Cores whose screens carry next to nothing: some 10 ohm/m."""
    return ci.CrossSection(radius, COPPER, ci.Tube(1.5 * radius, 1.51 * radius, 1e-4), spacing)


@pytest.mark.parametrize("ratio", [0.3, 0.4, 0.5])
def test_proximity_effect_at_low_frequency_is_that_of_iec60287(ratio):
    x, resistance = 0.3, COPPER / (np.pi * RADIUS**2)
    s = np.array([2j * np.pi * x**2 * resistance / (8e-7 * np.pi)])
    spacing = 2.0 * RADIUS / ratio
    added = ci.proximity_impedance(s, bare(RADIUS, spacing))[0].real / resistance
    # own expansion: 4.5 (d/s)^2 x^4/192, next term x^4/100
    assert added == pytest.approx(4.5 * ratio**2 * x**4 / 192.0, rel=1e-3)
    # the standard has 4.37 + 0.312 (d/s)^2 in place of 4.5
    assert added == pytest.approx(iec60287.proximity_factor(x, 2.0 * RADIUS, spacing), rel=0.03)


@pytest.mark.parametrize("x", [1.0, 1.5, 2.0, 2.5, 2.8])
@pytest.mark.parametrize("ratio", [0.3, 0.4, 0.5])
def test_ac_resistance_is_that_of_iec60287(x, ratio):
    resistance = COPPER / (np.pi * RADIUS**2)
    frequency = x**2 * resistance / (8e-7 * np.pi)
    s = np.array([2j * np.pi * frequency])
    spacing = 2.0 * RADIUS / ratio
    z = ci.positive_impedance(s, bare(RADIUS, spacing))[0].real
    # skin 0.6 %; the dipole leaves (r/S)^2 = 6 % of yp out, and yp is 8 to 25 %: 1.5 % of R at the far corner
    assert z == pytest.approx(iec60287.ac_resistance(resistance, frequency, 2.0 * RADIUS, spacing), rel=0.015)


def solve_trefoil(omega, radius, spacing, resistivity, points=48, sweeps=40):
    """What eddy currents add to the impedance of three solid conductors in trefoil, positive sequence. [ohm/m]

    Field solution with multipoles of all three conductors on a circle of collocation points, by iteration: each
    conductor's response to the order-n field is J(n+1)/J(n-1), the fields of the others are evaluated and expanded
    anew. Nothing of the trefoil's geometry is put into closed form.
    """
    k = np.sqrt(-1j * omega * MU / resistivity)
    current = np.exp(-2j * np.pi * np.arange(3) / 3)
    axis = spacing / np.sqrt(3.0) * np.exp(2j * np.pi * np.arange(3) / 3)
    angle = 2.0 * np.pi * np.arange(points) / points
    order = np.fft.fftfreq(points, 1.0 / points).astype(int)
    keep = (order != 0) & (np.abs(order) <= points // 4)
    size = np.abs(order)
    answer = np.where(keep, jv(size + 1, k * radius) / jv(np.where(keep, size - 1, 0), k * radius), 0.0)
    moments = np.zeros((3, points), dtype=complex)
    for _ in range(sweeps):
        spectrum = np.zeros((3, points), dtype=complex)
        for i in range(3):
            field = np.zeros(points, dtype=complex)
            for j in {0, 1, 2} - {i}:
                place = axis[i] + radius * np.exp(1j * angle) - axis[j]
                shape = (radius / np.abs(place)[:, None]) ** size * np.exp(1j * np.angle(place)[:, None] * order)
                field += shape @ moments[j] - 2e-7 * current[j] * np.log(np.abs(place) / spacing)
            spectrum[i] = np.fft.fft(field) / points
        moments = answer * spectrum
    return 1j * omega * spectrum[0, 0] / current[0]


@pytest.mark.parametrize("radius, spacing", [(5.7e-3, 36e-3), (9.1e-3, 43e-3), (14.8e-3, 58.5e-3)])  # 95, 240, 630 mm2
@pytest.mark.parametrize("frequency", [50.0, 500.0, 5e3, 50e3])
def test_proximity_impedance_against_a_field_solution(radius, spacing, frequency):
    found = ci.proximity_impedance(np.array([2j * np.pi * frequency]), bare(radius, spacing))[0]
    exact = solve_trefoil(2.0 * np.pi * frequency, radius, spacing, COPPER)
    # the first orders left out are (r/S)^2 of the dipole's
    assert found == pytest.approx(exact, rel=(radius / spacing) ** 2)


@pytest.mark.parametrize("frequency", [50.0, 500.0])
def test_eddy_loss_of_a_closed_sheath_is_that_of_iec60287(frequency):
    s = np.array([2j * np.pi * frequency])
    radius = 0.5 * (SHEATH.inner + SHEATH.outer)
    poor = SECTION._replace(conductor_resistivity=1e3)                    # the conductor answers nothing
    resistance = LEAD / (2.0 * np.pi * radius * 2e-3)
    m = s[0].imag * 1e-7 / resistance
    # clause 2.3.6.1: lambda0 = 3 m^2/(1 + m^2) (d/2s)^2, times the sheath's resistance; the same algebra
    loss = resistance * 3.0 * m**2 / (1.0 + m**2) * (radius / SPACING) ** 2
    assert ci.proximity_impedance(s, poor)[0].real == pytest.approx(loss, rel=1e-6)


def node_matrix(s, section):
    """Impedances of 3 cores, 3 screens and the armour against distant water, from the loops. [ohm/m]"""
    si, so, sm = ci.tube_impedances(s, section.screen)
    ai, ao, am = ci.tube_impedances(s, section.armour)
    within = ci.solid_impedance(s, section.conductor_radius, section.conductor_resistivity)
    within = within + s * 2e-7 * np.log(section.screen.inner / section.conductor_radius) + si
    serving = s * 2e-7 * np.log(section.outer_radius / section.armour.outer)
    far = ao + serving + ci.sea_impedance(s, section.outer_radius)
    same = s * 2e-7 * np.log(section.armour.inner / section.screen.outer)
    other = s * 2e-7 * np.log(section.armour.inner / section.spacing)
    z = np.zeros((7, 7), dtype=complex)
    for i in range(3):
        for j in range(3):
            pipe = ai + far - 2.0 * am + (same if i == j else other)
            z[i, j] = pipe + (within + so - 2.0 * sm if i == j else 0.0)
            z[i, 3 + j] = z[3 + j, i] = pipe + (so - sm if i == j else 0.0)
            z[3 + i, 3 + j] = pipe + (so if i == j else 0.0)
        z[6, i] = z[i, 6] = z[6, 3 + i] = z[3 + i, 6] = far - am
    z[6, 6] = far
    return z


@pytest.mark.parametrize("frequency", [1.0, 50.0, 1e3, 20e3])
def test_both_sequences_against_elimination_in_the_full_matrix(frequency):
    s = 2j * np.pi * frequency
    # shells without dipoles, so that the matrix holds everything
    section = SECTION._replace(sheet_conductance=0.0)
    z = node_matrix(s, section)
    cores = z[:3, :3] - z[:3, 3:] @ np.linalg.solve(z[3:, 3:], z[3:, :3])
    turn = np.exp(-2j * np.pi * np.arange(3) / 3)
    zero = ci.zero_impedance(np.array([s]), section)[0]
    # rounding: elimination loses some digits to the transfer impedances' differences
    assert np.sum(cores[0]) == pytest.approx(zero, rel=1e-9)
    dipoles = ci.proximity_impedance(np.array([s]), section)[0]
    z[:6, :6] += dipoles * np.tile(np.eye(3), (2, 2))                     # every core and its screen see them
    cores = z[:3, :3] - z[:3, 3:] @ np.linalg.solve(z[3:, 3:], z[3:, :3])
    assert cores[0] @ turn == pytest.approx(ci.positive_impedance(np.array([s]), section)[0], rel=1e-9)


def test_open_screens_leave_the_trefoil():
    s = np.array([2j * np.pi * 0.5])
    z = ci.positive_impedance(s, bare(RADIUS, SPACING))[0]
    # 0.05 + 0.2 ln(2s/d) mH/km; internal inductance and screens hold to 1e-5 at 0.5 Hz
    assert z.imag / s[0].imag == pytest.approx(find_inductance(2.0 * RADIUS, SPACING), rel=1e-5)


def test_perfect_screens_leave_the_coaxial_core():
    s = np.array([2j * np.pi * 50.0])
    section = ci.CrossSection(RADIUS, COPPER, ci.Tube(19e-3, 21e-3, 1e-14), SPACING)
    z = ci.positive_impedance(s, section)[0] - ci.solid_impedance(s, RADIUS, COPPER)[0]
    # skin depth of the screen 7 um on 19 mm over ln(19/9.1) = 0.74: 5e-4
    assert z.imag / s[0].imag == pytest.approx(2e-7 * np.log(19.0 / 9.1), rel=1e-3)


@pytest.mark.parametrize("armour, in_water", [(ARMOUR, True), (ARMOUR, False), (None, True), (None, False)])
def test_zero_sequence_starts_at_its_dc_resistance(armour, in_water):
    section = SECTION._replace(armour=armour, in_water=in_water)
    z = ci.zero_impedance(np.array([2e-8j * np.pi]), section)[0]
    # at 1e-8 Hz the water still has 3e-14 of 8.5e-5 ohm/m
    assert z.real == pytest.approx(ci.zero_dc_resistance(section), rel=1e-7)


def test_water_and_armour_help_the_return():
    s = np.array([2j * np.pi * 50.0])
    alone, armoured, wet = (ci.zero_impedance(s, SECTION._replace(armour=armour, in_water=water))[0] for armour, water
                            in ((None, False), (ARMOUR, False), (ARMOUR, True)))
    assert wet.real < armoured.real < alone.real


radii = st.floats(2e-3, 30e-3)


@given(radii, st.floats(1.3, 4.0), st.floats(1.003, 1.3), st.floats(1.0, 1.5), st.floats(-1.0, 7.0),
       st.floats(-1.0, 1.0), st.booleans(), st.booleans(), st.sampled_from([COPPER, LEAD]))
@settings(max_examples=300, deadline=None)
def test_both_sequences_are_passive(radius, bore, wall, gap, decade, angle, armoured, in_water, metal):
    screen = ci.Tube(radius * bore, radius * bore * wall, metal)
    spacing = 2.0 * screen.outer * gap
    inner = spacing / np.sqrt(3.0) + spacing / 2.0 + 1e-3
    armour = ci.Tube(inner, inner + 5e-3, STEEL, 10.0) if armoured else None
    section = ci.CrossSection(radius, COPPER, screen, spacing, (screen.outer - screen.inner) / metal, armour,
                              inner + 8e-3, in_water)
    s = np.array([10.0**decade * np.exp(1j * np.pi / 2.0 * angle)])       # the whole right half-plane
    assert ci.positive_impedance(s, section)[0].real > 0.0
    assert ci.zero_impedance(s, section)[0].real > 0.0


@pytest.mark.parametrize("impedance", [ci.positive_impedance, ci.zero_impedance])
def test_resistance_rises_and_inductance_falls_with_frequency(impedance):
    s = 2j * np.pi * np.geomspace(0.1, 1e5, 200)
    z = impedance(s, SECTION)
    assert np.all(np.diff(z.real) > 0.0) and np.all(np.diff(z.imag / s.imag) < 0.0)
