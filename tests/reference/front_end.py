r"""A controlled front end behind a weak supply, written out for itself and linearised by complex steps.

Space vectors turn with the supply. E stands behind Rg, Lg; a capacitance C and a conductance G at the node; the front
end is a voltage e behind Rf, Lf with current i out of it:

    Lg dj/dt = E - v - (Rg + j w Lg) j
    C dv/dt = j + i - (G + j w C) v
    Lf di/dt = e - v - (Rf + j w Lf) i
    T dm/dt = v - m
    dW/dt = -Re(e i*) - P,      dx/dt = Ki (W0 - W)
    e = m + (Rf + j w Lf) a + K (a - i),   a = -(x + Kp (W0 - W)) m / |m|^2

Growth rates of small disturbances are the real parts of the eigenvalues of its Jacobian (linear stability; any text on
control).  The incremental resistance of a constant power P at voltage v is -v^2/P: R. D. Middlebrook, "Input filter
considerations in design and application of switching regulators", IEEE IAS Annual Meeting, 1976 (from memory, to be
checked).
"""

import numpy as np
from scipy.optimize import fsolve

NAMES = ("j", "jq", "v", "vq", "i", "iq", "m", "mq", "energy", "power")


def rates(x, p):
    """Time derivatives of the real state vector NAMES for the values p; x may be complex for complex steps."""
    jd, jq, vd, vq, id_, iq, md, mq, energy, power = x
    size = md * md + mq * mq
    asked = power + p.pull * (p.energy - energy)
    ad, aq = -asked * md / size, -asked * mq / size
    wl = p.w * p.front_l
    ed = md + p.front_r * ad - wl * aq + p.gain * (ad - id_)
    eq = mq + p.front_r * aq + wl * ad + p.gain * (aq - iq)
    return np.array([
        (p.emf - vd - p.grid_r * jd + p.w * p.grid_l * jq) / p.grid_l,
        (-vq - p.grid_r * jq - p.w * p.grid_l * jd) / p.grid_l,
        (jd + id_ - p.node_g * vd + p.w * p.node_c * vq) / p.node_c,
        (jq + iq - p.node_g * vq - p.w * p.node_c * vd) / p.node_c,
        (ed - vd - p.front_r * id_ + wl * iq) / p.front_l,
        (eq - vq - p.front_r * iq - wl * id_) / p.front_l,
        (vd - md) / p.filter, (vq - mq) / p.filter,
        -(ed * id_ + eq * iq) - p.load,
        p.push * (p.energy - energy)])


def find_balance(p):
    """State at rest."""
    start = np.array([p.load / p.emf, 0.0, p.emf, 0.0, -p.load / p.emf, 0.0, p.emf, 0.0, p.energy, p.load])
    scale = np.maximum(np.abs(start), 1.0)
    scale[[1, 5]], scale[[3, 7]] = scale[0], p.emf
    found, info, flag, message = fsolve(lambda y: rates(y * scale, p) / scale, start / scale, full_output=True)
    if flag != 1:
        raise ArithmeticError(message)
    return found * scale


def find_modes(p):
    """Eigenvalues of small disturbances about the balance, the least damped first. [1/s]"""
    x = find_balance(p)
    jacobian = np.empty((len(x), len(x)))
    for k in range(len(x)):
        step = x.astype(complex)
        step[k] += 1e-20j
        jacobian[:, k] = rates(step, p).imag / 1e-20
    values = np.linalg.eigvals(jacobian)
    return values[np.argsort(-values.real)]
