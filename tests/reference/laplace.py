"""A supply, a cable and a series load as admittances at a complex frequency, the cable by its exact two-port.

An implicit stage x = e + d f(x) in a frame that turns at w is the network at the complex frequency s = 1/d + j w: its
junction matrix must be the admittance of every element there.
"""

import numpy as np

from reference.line import Line, admittance_matrix

FEEDER = Line(0.246e-3, 0.41e-6, 0.18e-9, 28e3)         # the cable of tests/engines/circuits.py, SI per metre
OHM, HENRY, FARAD = 4.0, 20e-3, 30e-6


def series(s, r, l, elastance=0.0):
    """Admittance of R, L and 1/C in series. [S]"""
    return 1.0 / (r + s * l + elastance / s)


def junction(s, supply_r, supply_l, strays):
    """Admittances of (near end, far end), shape (2, 2). [S]"""
    y = np.array(admittance_matrix(FEEDER, s), dtype=complex)
    y += np.diag([series(s, supply_r, supply_l) + s * strays[0], series(s, OHM, HENRY, 1.0 / FARAD) + s * strays[1]])
    return y
