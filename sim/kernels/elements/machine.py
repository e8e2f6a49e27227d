"""Induction machine with up to two cages, and the torque its driven machine asks for.

Flux linkages are the states.  In a frame that turns at w, with the rotor at the electrical speed n,

    dpsi_s/dt = v - Rs i_s - j w psi_s
    dpsi_k/dt =   - Rk i_k - j (w - n) psi_k          k = cage 1, cage 2
    i = gamma psi,   torque = pairs * Im(conj(psi_s) i_s)

in power-invariant space vectors.  The stationary frame is w = 0.

The main path saturates by the magnitude of its flux psi_m, behind all leakages L_k: beyond each of its knees K_j it
draws k_j (1 - K_j/|psi_m|) psi_m more, so that straight lines join its points.  With u_k = 1/L_k and D the sum of the
u_k and 1/L_m that adds a term of rank one,

    gamma = gamma_0 + share u u^T,   share = 1/D - 1/(D + sum over the K_j < |psi_m| of k_j (1 - K_j/|psi_m|))

Source: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, *Analysis of Electric Machinery*, chapter 4, with
the cage circuits in parallel behind the magnetising inductance.
"""


from sim.kernels.columns import (
    KNEES,
    LOAD_BREAKAWAY,
    LOAD_COMPRESSOR,
    LOAD_CONSTANT,
    LOAD_DIP,
    LOAD_DIP_SPEED,
    LOAD_DUTY,
    LOAD_KIND,
    LOAD_PUMP,
    LOAD_SPEED,
    LOAD_TABLE,
)
from sim.kernels.jit import entry


@entry
def reciprocal(z):
    """1/z without the scaling branches of a general complex division: no |z| here is near the number range."""
    size = 1.0 / (z.real * z.real + z.imag * z.imag)
    return complex(z.real * size, -z.imag * size)


@entry
def machine_stage(d, w, n, gamma, r, e0, e1, e2, out):
    """Solve one implicit stage psi = e + d f(psi, v) for any terminal voltage v.

    out receives psi at v = 0 (0:3), d psi/d v (3:6), the stator current at v = 0 (6) and d i/d v (7).
    """
    a00 = 1.0 + d * (r[0] * gamma[0, 0] + 1j * w)
    a01 = d * r[0] * gamma[0, 1] + 0j
    a02 = d * r[0] * gamma[0, 2] + 0j
    a10 = d * r[1] * gamma[1, 0] + 0j
    a11 = 1.0 + d * (r[1] * gamma[1, 1] + 1j * (w - n))
    a12 = d * r[1] * gamma[1, 2] + 0j
    a20 = d * r[2] * gamma[2, 0] + 0j
    a21 = d * r[2] * gamma[2, 1] + 0j
    a22 = 1.0 + d * (r[2] * gamma[2, 2] + 1j * (w - n))
    # the cages are eliminated first: they see each other and the stator flux
    by_det = reciprocal(a11 * a22 - a12 * a21)
    p1, p2 = (a22 * e1 - a12 * e2) * by_det, (a11 * e2 - a21 * e1) * by_det
    q1, q2 = (a12 * a20 - a22 * a10) * by_det, (a21 * a10 - a11 * a20) * by_det
    by_pivot = reciprocal(a00 + a01 * q1 + a02 * q2)
    s0 = (e0 - a01 * p1 - a02 * p2) * by_pivot
    sv = d * by_pivot
    out[0], out[1], out[2] = s0, p1 + q1 * s0, p2 + q2 * s0
    out[3], out[4], out[5] = sv, q1 * sv, q2 * sv
    out[6] = gamma[0, 0] * out[0] + gamma[0, 1] * out[1] + gamma[0, 2] * out[2]
    out[7] = gamma[0, 0] * out[3] + gamma[0, 1] * out[4] + gamma[0, 2] * out[5]


@entry
def main_flux(machines, m, p0, p1, p2):
    """Magnitude of the main path's flux linkage at given flux linkages of the windings. [V s]"""
    leak, knee, slope = machines.leak[m], machines.knee[m], machines.whole[m]
    pull = abs(leak[0] * p0 + leak[1] * p1 + leak[2] * p2)
    size = pull / slope
    for j in range(KNEES):
        if size <= knee[j]:
            break
        pull += machines.excess[m, j] * knee[j]
        slope += machines.excess[m, j]
        size = pull / slope
    return size


@entry
def saturated_share(machines, m, flux):
    """Share of u u^T that saturation adds to gamma at a flux of the main path. [H]"""
    knee, beyond = machines.knee[m], 0.0
    if flux <= knee[0]:
        return 0.0
    for j in range(KNEES):
        if flux <= knee[j]:
            break
        beyond += machines.excess[m, j] * (1.0 - knee[j] / flux)
    return 1.0 / machines.whole[m] - 1.0 / (machines.whole[m] + beyond)


