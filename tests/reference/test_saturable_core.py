"""Three-phase cores against the exact pieces of one phase, linear circuits, nodal phasors and their energy."""

import numpy as np
import pytest

from . import saturable, saturable_core, switching, three_phase

W, VOLTS, POWER = 100.0 * np.pi, 10e3, 4e6
CREST = np.sqrt(2.0 / 3.0) * VOLTS / W              # flux crest of a star coil
SOURCE_R, SOURCE_L = 0.4, 6e-3
PLAIN = SOURCE_R * np.eye(3), SOURCE_L * np.eye(3)
NEVER = 1e3                                         # a knee no flux reaches
ROUNDING = 1e-7         # solver: 1e-9 a step over some hundred steps
STEEP = 1e-6            # the same of saturated currents: 1e-7 of the flux crest is 4e-7 of the currents here


def coils(knee=1.15, remanence=(0.0, 0.0, 0.0), delta=False, magnetising=200.0, saturated=0.3, volts=VOLTS, zero=None):
    return saturable_core.rated_coils(volts, POWER, 50.0, magnetising, knee, saturated, remanence, delta, zero)


def emf(angle=0.4):
    return saturable_core.balanced_emf(VOLTS, 50.0, angle)


def test_star_is_three_inductors():
    """Zero sequence as positive, neutral earthed: each phase by its exact pieces."""
    remanence = (0.6, -0.8, 0.2)
    t = np.linspace(0.0, 0.06, 601)
    run = saturable_core.energise(coils(remanence=remanence), saturable_core.winding_loops("YN", *PLAIN), emf(), t)
    base = VOLTS**2 / POWER / W
    for k, turn in enumerate([0.0, -2.0 * np.pi / 3.0, 2.0 * np.pi / 3.0]):
        core = saturable.Inductor(200.0 * base, 0.3 * base, 1.15 * CREST, remanence[k] * CREST)
        supply = saturable.Supply(CREST * W, 50.0, 0.4 + turn + 0.5 * np.pi, SOURCE_R, SOURCE_L)
        flux, current = saturable.trace(core, supply, 0.06, t)
        assert np.abs(run.flux[:, k] - flux).max() < ROUNDING * CREST
        assert np.abs(run.line[:, k] - current).max() < STEEP * np.abs(run.line).max()


def test_linear_delta_is_a_star_of_a_third():
    t = np.linspace(0.0, 0.05, 201)
    core = coils(NEVER, delta=True, magnetising=2.0)
    run = saturable_core.energise(core, saturable_core.winding_loops("D", *PLAIN), emf(), t)
    inductance = SOURCE_L + 1.0 / core.gamma[0, 0] / 3.0
    expected = switching.rl_energisation(t, CREST * W, SOURCE_R, inductance, 50.0, 0.4 + 0.5 * np.pi)
    assert np.abs(run.line[:, 0] - expected).max() < ROUNDING * np.abs(expected).max()


def test_delta_keeps_the_sum_of_its_fluxes_and_the_lines_carry_no_sum():
    t = np.linspace(0.0, 0.06, 601)
    core = coils(remanence=(0.5, -0.3, 0.4), delta=True)
    run = saturable_core.energise(core, saturable_core.winding_loops("D", *PLAIN), emf(), t)
    assert np.abs(run.flux.sum(axis=1) - core.remanence.sum()).max() < ROUNDING * CREST
    assert np.abs(run.line.sum(axis=1)).max() < STEEP * np.abs(run.line).max()
    assert np.abs(run.current.sum(axis=1)).max() > 0.1 * np.abs(run.current).max()      # it circulates in the delta


def test_common_core_has_its_own_zero_sequence():
    """Three coils on one three-limb core, unsaturated, at unequal remanence: positive and zero sequence apart."""
    core = coils(NEVER, (0.5, -0.2, 0.3), magnetising=20.0, zero=0.6)
    t = np.linspace(0.0, 0.05, 201)
    source = SOURCE_R * np.eye(3) + 0.3, SOURCE_L * np.eye(3) + 3e-3        # more in the zero sequence
    run = saturable_core.energise(core, saturable_core.winding_loops("YN", *source), emf(), t)
    assert np.abs(run.line.sum(axis=1)).max() < ROUNDING * np.abs(run.line).max()       # balanced source, linear core
    base = VOLTS**2 / POWER / W
    expected = switching.rl_energisation(t, CREST * W, SOURCE_R, SOURCE_L + 20.0 * base, 50.0, 0.4 + 0.5 * np.pi)
    assert np.abs(run.line[:, 0] - expected).max() < ROUNDING * np.abs(expected).max()


