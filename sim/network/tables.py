"""The arrays that the kernels read, one group per kind of element.

Everything symmetrical lives in Clarke coordinates (alpha, beta, zero) with the orthonormal, power
invariant transform: three-phase power is v . i, the magnitude of alpha + j beta is the line-to-line RMS
voltage (or sqrt(3) times the RMS phase current).  Row 0 of a two-row array is the positive (and
negative) sequence, row 1 the zero sequence.  Breaker poles and nonlinear ports are resolved by phase.

A *link* is a series R-L-C branch; it sees ``dv = wf v_start + wt v_end`` plus its source.  The weights
hold a transformer's ratio and clock number: complex for alpha + j beta, real for the zero sequence.

Nothing here changes during a run: whatever evolves, the modes of drives and front ends included, is in the states of
the engines, whose columns `sim.network.layout` counts.
"""

from typing import NamedTuple

import numpy as np

from sim.network.layout import Layout

EARTH = -1
STRAY = 1e-9            # capacitance of a node within a component [F]
INNER = (".bridge", ".star", ".star_from", ".star_to")     # endings of nodes within a component

CLARKE = np.sqrt(2.0 / 3.0) * np.array([[1.0, -0.5, -0.5],
                                        [0.0, np.sqrt(0.75), -np.sqrt(0.75)],
                                        [np.sqrt(0.5), np.sqrt(0.5), np.sqrt(0.5)]])


class Nodes(NamedTuple):
    c: np.ndarray               # (2, N) capacitance to earth [F]
    g: np.ndarray               # (2, N) conductance to earth [S]
    island: np.ndarray          # (N,)


class Links(NamedTuple):
    start: np.ndarray           # (B,) node or EARTH
    end: np.ndarray             # (B,)
    r: np.ndarray               # (2, B) [ohm]
    l: np.ndarray               # (2, B) [H]
    s: np.ndarray               # (2, B) elastance [1/F]
    wf: np.ndarray              # (B,) complex
    wt: np.ndarray              # (B,) complex
    zf: np.ndarray              # (B,)
    zt: np.ndarray              # (B,)
    island: np.ndarray          # (B,)


class Cables(NamedTuple):
    start: np.ndarray           # (K,)
    end: np.ndarray             # (K,)
    first: np.ndarray           # (K+1,) first oscillator of each cable
    end_c: np.ndarray           # (2, K) capacitance at each end, already part of the nodes [F]
    island: np.ndarray          # (K,)
    w: np.ndarray               # (2, M) [rad/s]
    gf: np.ndarray              # (2, M) [1/sqrt(H)]
    gt: np.ndarray              # (2, M)
    a: np.ndarray               # (2, M) series decay rate [1/s]
    b: np.ndarray               # (2, M) shunt decay rate [1/s]
    branch: np.ndarray          # (K+1,) first Foster branch of each cable
    foster: np.ndarray          # (K+1,) first Foster state of each cable
    alpha: np.ndarray           # (2, branches) rate of a Foster branch [1/s]
    beta: np.ndarray            # (2, branches) its coupling to the oscillators [1/s]


class Switches(NamedTuple):
    """Three poles each; those of a fault meet in a star point instead of an end node."""

    start: np.ndarray           # (Q,)
    end: np.ndarray             # (Q,) node, or EARTH for a fault
    g: np.ndarray               # (Q,) conductance of a closed pole [S]
    star: np.ndarray            # (Q,) from a fault's star point to earth, inf when solid; -1: a breaker [S]
    chop: np.ndarray            # (Q,) current below which a waiting pole opens [A]
    race: np.ndarray            # (Q, 4) strength of the gap: first [V], growth [V/s] (0: none), most [V]; quench [A/s]


class Ports(NamedTuple):
    """Nonlinear elements, a row for each phase or limb: current is an odd piecewise-linear function of flux or voltage.

    A port sees `weight` . (alpha, beta, zero) of its node.  A saturable limb carries what its current exceeds the
    linear link beside it; its argument is the flux linkage L i of that link.  An arrester's argument is its voltage.
    """

    node: np.ndarray            # (P,)
    link: np.ndarray            # (P,) link whose flux it carries, -1: an arrester
    weight: np.ndarray          # (P, 3)
    offset: np.ndarray          # (P,) remanent flux [V s]
    first: np.ndarray           # (P+1,) slices of the curves
    x: np.ndarray               # flat curves: flux [V s] or voltage [V], ascending, current 0 up to the first point
    i: np.ndarray               # flat curves: current [A]; the last segment goes on


