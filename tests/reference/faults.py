r"""Short circuits by symmetrical components, from the sequence impedances seen at the fault.

The fault is a star: `phase` [ohm] from every phase that takes part to the fault point, `earth` [ohm] from there
to earth.  With I0, I1, I2 the sequence currents of phase a into the fault and Y0 = 1/Z0 (0 when no neutral is
earthed and no capacitance counts),

    V0 = -I0/Y0,    V1 = E - Z1 I1,    V2 = -Z2 I2,

one phase in series, two phases and earth in parallel, two phases alone across each other, three phases in the
positive sequence alone.  Phases turn a, b, c, so the reference phase of a pair is the one it leaves out.

Source: W. D. Stevenson, *Elements of Power System Analysis*, 4th ed., chapters 12 and 13; the same networks are
the base of IEC 60909-0.  From memory, to be checked; the tests prove them on nodal solutions in phase coordinates.
"""

from typing import NamedTuple

import numpy as np

from .three_phase import SEQUENCE

PHASES = "abc"
KINDS = ("a", "b", "c", "ab", "bc", "ca", "abc")


class Thevenin(NamedTuple):
    """The network seen at the fault: phase-a emf to earth [V] and sequence impedances [ohm]; zero may be inf."""

    emf: complex
    zero: complex
    positive: complex
    negative: complex


class Fault(NamedTuple):
    """Phasors in the scaling of the emf: phase currents into the fault [A], voltages at it to earth [V], and the
    displacement of the neutral, a third of the sum of these voltages [V]."""

    currents: np.ndarray
    voltages: np.ndarray
    displacement: complex


def solve_fault(seen: Thevenin, phases, phase=0.0, earth=0.0, earthed=True) -> Fault:
    """Fault of some phases, such as "a", "bc" or "abc".

    Parameters
    ----------
    phase, earth : float
        Resistance of each phase to the fault point, and of this point to earth. [ohm]
    earthed : bool
        Whether the fault point touches earth; a single phase always does.
    """
    solution = {1: _one_phase, 2: _two_phases if earthed else _pair, 3: _three_phases}[len(phases)]
    reference = PHASES.index(phases) if len(phases) == 1 else _left_out(phases)
    turn = np.exp(-2j * np.pi / 3.0 * reference)
    y0 = 0.0 if np.isinf(seen.zero) else 1.0 / seen.zero
    zero, one, two, v0 = solution(seen._replace(emf=seen.emf * turn), y0, phase, earth)
    v = np.array([v0, seen.emf * turn - seen.positive * one, -seen.negative * two])
    currents, voltages = (np.roll(SEQUENCE @ part, reference) for part in (np.array([zero, one, two]), v))
    return Fault(currents, voltages, v0)


def _left_out(phases):
    return 0 if len(phases) == 3 else next(k for k, name in enumerate(PHASES) if name not in phases)


def _one_phase(seen, y0, phase, earth):
    """All three sequence networks in series with three times the resistance to earth."""
    path = seen.positive + seen.negative + 3.0 * (phase + earth)
    v0 = -seen.emf / (1.0 + y0 * path)
    return -y0 * v0, -y0 * v0, -y0 * v0, v0


def _two_phases(seen, y0, phase, earth):
    """Negative and zero sequence side by side, in series with the positive."""
    low = y0 / (1.0 + y0 * (phase + 3.0 * earth))
    one = seen.emf / (seen.positive + phase + 1.0 / (low + 1.0 / (seen.negative + phase)))
    across = seen.emf - (seen.positive + phase) * one
    zero = -low * across
    # the zero-sequence voltage at the terminals: that of the fault's own resistances
    return zero, one, -across / (seen.negative + phase), across + (phase + 3.0 * earth) * zero


def _pair(seen, y0, phase, earth):
    """Positive against negative sequence; the fault point floats, no zero sequence."""
    one = seen.emf / (seen.positive + seen.negative + 2.0 * phase)
    return 0.0, one, -one, 0.0


def _three_phases(seen, y0, phase, earth):
    """Positive sequence alone, with earth or without."""
    return 0.0, seen.emf / (seen.positive + phase), 0.0, 0.0


def fault_element(names, phase, earth=None):
    """Terminals and admittance matrix of the same star, for nodal solutions.

    Parameters
    ----------
    names : sequence
        Terminals of the phases that take part.
    phase : float
        [ohm]  > 0
    earth : float or None
        None leaves the fault point off earth. [ohm]
    """
    g = 1.0 / phase
    down = 0.0 if earth is None else np.inf if earth == 0.0 else 1.0 / earth
    joined = 0.0 if np.isinf(down) else g * g / (len(names) * g + down)
    return tuple(names), g * np.eye(len(names)) - joined
