r"""A uniform cable as independent oscillators.

One sequence of a uniform line obeys ``C' dv/dt = -di/dx - G' v`` and ``L' di/dt = -dv/dx - R' i``.
Spectral collocation puts voltages on p + 1 Gauss-Lobatto points (the outer two are the cable's ends)
and currents on p Gauss points.  With energy-normalised states the coupling of the two is one matrix S
and its transpose, so the semi-discrete line is passive by construction.  Its singular value
decomposition S = U diag(sigma) Q^T splits the cable, ends held, into p oscillators

    dq/dt = sigma p - (G'/C') q
    dp/dt = -sigma q - (R'/L') p - g^T v_ends

that meet only in the two end voltages; the ends receive the currents g p and keep the capacitance of
the outer points.  Nothing is truncated: the oscillators *are* the spectral discretisation, at a cost of
a few operations each.

Skin and proximity effect enter as Foster branches in series with R' and L': pairs R'k || L'k, the same
all along the cable, so that they do not disturb the decomposition.  With y = sqrt(L'k) times the current
of the inductor, normalised like p, every oscillator gets one more state for each branch,

    dp/dt = ... - (R'k/L') p + beta y          alpha = R'k/L'k
    dy/dt = beta p - alpha y                   beta = R'k / sqrt(L' L'k)

which again is passive term by term: the loss is (sqrt(R'k/L') p - sqrt(alpha) y)^2.

The number of oscillators follows from a bandwidth and an error: it is raised until both the open-end
voltage transfer and the short-end current transfer agree with the exact hyperbolic two-port.

Sources
-------
C. Canuto, M. Y. Hussaini, A. Quarteroni, T. A. Zang, *Spectral Methods: Fundamentals in Single
Domains*, 2006, section 2.3 (Gauss and Gauss-Lobatto points and weights).
The two-port: any text on transmission lines, V1 = V2 cosh(gamma l) + Zc I2 sinh(gamma l).
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.polynomial import legendre

MOST_MODES = 400        # of one cable: the cost of their decomposition grows with the third power
GROWTH = 1.15


class CableModes(NamedTuple):
    """Oscillators of one sequence.

    Attributes
    ----------
    sigma : ndarray, shape (p,)
        Angular frequency of each oscillator; the last is 0, the uniform current. [rad/s]
    weight_from, weight_to : ndarray, shape (p,)
        Coupling g to the two end voltages. [1/sqrt(H)]
    end_capacitance : float
        Capacitance that stays at each end. [F]
    series_rate, shunt_rate : float
        R'/L' and G'/C'. [1/s]
    branch_rate, branch_coupling : ndarray, shape (k,)
        alpha and beta of the Foster branches. [1/s]
    """

    sigma: np.ndarray
    weight_from: np.ndarray
    weight_to: np.ndarray
    end_capacitance: float
    series_rate: float
    shunt_rate: float
    branch_rate: np.ndarray = np.zeros(0)
    branch_coupling: np.ndarray = np.zeros(0)


@lru_cache(maxsize=256)
def _unit_modes(p):
    """Singular values and couplings of the line with unit length, inductance and capacitance."""
    outer = np.zeros(p + 1)
    outer[p] = 1.0
    inner = legendre.legroots(legendre.legder(outer)).real if p > 1 else []
    x = np.concatenate(([-1.0], np.sort(inner), [1.0]))
    for _ in range(3):                                   # polish the interior points by Newton
        d1 = legendre.legval(x[1:-1], legendre.legder(outer))
        d2 = legendre.legval(x[1:-1], legendre.legder(outer, 2)) if p > 1 else 1.0
        x[1:-1] -= d1 / d2
    w = 2.0 / (p * (p + 1) * legendre.legval(x, outer) ** 2)
    y, w_gauss = legendre.leggauss(p)
    # Legendre polynomials scaled to unit norm keep the interpolation well conditioned at high degree
    scale = np.sqrt(np.arange(p + 1) + 0.5)
    basis = legendre.legvander(x, p) * scale
    slopes = legendre.legval(y, legendre.legder(np.eye(p + 1))).T
    derivative = 2.0 * np.linalg.solve(basis.T, (slopes * scale).T).T
    coupling = np.sqrt(w_gauss / 2.0)[:, None] * derivative
    mass = w / 2.0
    left, sigma, _ = np.linalg.svd(coupling[:, 1:-1] / np.sqrt(mass[1:-1]))
    g = left.T @ coupling[:, [0, -1]]
    return np.append(sigma, 0.0), g[:, 0].copy(), g[:, 1].copy(), float(mass[0])


def cable_modes(count, length, resistance, inductance, capacitance, conductance=0.0, branches=()):
    """Oscillators of a uniform line.

    Parameters
    ----------
    count : int
        Number of oscillators p, at least 1.
    length : float
        Length. [m]
    resistance, inductance, capacitance, conductance : float
        Series R', L' and shunt C', G' per length. [ohm/m, H/m, F/m, S/m]
    branches : sequence of (float, float)
        Foster branches R'k || L'k in series with R' and L'. [ohm/m, H/m]

    Returns
    -------
    CableModes
    """
    sigma, g_from, g_to, mass = _unit_modes(count)
    wave_rate = 1.0 / (length * np.sqrt(inductance * capacitance))
    coupling = 1.0 / np.sqrt(inductance * length)
    r_k, l_k = np.array(branches, dtype=float).reshape(-1, 2).T
    return CableModes(sigma * wave_rate, g_from * coupling, g_to * coupling,
                      mass * capacitance * length, resistance / inductance, conductance / capacitance,
                      r_k / l_k, r_k / np.sqrt(inductance * l_k))


def modal_admittance(modes, s):
    """Two-port admittance of the oscillators.

    Parameters
    ----------
    modes : CableModes
    s : ndarray, shape (n,), complex
        Complex angular frequency, not 0. [rad/s]

    Returns
    -------
    y : ndarray, shape (n, 2, 2), complex
        Admittance with both currents flowing into the cable. [S]
    """
    s = np.asarray(s, dtype=complex)[:, None]
    each = 1.0 / (s + modes.series_rate + branch_rates(modes, s) + modes.sigma**2 / (s + modes.shunt_rate))
    g = np.stack([modes.weight_from, modes.weight_to])
    y = np.einsum("nm,im,jm->nij", each, g, g)
    ends = (s[:, 0] + modes.shunt_rate) * modes.end_capacitance
    y[:, 0, 0] += ends
    y[:, 1, 1] += ends
    return y


def branch_rates(modes, s):
    """What the Foster branches add to the series decay rate at s [rad/s], shape of s. [1/s]"""
    share = modes.branch_coupling**2 / modes.branch_rate
    return np.sum(share * s[..., None] / (s[..., None] + modes.branch_rate), axis=-1)


def series_impedance(s, resistance, inductance, branches=()):
    """R' + s L' and the Foster branches at s [rad/s]. [ohm/m]"""
    return resistance + s * inductance + sum(s * l_k * r_k / (r_k + s * l_k) for r_k, l_k in branches)


def exact_two_port(s, length, resistance, inductance, capacitance, conductance=0.0, branches=()):
    """cosh(gamma l), Zc sinh(gamma l) and sinh(gamma l)/Zc of the uniform line at s [rad/s]."""
    z = series_impedance(s, resistance, inductance, branches)
    y = conductance + s * capacitance
    gamma_length = np.sqrt(z * y) * length
    impedance = np.sqrt(z / y)
    return np.cosh(gamma_length), impedance * np.sinh(gamma_length), np.sinh(gamma_length) / impedance


def transfer_error(modes, s, two_port):
    """Largest error of open-end voltage and short-end current transfer, relative to each one's peak."""
    y = modal_admittance(modes, s)
    exact = 1.0 / two_port[0]                            # both transfers of a reciprocal symmetrical line
    open_voltage = -y[:, 1, 0] / y[:, 1, 1]
    short_current = -y[:, 1, 0] / y[:, 0, 0]
    short_admittance = y[:, 0, 0]
    peak = np.abs(exact).max()
    admittance = two_port[0] / two_port[1]
    return max(np.abs(open_voltage - exact).max() / peak,
               np.abs(short_current - exact).max() / peak,
               np.abs(short_admittance - admittance).max() / np.abs(admittance).max())


