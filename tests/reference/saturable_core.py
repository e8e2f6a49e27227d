r"""Three-phase saturable cores behind R-L sources, integrated by a general-purpose solver at a tight tolerance.

Every coil of the core is a flux with a piecewise-linear current,

    i = Gamma (psi - psi_r) + beyond (psi -+ knee)          the second term where |psi| exceeds the knee,

psi_r an offset by remanence.  Coils of a star, a delta or both windings of a transformer hang on the source by
loops: with the emf that drives each loop e, and R, L of the source and leakage gathered over the loops,

    chi = psi + L i(psi),       dchi/dt = e - R i(psi).

chi is the state: it has no kinks of its own, and psi follows from it by Newton's method on straight lines.  Both
windings carry half the core, with the leakage between them (the second one open or a closed delta); the closed delta
is one further loop whose own inductance is next to nothing.

Source: the circuit equations themselves; the pi form of a core-type transformer is common practice.
"""

from typing import Callable, NamedTuple

import numpy as np
from scipy.integrate import solve_ivp

from . import three_phase

RELATIVE = 1e-9
SHORTED = 1e-6      # inductance of a closed delta's own loop, of the leakage


class Core(NamedTuple):
    """n coils: inverse inductance (n, n) and further slopes (n,) [1/H], knees and remanence (n,) [V s]."""

    gamma: np.ndarray
    beyond: np.ndarray
    knee: np.ndarray
    remanence: np.ndarray


class Loops(NamedTuple):
    """Incidence of the loops: line currents = lines @ loop currents (3, n); R and L over loops (n, n) [ohm], [H]."""

    lines: np.ndarray
    resistance: np.ndarray
    inductance: np.ndarray


class Inrush(NamedTuple):
    """Time (m,) [s]; flux [V s] and current [A] of every coil (m, n); line currents from the source (m, 3) [A]."""

    t: np.ndarray
    flux: np.ndarray
    current: np.ndarray
    line: np.ndarray


def coil_current(core: Core, flux):
    """Currents of the coils at fluxes of shape (..., n). [A]"""
    beyond = np.sign(flux) * np.maximum(np.abs(flux) - core.knee, 0.0)
    return (flux - core.remanence) @ core.gamma + core.beyond * beyond


def core_energy(core: Core, flux):
    """Energy of all coils, from the remanence on. [J]"""
    offset, beyond = flux - core.remanence, np.maximum(np.abs(flux) - core.knee, 0.0)
    return 0.5 * (np.sum(offset * (offset @ core.gamma), axis=-1) + np.sum(core.beyond * beyond**2, axis=-1))


def rated_coils(volts, power, frequency, magnetising, knee, saturated, remanence=(0.0, 0.0, 0.0), delta=False,
                zero=None) -> Core:
    """Three coils of a winding from values per unit of its rating.

    Parameters
    ----------
    volts, power, frequency : float
        Line-to-line voltage [V], three-phase power [VA], [Hz].
    magnetising, saturated : float
        Reactance below the knee and incremental one beyond it, per unit.
    knee, remanence : float, three floats
        Per unit of the rated crest of a coil's flux.
    zero : float or None
        Zero-sequence reactance below the knee of coils on one three-limb core, per unit; None: single units.
    """
    w = 2.0 * np.pi * frequency
    base = (3.0 if delta else 1.0) * volts**2 / power / w
    crest = np.sqrt(2.0) * volts / (1.0 if delta else np.sqrt(3.0)) / w
    plain = 1.0 / (magnetising * base)
    gamma = three_phase.phase_matrix(plain if zero is None else 1.0 / (zero * base), plain).real
    return Core(gamma, np.full(3, 1.0 / (saturated * base) - plain), np.full(3, knee * crest),
                crest * np.asarray(remanence))


def join(*cores: Core) -> Core:
    """All coils of several cores; remanence and slopes side by side."""
    sizes = [len(core.knee) for core in cores]
    gamma, at = np.zeros((sum(sizes),) * 2), 0
    for core, size in zip(cores, sizes):
        gamma[at:at + size, at:at + size] = core.gamma
        at += size
    return Core(gamma, *(np.concatenate([core[k] for core in cores]) for k in (1, 2, 3)))


