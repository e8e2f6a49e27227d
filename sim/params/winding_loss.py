"""Loss of windings that rises with frequency: a resistance across the leakage or the coil.

Eddy currents in conductors, core and tank let the resistance of a winding rise with frequency.  A resistance R_p across
the inductance L does that, passively and exactly at direct current:

    Z = R_s + j w L R_p / (R_p + j w L)  ~  R_s + (w L)^2 / R_p + j w L

so that the quality X/R of what is lost there falls as 1/f, R_p / (w L).  It is stated at 10 kHz.

Ranges
------
- 4 to 7 at the natural frequency of a transformer, 5 to 60 kHz: what amplitude factors of 1.7 to 1.8 of the recovery
  voltage of transformer-limited faults mean, 1 + exp(-pi/(2 Q)) (IEC 62271-100, duties T10 and T30; IEEE C37.011; from
  memory, to be checked).
- 1 to 3 at 10 kHz, for a short-circuit impedance of 10 %: R_p of 13 to 30 times the rated impedance, a rule for
  harmonics up to about 2.5 kHz (CIGRE WG 36-05, Electra 77, 1981; from memory, to be checked).
- 5 to 30 at 10 kHz: common practice for reactors and distribution transformers.

The default of 10 is on the careful side: less damping than most windings have.
"""

import numpy as np

QUALITY_HZ = 1e4


def split_loss(reactance: float, resistance: float, quality: float, frequency_hz: float) -> tuple[float, float]:
    """Resistance in series with a winding's inductance and across it, the loss at rated frequency as given.

    Parameters
    ----------
    reactance, resistance : float
        At rated frequency. [ohm]
    quality : float
        X/R of the loss that rises with frequency, at QUALITY_HZ. [1]
    frequency_hz : float
        Rated frequency. [Hz]

    Returns
    -------
    series, across : float
        [ohm]; infinite across a winding without any loss.  It never takes more than the given loss: a winding of very
        high quality at rated frequency has all of it across.

    Checked by
    ----------
    tests/params/test_winding_loss.py
    """
    if resistance <= 0.0:
        return 0.0, np.inf
    across = max(quality * reactance * QUALITY_HZ / frequency_hz, reactance**2 / resistance)
    return max(resistance - reactance**2 / across, 0.0), across