def count_modes(length, resistance, inductance, capacitance, conductance, bandwidth, error, branches=()):
    """Smallest number of oscillators that meets an error up to a bandwidth.

    Parameters
    ----------
    bandwidth : float
        Highest frequency at which the error must hold. [Hz]
    error : float
        Largest error of both transfers, relative to each one's peak.

    Returns
    -------
    int or None
        None where more than MOST_MODES would be needed.
    """
    travel = length * np.sqrt(inductance * capacitance)
    least = max(4, int(2.0 * bandwidth * travel) & ~1)   # two points per wavelength is the floor
    if least > MOST_MODES:
        return None
    s = 2j * np.pi * np.linspace(bandwidth / 4000.0, bandwidth, 401 + int(40 * travel * bandwidth))
    two_port = exact_two_port(s, length, resistance, inductance, capacitance, conductance, branches)

    def suffices(count):
        modes = cable_modes(count, length, resistance, inductance, capacitance, conductance, branches)
        return transfer_error(modes, s, two_port) <= error

    short, enough = least - 2, least
    while not suffices(enough):
        if enough >= MOST_MODES:
            return None
        short, enough = enough, min(MOST_MODES, int(GROWTH * enough) + 2 & ~1)
    while enough - short > 2:
        middle = (short + enough) // 2 & ~1
        short, enough = (short, middle) if suffices(middle) else (middle, enough)
    return enough
