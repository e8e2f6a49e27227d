"""From the construction of a three-core cable to its distributed parameters.

The radii follow from cross-section, insulation, screen, sheath and armour (`layers`); the impedance of both sequences
follows from the radii (`impedance`) and is fitted over the band by a circuit the simulation can
carry (`foster`).

Valid for
---------
Three screened round cores in trefoil under one armour, screens and armour earthed at both ends, 0.1 Hz to
20 kHz.  Layers that nobody states have usual thicknesses, see `layers`.

Sources
-------
IEC 60228, IEC 60502-2, IEC 60287-1-1 through `layers`; the impedances through `impedance`.
"""

from functools import lru_cache
from math import log10, pi, sqrt
from typing import NamedTuple

import numpy as np

from sim.params.cable import iec60287
from sim.params.cable.foster import FosterFit, fit_foster, foster_impedance
from sim.params.cable.impedance import positive_impedance, zero_dc_resistance, zero_impedance
from sim.params.cable.layers import Construction, Layout, find_section, hot_conductor, lay_out

BAND = (0.1, 20e3)                  # Hz
POINTS_PER_DECADE = 8
POSITIVE_ERROR = 0.005              # of |Z|: keeps the damping resistance within some 5 % up to the end of the band
ZERO_ERROR = 0.015                  # the construction is not known better for the return path


class CableConstants(NamedTuple):
    """Distributed parameters of a cable.

    Attributes
    ----------
    frequency : float
        At which resistances, inductances, surge impedance and speed are stated. [Hz]
    dc_resistance : float
        Of the conductor at its temperature. [ohm/m]
    ac_resistance_iec : float
        Of the conductor by IEC 60287, without losses in screen and armour. [ohm/m]
    positive, zero : FosterFit
    resistance, inductance, zero_resistance, zero_inductance : float
        Of the fits at `frequency`, losses in the metal around included. [ohm/m, H/m]
    capacitance, zero_capacitance : float
        Equal: every core has its own screen. [F/m]
    conductance : float
        Of the insulation at `frequency`, from the loss tangent. [S/m]
    surge_impedance, velocity : float
        Lossless, with the positive sequence's inductance at `frequency`. [ohm, m/s]
    front_surge_impedance, front_velocity : float
        The same with the inductance at the top of the band. [ohm, m/s]
    layout : Layout
    """

    frequency: float
    dc_resistance: float
    ac_resistance_iec: float
    positive: FosterFit
    zero: FosterFit
    resistance: float
    inductance: float
    zero_resistance: float
    zero_inductance: float
    capacitance: float
    zero_capacitance: float
    conductance: float
    surge_impedance: float
    velocity: float
    front_surge_impedance: float
    front_velocity: float
    layout: Layout


@lru_cache(maxsize=256)
def design_cable(construction: Construction, frequency: float) -> CableConstants:
    """Distributed parameters from the construction.

    Parameters
    ----------
    construction : Construction
    frequency : float
        Rated frequency. [Hz]  > 0

    Returns
    -------
    CableConstants
        Its fits' errors say how well they follow the impedance over `BAND`.

    Raises
    ------
    ValueError
        With every mistake of the construction.

    Sources
    -------
    See the head of this module.
    """
    layout = lay_out(construction)
    section = find_section(construction, layout)
    resistance = hot_conductor(construction)
    positive = fit_band(positive_impedance, section, resistance, POSITIVE_ERROR)
    zero = fit_band(zero_impedance, section, zero_dc_resistance(section), ZERO_ERROR)
    capacitance = iec60287.core_capacitance(construction.permittivity, layout.insulation_inner,
                                            layout.insulation_outer)
    r1, l1 = read_fit(positive, frequency)
    r0, l0 = read_fit(zero, frequency)
    top = read_fit(positive, BAND[1])[1]
    return CableConstants(
        frequency, resistance,
        iec60287.ac_resistance(resistance, frequency, 2.0 * layout.conductor, layout.spacing),
        positive, zero, r1, l1, r0, l0, capacitance, capacitance,
        2.0 * pi * frequency * capacitance * construction.loss_tangent,
        sqrt(l1 / capacitance), 1.0 / sqrt(l1 * capacitance),
        sqrt(top / capacitance), 1.0 / sqrt(top * capacitance), layout)


def fit_band(impedance, section, dc_resistance, error):
    """Circuit of an impedance function of (s, section) over `BAND`, to an error of its magnitude."""
    frequency = np.geomspace(*BAND, int(POINTS_PER_DECADE * log10(BAND[1] / BAND[0])) + 1)
    return fit_foster(frequency, impedance(2j * pi * frequency, section), dc_resistance, error)


def read_fit(fit: FosterFit, frequency: float) -> tuple[float, float]:
    """Resistance [ohm/m] and inductance [H/m] of a fit at a frequency [Hz]."""
    z = complex(foster_impedance(fit, 2j * pi * frequency))
    return z.real, z.imag / (2.0 * pi * frequency)


def adjust(fit: FosterFit, frequency: float, resistance: float | None = None,
           inductance: float | None = None) -> FosterFit:
    """Shift R and L of a fit so that it gives stated values at a frequency; its pairs stay.

    Parameters
    ----------
    fit : FosterFit
    frequency : float
        [Hz]
    resistance, inductance : float or None
        Stated values at that frequency, None to leave the fit's own. [ohm/m, H/m]

    Returns
    -------
    FosterFit

    Raises
    ------
    ValueError
        If R or L would not stay positive.
    """
    r, l = read_fit(fit, frequency)
    series = fit.resistance + (0.0 if resistance is None else resistance - r)
    leak = fit.inductance + (0.0 if inductance is None else inductance - l)
    mistakes = []
    if resistance is not None and not series > 0.0:
        mistakes.append(f"resistance of {resistance * 1e3:.4g} ohm/km at {frequency:g} Hz is below the "
                        f"{(r - fit.resistance) * 1e3:.4g} ohm/km that skin effect and screens alone add")
    if inductance is not None and not leak > 0.0:
        mistakes.append(f"inductance of {inductance * 1e6:.4g} mH/km at {frequency:g} Hz is below the "
                        f"{(l - fit.inductance) * 1e6:.4g} mH/km that goes with skin effect and screens alone")
    if mistakes:
        raise ValueError("; ".join(mistakes) + ": state the constants without the construction, or correct one of them")
    return fit._replace(resistance=series, inductance=leak)
