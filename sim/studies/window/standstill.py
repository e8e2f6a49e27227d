"""What a drive sees while its motors stand still, and once they turn.

The network is reduced to its saturable paths twice (`sim.phasors.reduction`): with the rotors of all motors at
standstill, and with idle motors (slip 0) for the flux alone.  Once a motor turns it draws little, the drops of a
boosted start are gone and the flux everywhere rises.
"""

from typing import Any, NamedTuple

import numpy as np

from sim.engines.run.orders import list_orders
from sim.network.build import Network
from sim.phasors.reduction import Paths, Reduced, reduce_network


class Standstill(NamedTuple):
    """One drive and what it feeds at F frequencies, rotors blocked and idle."""

    blocked: Reduced
    idle: Reduced

    @property
    def hz(self) -> np.ndarray:
        """Start frequencies, shape (F,). [Hz]"""
        return self.blocked.hz

    @property
    def paths(self) -> Paths:
        """Everything whose flux is watched."""
        return self.blocked.paths


def stand_still(network: Network, source: int, closed: np.ndarray, hz: np.ndarray) -> Standstill:
    """What source row `source` feeds at frequencies [Hz], shape (F,), with switches in given positions."""
    blocked, idle = (reduce_network(network, source, closed, hz, slip) for slip in (1.0, 0.0))
    return Standstill(blocked, idle)


def close_for_start(case: Any, network: Network, drive: Any) -> tuple[np.ndarray, float]:
    """Position of every switch while a drive holds its start frequency, and when the drive starts. [s]"""
    orders = list_orders(case, 0.0)
    start = next(order.t for order in orders if order.action == "start" and order.target == drive.name)
    closed = network.closed.copy()
    for order in orders:
        if order.action in ("open", "close") and order.t <= start + drive.hold_s:
            closed[network.switch_names.index(order.target)] = order.action == "close"
    closed[network.switch_names.index(drive.name)] = True
    return closed, start