@entry
def saturate(machines, m, flux, out):
    """Inverse inductances at a flux of the main path."""
    share = saturated_share(machines, m, flux)
    for k in range(3):
        for l in range(3):
            out[k, l] = machines.gamma[m, k, l] + share * machines.leak[m, k] * machines.leak[m, l]


@entry
def winding_current(machines, m, share, k, p0, p1, p2):
    """Current of winding k at given flux linkages. [A]"""
    gamma, leak = machines.gamma[m, k], machines.leak[m]
    shift = share * leak[k]
    return ((gamma[0] + shift * leak[0]) * p0 + (gamma[1] + shift * leak[1]) * p1 + (gamma[2] + shift * leak[2]) * p2)


@entry
def stator_current(machines, m, p0, p1, p2):
    """Stator current at given flux linkages. [A]"""
    share = saturated_share(machines, m, main_flux(machines, m, p0, p1, p2))
    return winding_current(machines, m, share, 0, p0, p1, p2)


@entry
def air_gap_torque(pairs, psi_s, i_s):
    """Air-gap torque. [N m]"""
    return pairs * (psi_s.real * i_s.imag - psi_s.imag * i_s.real)


@entry
def copper_loss(machines, m, p0, p1, p2):
    """Loss in stator and cages. [W]"""
    share = saturated_share(machines, m, main_flux(machines, m, p0, p1, p2))
    loss = 0.0
    for k in range(3):
        i = winding_current(machines, m, share, k, p0, p1, p2)
        loss += machines.r[m, k] * (i.real * i.real + i.imag * i.imag)
    return loss


@entry
def running_torque(speed, factor, data, first, last, table_speed, table_torque):
    """Torque asked by the driven machine at a speed [rad/s]; it always opposes the motion. [N m]

    Pump: from breakaway through a dip, then with the square of speed to the duty point.  Compressor:
    a constant part and a part with the square of speed, sum 1 at duty.  Table: straight lines between
    points, the last slope continued.  The breakaway excess of compressor and table fades over 2 % speed.
    """
    x = abs(speed) / data[LOAD_SPEED]
    kind = int(data[LOAD_KIND])
    t = 0.0
    if kind == LOAD_PUMP:
        dip, at = data[LOAD_DIP], data[LOAD_DIP_SPEED]
        if x < at:
            t = dip + (data[LOAD_BREAKAWAY] - dip) * (1.0 - x / at) ** 2
        else:
            t = dip + (1.0 - dip) * (x * x - at * at) / (1.0 - at * at)
    elif kind == LOAD_COMPRESSOR:
        constant = data[LOAD_CONSTANT]
        t = constant + (1.0 - constant) * x * x
        if x < 0.02:
            t += max(data[LOAD_BREAKAWAY] - constant, 0.0) * (1.0 - x / 0.02) ** 2
    elif kind == LOAD_TABLE:
        k = first
        while k < last - 2 and x > table_speed[k + 1]:
            k += 1
        slope = (table_torque[k + 1] - table_torque[k]) / (table_speed[k + 1] - table_speed[k])
        t = table_torque[k] + slope * (x - table_speed[k])
        if x < 0.02:
            t += max(data[LOAD_BREAKAWAY] - table_torque[first], 0.0) * (1.0 - x / 0.02) ** 2
    t *= factor * data[LOAD_DUTY]
    return t if speed >= 0.0 else -t


@entry
def breakaway_torque(factor, data, first, table_torque):
    """Torque that must be exceeded to leave standstill. [N m]"""
    kind = int(data[LOAD_KIND])
    t = 0.0
    if kind == LOAD_PUMP:
        t = data[LOAD_BREAKAWAY]
    elif kind == LOAD_COMPRESSOR:
        t = max(data[LOAD_BREAKAWAY], data[LOAD_CONSTANT])
    elif kind == LOAD_TABLE:
        t = max(data[LOAD_BREAKAWAY], table_torque[first])
    return t * factor * data[LOAD_DUTY]


@entry
def load_of(machines, m, factor, speed):
    """Load torque of machine m, against the motion. [N m]"""
    return running_torque(speed, factor, machines.load[m], machines.first[m], machines.first[m + 1],
                          machines.table_speed, machines.table_torque)


@entry
def threshold_of(machines, m, factor):
    """Torque that machine m must exceed to leave standstill. [N m]"""
    return breakaway_torque(factor, machines.load[m], machines.first[m], machines.table_torque)