def winding_loops(connection, resistance, inductance) -> Loops:
    """One winding, "YN" or "D", on a source of phase matrices R, L (3, 3). [ohm], [H]"""
    lines = _coil_phases(connection + ("yn0" if connection == "YN" else "yn11"))[0].T
    return Loops(lines, lines.T @ resistance @ lines, lines.T @ inductance @ lines)


def transformer(group, first: Core, second: Core, ratio, source, leakage):
    """Coils and loops of a two-winding transformer fed at its first side, the second side open.

    Parameters
    ----------
    group : str
        First side YN or D, second yn or d; clock number as IEC 60076-1.
    ratio : float
        Turns of a second coil over those of a first one.
    source : (R, L)
        Phase matrices (3, 3). [ohm], [H]
    leakage : (R, L)
        Of each second coil. [ohm], [H]
    """
    phases, is_delta = _coil_phases(group)
    one, lines = np.eye(3), [phases.T, ratio * phases.T]
    through, cores = [np.zeros((3, 3)), one], [first, second]
    if is_delta:
        around = np.ones((3, 1))
        lines.append(ratio * phases.T @ around)
        through.append(around)
        own = np.array([[1.0 / (SHORTED * leakage[1])]])
        cores.append(Core(own, np.zeros(1), np.full(1, np.inf), np.zeros(1)))
    lines, through = np.hstack(lines), np.hstack(through)
    matrices = [lines.T @ outer @ lines + inner * through.T @ through for outer, inner in zip(source, leakage)]
    return join(*cores), Loops(lines, *matrices)


def _coil_phases(group):
    """Voltage of each first coil by phases (3, 3), and whether the second side is a delta."""
    first, second = three_phase.transformer_coils(group)
    if any(isinstance(end, str) for pattern in (first, second) for pair in pattern for end in pair):
        raise ValueError(f"{group}: an isolated star has no loops to earth; use YN, D, yn or d")
    phases = np.zeros((3, 3))
    for coil, (start, end) in enumerate(first):
        phases[coil, start] += 1.0
        if end is not None:
            phases[coil, end] -= 1.0
    return phases, all(isinstance(end, int) for end in second[0])


def balanced_emf(volts, frequency, angle) -> Callable:
    """Phase emfs of a line-to-line rms voltage, phase a as the cosine of 2 pi frequency t + angle. [V]"""
    turn = np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0
    return lambda t: np.sqrt(2.0 / 3.0) * volts * np.cos(2.0 * np.pi * frequency * t + angle + turn)


def energise(core: Core, loops: Loops, emf: Callable, t, longest=1e-4) -> Inrush:
    """Switch a source on to a core without current at t[0].

    Parameters
    ----------
    emf : callable
        Time [s] -> phase emfs (3,). [V]
    t : ndarray, shape (m,)
        Moments to report, ascending. [s]
    longest : float
        Longest step of the solver, so that no knee is stepped over. [s]
    """
    flux = core.remanence.copy()

    def rates(time, chi):
        flux[:] = _find_flux(core, loops.inductance, chi, flux)
        return loops.lines.T @ emf(time) - loops.resistance @ coil_current(core, flux)

    scale = np.max(np.abs(core.knee[np.isfinite(core.knee)]))
    run = solve_ivp(rates, (t[0], t[-1]), core.remanence, method="DOP853", t_eval=t, rtol=RELATIVE,
                    atol=RELATIVE * scale, max_step=longest)
    found = np.array([_find_flux(core, loops.inductance, chi, chi) for chi in run.y.T])
    current = coil_current(core, found)
    return Inrush(t, found, current, current @ loops.lines.T)


def _find_flux(core, inductance, chi, guess):
    """psi + L i(psi) = chi: straight pieces, so Newton ends exactly once all coils are on the right ones."""
    psi = guess
    for _ in range(100):
        slope = np.eye(len(chi)) + inductance @ (core.gamma + np.diag(core.beyond * (np.abs(psi) > core.knee)))
        gap = psi + inductance @ coil_current(core, psi) - chi
        found = psi - np.linalg.solve(slope, gap)
        settled = ((np.abs(found) > core.knee) == (np.abs(psi) > core.knee)) & (found * psi >= 0.0) | (
            (np.abs(found) <= core.knee) & (np.abs(psi) <= core.knee))
        psi = found
        if settled.all():
            return psi
    raise ArithmeticError("the fluxes do not settle on their pieces")