@pytest.mark.parametrize("group", ["YNyn0", "Dyn11", "Dyn1", "YNd11", "YNd5", "Dd0"])
def test_linear_transformer_settles_to_nodal_phasors(group):
    """Last cycle of 0.3 s with 20 times the usual resistance (time constants of 11 ms), both windings' cores.

    The closed delta's own loop, 1e-6 of the leakage, is what is left.
    """
    first_delta, second_delta = group.startswith("D"), "d" in group
    low = 3e3
    leakage = 4.0 + 1.5j * low**2 / POWER                               # star equivalent on the second side
    source = 6.0 * np.eye(3) + 0.5, SOURCE_L * np.eye(3) + 2e-3
    cores = (coils(NEVER, delta=first_delta, magnetising=0.8),
             coils(NEVER, delta=second_delta, magnetising=0.8, volts=low))
    turns = [volts * (1.0 if delta else 1.0 / np.sqrt(3.0)) for volts, delta in ((VOLTS, first_delta),
                                                                              (low, second_delta))]
    coil_leakage = leakage * (3.0 if second_delta else 1.0)
    core, loops = saturable_core.transformer(group, *cores, turns[1] / turns[0], source,
                                             (coil_leakage.real, coil_leakage.imag / W))
    t = np.linspace(0.28, 0.30, 201)
    run = saturable_core.energise(core, loops, emf(), np.concatenate([[0.0], t]), longest=1e-3)
    line = 2.0 * np.mean(run.line[1:-1] * np.exp(-1j * W * t[:-1])[:, None], axis=0)

    admittance = [1.0 / (0.8j * volts**2 / POWER) for volts in (VOLTS, low)]
    drive = np.sqrt(2.0 / 3.0) * VOLTS * np.exp(0.4j) * three_phase.POSITIVE
    y = np.linalg.inv(source[0] + 1j * W * source[1])
    elements = [three_phase.shunt_element(three_phase.terminals("high"), y),
                three_phase.shunt_element(three_phase.terminals("low"), 1e-9),
                *three_phase.transformer_element("t", "high", "low", group, VOLTS, low, leakage, *admittance)]
    solved = three_phase.solve(elements, dict(zip(three_phase.terminals("high"), y @ drive)))
    expected = y @ (drive - three_phase.phase_voltages(solved, "high"))
    assert np.abs(line - expected).max() < 1e-5 * np.abs(expected).max()


@pytest.mark.parametrize("group", ["YNyn0", "Dyn11", "YNd11"])
def test_energy_of_a_saturating_transformer(group):
    """Given = stored in core, source and leakage + lost; trapezoids of 5 us over currents with kinks: 1e-4."""
    first_delta, second_delta = group.startswith("D"), "d" in group
    cores = (coils(remanence=(0.6, -0.5, -0.1), delta=first_delta, saturated=0.6),
             coils(remanence=(0.6, -0.5, -0.1), delta=second_delta, saturated=0.6))
    turns = (1.0 if second_delta else 1.0 / np.sqrt(3.0)) / (1.0 if first_delta else 1.0 / np.sqrt(3.0))
    core, loops = saturable_core.transformer(group, *cores, turns, PLAIN, (0.3, 6e-3))
    t = np.linspace(0.0, 0.03, 6001)
    run = saturable_core.energise(core, loops, emf(), t)
    source = np.array([emf()(time) for time in t])
    given = np.trapezoid(np.sum(source * run.line, axis=1), t)
    lost = np.trapezoid(np.einsum("ti,ij,tj->t", run.current, loops.resistance, run.current), t)
    i = run.current[-1]
    stored = 0.5 * i @ loops.inductance @ i + saturable_core.core_energy(core, run.flux[-1])
    assert (np.abs(run.flux[:, :6]) > core.knee[:6]).any(axis=0).sum() >= 4         # it does saturate
    scale = np.trapezoid(np.abs(np.sum(source * run.line, axis=1)), t)
    assert given == pytest.approx(lost + stored, abs=1e-4 * scale)


def test_closed_delta_holds_the_sum_of_its_fluxes():
    cores = (coils(remanence=(0.6, -0.5, -0.1)), coils(remanence=(0.6, -0.5, -0.1), delta=True))
    core, loops = saturable_core.transformer("YNd11", *cores, np.sqrt(3.0), PLAIN, (0.3, 6e-3))
    run = saturable_core.energise(core, loops, emf(), np.linspace(0.0, 0.04, 401))
    drift = run.flux[:, 3:6].sum(axis=1) - core.remanence[3:6].sum()
    assert np.abs(drift).max() < 1e-4 * np.sqrt(3.0) * CREST            # 1e-6 of the leakage's own flux
    assert np.abs(run.current[:, 6]).max() > 1.0


def test_isolated_stars_are_refused():
    with pytest.raises(ValueError, match="isolated star"):
        saturable_core.transformer("Yyn0", coils(), coils(), 1.0, PLAIN, (0.3, 6e-3))