class Cores(NamedTuple):
    """Saturable links as a space vector sees them: the fundamental of three limbs (describing function)."""

    link: np.ndarray            # (W,)
    knee: np.ndarray            # (W, KNEES) magnitudes of the flux linkage at which the curve bends, inf: none [V s]
    excess: np.ndarray          # (W, KNEES) what each adds to the inverse inductance, 0: none [1/H]


class Sources(NamedTuple):
    """Voltages behind a link each; a kind is a row of `sim.kernels.columns` and a branch of either engine's stage."""

    kind: np.ndarray            # (S,) SOURCE_GRID or SOURCE_DRIVE
    unit: np.ndarray            # (S,) drive whose output it is, -1: a grid
    volts: np.ndarray           # (S,) rated line-to-line RMS; of a grid the voltage it gives [V]
    w: np.ndarray               # (S,) rated angular frequency [rad/s]
    phase: np.ndarray           # (S,) grid: angle at t = 0 [rad]
    link: np.ndarray            # (S,) link that carries the source
    island: np.ndarray          # (S,)


class Drives(NamedTuple):
    """Drives, and the front ends of those that have one."""

    data: np.ndarray            # (D, DRIVE_COLUMNS), see `sim.kernels.columns`
    pulses: np.ndarray          # (D, PULSE_COLUMNS)
    link: np.ndarray            # (D,) link of the output
    island: np.ndarray          # (D,)
    front: np.ndarray           # (D,) link of the front end, or -1
    front_node: np.ndarray      # (D,) node that it takes its power from
    front_island: np.ndarray    # (D,)


class Monitors(NamedTuple):
    """What is looked at after every step: a row each, told to the run by its number and a code."""

    kind: np.ndarray            # (K,) MONITOR_DRIVE, MONITOR_FRONT or MONITOR_CORE
    item: np.ndarray            # (K,) drive or core


class Machines(NamedTuple):
    node: np.ndarray            # (A,)
    gamma: np.ndarray           # (A, 3, 3) inverse inductance: stator, cage 1, cage 2 [1/H]
    r: np.ndarray               # (A, 3) [ohm]
    pairs: np.ndarray           # (A,) pole pairs
    leak: np.ndarray            # (A, 3) inverse leakage inductance of each winding, 0 of an absent cage [1/H]
    whole: np.ndarray           # (A,) their sum and the inverse magnetising inductance [1/H]
    knee: np.ndarray            # (A, KNEES) flux linkages of the main path at which it bends, inf: none [V s]
    excess: np.ndarray          # (A, KNEES) what each adds to the inverse magnetising inductance, 0: none [1/H]
    j: np.ndarray               # (A,) inertia of motor and all that is stiffly joined to it [kg m2]
    train: np.ndarray           # (A, 3) inertia of a second mass, stiffness and damping of the shaft to it
    island: np.ndarray          # (A,)
    load: np.ndarray            # (A, LOAD_COLUMNS)
    first: np.ndarray           # (A+1,) slices of the load tables
    table_speed: np.ndarray     # flat tables: speed per unit of duty speed
    table_torque: np.ndarray    # flat tables: torque per unit of duty torque


class Islands(NamedTuple):
    source: np.ndarray          # (I,) source that sets the frame, or -1
    machine: np.ndarray         # (I,) machine whose rotor sets the frame when no source is live, or -1
    column: np.ndarray          # (n,) island of every column of the state
    w: np.ndarray               # (I,) rated angular frequency [rad/s]


class Tables(NamedTuple):
    """Network data in SI, independent of step and topology."""

    nodes: Nodes
    links: Links
    cables: Cables
    switches: Switches
    sources: Sources
    drives: Drives
    machines: Machines
    ports: Ports
    cores: Cores
    islands: Islands
    monitors: Monitors
    layout: Layout


def is_inner(name: str) -> bool:
    """Whether a node lies within a component: results leave it out."""
    return name.endswith(INNER)
