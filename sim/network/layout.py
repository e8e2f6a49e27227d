"""Where everything stands in the states of both engines: first columns, counted once.

Columns of x (both engines): node voltages, link currents, link capacitor voltages, oscillator states p, then q, Foster
states y (cable by cable, branch by branch, one for each oscillator), flux linkages (stator, cage 1, cage 2 of each
machine).  Columns of r (envelope engine): speeds of motors, speeds of second masses, twists of the shafts to them,
states of the drives.  Scalars of a stage of the envelope engine: speeds of motors, what each drive measures,
magnitudes of the fluxes of main paths and cores.
"""

from typing import NamedTuple

import numpy as np

from sim.kernels.columns import DRIVE_SCALARS, DRIVE_STATES, WINDINGS


class Layout(NamedTuple):
    """First column of each group; node voltages and motor speeds begin at 0."""

    link: int
    capacitor: int
    p: int
    q: int
    foster: int
    flux: int
    columns: int            # of x
    load_speed: int
    twist: int
    drive: int
    rows: int               # of r
    seen: int               # what drives measure, among the scalars
    size: int               # magnitudes of fluxes, main paths first
    core: int               # those of cores
    scalars: int

    @property
    def nodes(self) -> slice:
        return slice(0, self.link)

    @property
    def links(self) -> slice:
        return slice(self.link, self.capacitor)

    @property
    def capacitors(self) -> slice:
        return slice(self.capacitor, self.p)

    @property
    def oscillators(self) -> slice:
        """States p, q and y of the cables."""
        return slice(self.p, self.flux)

    @property
    def fluxes(self) -> slice:
        return slice(self.flux, self.columns)

    @property
    def speeds(self) -> slice:
        return slice(0, self.load_speed)

    @property
    def load_speeds(self) -> slice:
        return slice(self.load_speed, self.twist)

    @property
    def twists(self) -> slice:
        return slice(self.twist, self.drive)

    @property
    def drives(self) -> slice:
        return slice(self.drive, self.rows)


def make_layout(nodes: int, links: int, oscillators: int, fosters: int, machines: int, drives: int,
                cores: int) -> Layout:
    """Layout of a network with so many of each."""
    x = np.cumsum([nodes, links, links, oscillators, oscillators, fosters, WINDINGS * machines])
    r = np.cumsum([machines, machines, machines, DRIVE_STATES * drives])
    scalars = np.cumsum([machines, DRIVE_SCALARS * drives, machines, cores])
    return Layout(*map(int, (*x, *r, *scalars)))


def drive_rows(layout: Layout, r: np.ndarray) -> np.ndarray:
    """View of the states of all drives inside r, shape (D, DRIVE_STATES)."""
    return r[layout.drives].reshape(-1, DRIVE_STATES)


def flux_rows(layout: Layout, x: np.ndarray) -> np.ndarray:
    """View of the flux linkages of all machines inside x of shape (n,), shape (A, 3)."""
    return x[layout.fluxes].reshape(-1, WINDINGS)
