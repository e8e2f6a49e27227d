r"""A piecewise-linear saturable inductor switched on to a sinusoidal source: exact piece by piece.

Flux and current of the core,

    i = (psi - psi_r)/L + (1/S - 1/L) (psi -+ knee)      the second term beyond the knee only,

S the incremental inductance beyond the knee and psi_r the remanence, an offset of the unsaturated line.  Behind R
and Ls, on each straight piece i = a psi + c,

    (1 + a Ls) dpsi/dt + a R psi = peak sin(w t + angle) - c R:

a sinusoid, an exponential and a constant.  The pieces meet where the flux passes a knee, found by bracketing.  With
R = 0 and the voltage at its zero the flux rises to twice its crest on top of the remanence.

Source: A. Greenwood, *Electrical Transients in Power Systems*, 2nd ed., chapter 5 (magnetising inrush), from
memory, to be checked; the pieces are solutions of a linear equation of first order.
"""

from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

SCAN = 400          # looks for a knee this often a period; a touch shorter than that would be missed


class Inductor(NamedTuple):
    """Inductance below the knee and incremental one beyond it [H], knee and remanence [V s], |remanence| <= knee."""

    unsaturated: float
    saturated: float
    knee: float
    remanence: float = 0.0


class Supply(NamedTuple):
    """peak sin(2 pi frequency t + angle) [V], [Hz], [rad] behind a resistance and an inductance [ohm], [H]."""

    peak: float
    frequency: float
    angle: float
    resistance: float = 0.0
    inductance: float = 0.0


class Piece(NamedTuple):
    """From `start` [s] on, psi = forced + (rest + decaying exp(-rate (t - start))) on the line i = a psi + c."""

    start: float
    a: float
    c: float
    rate: float
    rest: float
    decaying: float
    forced: complex


def inductor_current(core: Inductor, flux):
    """Current of a flux. [A]"""
    beyond = np.sign(flux) * np.maximum(np.abs(flux) - core.knee, 0.0)
    return (flux - core.remanence) / core.unsaturated + _extra(core) * beyond


def inductor_energy(core: Inductor, flux):
    """Integral of the current over the flux from the remanence on. [J]"""
    beyond = np.maximum(np.abs(flux) - core.knee, 0.0)
    return 0.5 * ((flux - core.remanence) ** 2 / core.unsaturated + _extra(core) * beyond**2)


def switch_on(core: Inductor, supply: Supply, duration) -> list[Piece]:
    """Pieces of the flux after the supply is put on the core, without current, at t = 0."""
    t, flux, region = 0.0, core.remanence, 0
    pieces = []
    while t < duration:
        pieces.append(_piece(core, supply, t, flux, region))
        t, region = _leave(core, supply, pieces[-1], region, duration)
        flux = core.knee if region > 0 else -core.knee if region < 0 else _flux(supply, pieces[-1], t)
    return pieces


def list_switchings(pieces):
    """Moments at which the core goes into or out of saturation. [s]"""
    return np.array([piece.start for piece in pieces[1:]])


def trace(core: Inductor, supply: Supply, duration, t):
    """Flux [V s] and current [A] at times t [s] within the duration."""
    pieces = switch_on(core, supply, duration)
    index = np.searchsorted([piece.start for piece in pieces], t, side="right") - 1
    flux = np.array([_flux(supply, pieces[k], time) for k, time in zip(index, np.atleast_1d(t))])
    return flux, inductor_current(core, flux)


def inrush_peak(knee, air_core, remanence=0.0, crest=1.0):
    """First peak without losses, switched at voltage zero, core of no current below the knee. [pu of crest current]

    (2 crest + remanence - knee)/air_core, fluxes in units of the rated crest, reactance on the transformer's base.
    """
    return (2.0 * crest + remanence - knee) / air_core


def _extra(core):
    return 1.0 / core.saturated - 1.0 / core.unsaturated


def _piece(core, supply, start, flux, region):
    """Straight line of a region (-1, 0, 1) and the solution from a flux on."""
    a = 1.0 / (core.saturated if region else core.unsaturated)
    c = -core.remanence / core.unsaturated - region * _extra(core) * core.knee
    mass = 1.0 + a * supply.inductance
    rate = a * supply.resistance / mass
    forced = supply.peak / mass / (2j * np.pi * supply.frequency + rate)
    rest = -c / a if supply.resistance else 0.0
    whole = np.imag(forced * _turn(supply, start))
    return Piece(start, a, c, rate, rest, flux - rest - whole, forced)


def _turn(supply, t):
    return np.exp(1j * (2.0 * np.pi * supply.frequency * t + supply.angle))


def _flux(supply, piece, t):
    return (np.imag(piece.forced * _turn(supply, t)) + piece.rest
            + piece.decaying * np.exp(-piece.rate * (t - piece.start)))


def _leave(core, supply, piece, region, duration):
    """Moment at which the flux leaves the region, and the region that it enters."""
    low, high = {-1: (-np.inf, -core.knee), 0: (-core.knee, core.knee), 1: (core.knee, np.inf)}[region]
    step = 1.0 / (SCAN * supply.frequency)
    t = piece.start + 1e-9 * step           # just inside: the start lies on the knee itself
    while t < duration:
        flux = _flux(supply, piece, t + step)
        if flux > high or flux < low:
            bound, way = (high, 1) if flux > high else (low, -1)
            if (_flux(supply, piece, t) - bound) * way >= 0.0:      # turned back within rounding of the knee
                return t, region + way
            root = brentq(lambda time: _flux(supply, piece, time) - bound, t, t + step, xtol=1e-15, rtol=1e-14)
            return root, region + way
        t += step
    return duration, region
