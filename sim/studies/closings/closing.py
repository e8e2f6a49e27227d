"""One closing of a breaker from the grids' steady state, by the waveform engine alone.

The situation is that of the first state of a run: grids in steady state, drives and machines at rest, every other
breaker where it is at the start.  Events and faults of the case do not happen.  Because a steady state only turns,
a closing begins where its first pole begins to close, at that moment's angles, and nothing is integrated before it.
"""

from math import ceil, pi
from typing import Any

import numpy as np

from sim.engines.handover import to_waveform
from sim.engines.run.first_state import charge_cable, find_first_state, list_charges
from sim.engines.waveform.engine import WaveformEngine, choose_steps, make_watch
from sim.engines.waveform.gear import closing_advance, read_timing
from sim.errors import CaseError, SolveError
from sim.kernels.columns import PEAK_EARTH, PEAK_PHASE, SOURCE_GRID
from sim.network.build import build_network
from sim.network.tables import is_inner
from sim.studies.closings.draws import Closing

NOTHING_STORED = 2**62      # a stride that no run reaches
SHELF = 2**27               # memory for coefficients: three poles in any order pass 576 positions [byte]
SHELF_MOST = 4096           # coefficients kept; beyond, poles that close together hardly meet the same position again
DEAD = 0.01                 # a node with less of its nominal voltage is not live


class Situation:
    """A network and its engine, built once, before any number of closings.

    Parameters
    ----------
    case : CheckedCase

    Raises
    ------
    CaseError
        When the case has no closings at random, or its breaker nothing to switch.
    """

    def __init__(self, case: Any):
        self.case, self.breaker = case, find_breaker(case)
        self.network = build_network(case)
        self.names = [name for name in self.network.node_names if not is_inner(name)]
        self.rows = [self.network.node_names.index(name) for name in self.names]
        self.switch = self.network.switch_names.index(self.breaker.name)
        self.first, loaded = find_first_state(self.network)
        mistakes = list_obstacles(self, loaded)
        if mistakes:
            raise CaseError(mistakes)
        self.timings = {self.switch: read_timing(self.breaker)}
        regular, fine = choose_steps(case.study, self.network.bands)
        self.engine = WaveformEngine(self.network, regular, NOTHING_STORED, timings=self.timings, fine=fine)
        self.engine.cache.most = max(self.engine.cache.most, min(SHELF_MOST, SHELF // (72 * len(self.rows) ** 2)))

    def shoot(self, closing: Closing) -> np.ndarray:
        """Largest voltages of every node after one closing.

        Returns
        -------
        peaks : ndarray, shape (N, 2)
            Phase to earth and between phases, of the nodes in `names`. [V]

        Raises
        ------
        SolveError
        """
        moments = self.find_moments(closing)
        lead = closing_advance(self.engine.gear.levels[self.switch])
        begin = min(moments) - lead
        delays = tuple(self.whole_steps(moment - min(moments)) for moment in moments)
        state = self.make_state(begin, closing)
        engine = self.engine
        engine.make_gear(self.timings)
        engine.watch, engine.stirred = make_watch(self.network), np.inf
        engine.fine_until = engine.dense_until = -np.inf
        engine.gear.order_close(self.switch, 0.0, 0.0, delays)
        last = max(delays) + lead + self.timings[self.switch].inserted
        try:
            engine.advance(state, 0.0, self.whole_steps(last + self.case.shots.observe_s))
        except SolveError as error:
            raise SolveError(f"closing {closing.number}, {error.component}", begin + error.time_s,
                             error.remedy) from None
        return state.peak[self.rows][:, [PEAK_EARTH, PEAK_PHASE]]

    def find_moments(self, closing: Closing) -> list[float]:
        """When each pole closes; a breaker with a point on wave waits for it. [s]"""
        angle = self.timings[self.switch].angle
        start = closing.order if angle is None else closing.order + self.wait_for(closing.order, angle)
        return [start + delay for delay in closing.delays]

    def wait_for(self, moment: float, angle: float) -> float:
        """Time until phase a of the breaker's first node is at an angle from its rising zero, 0 at a dead node. [s]"""
        node = self.network.tables.switches.start[self.switch]
        if not self.is_live(node):
            return 0.0
        island = self.network.tables.nodes.island[node]
        w = self.first.frame_w[island]
        now = np.angle(self.first.x[node]) + self.first.theta[island] + w * moment
        return float((angle - 0.5 * pi - now) % (2.0 * pi)) / w

    def whole_steps(self, span: float) -> float:
        """A span of time as whole steps, so that every step of every closing has the same coefficients. [s]"""
        return ceil(span / self.engine.fine - 0.5) * self.engine.fine

    def make_state(self, begin: float, closing: Closing) -> Any:
        """The steady state at a moment [s], with the charges of the cables; the clock of the grids is set to it."""
        sources, first = self.network.tables.sources, self.first
        phase = sources.phase + np.where(sources.kind == SOURCE_GRID, sources.w * begin, 0.0)
        state = to_waveform(self.network, first._replace(theta=first.theta + first.frame_w * begin, phase=phase))
        charges = dict(list_charges(self.case)) | dict(zip(self.case.shots.trapped_cables, closing.charges))
        for name, shares in charges.items():
            charge_cable(self.network, state, name, shares)
        return state

    def is_live(self, node: int) -> bool:
        """Whether a node has voltage before the closing."""
        return bool(abs(self.first.x[node]) > DEAD * self.network.node_volts[node])


def find_breaker(case: Any) -> Any:
    """The breaker that closes at random.

    Raises
    ------
    CaseError
    """
    if case.shots is None:
        raise CaseError(["shots: missing. Add a [shots] table with breaker = the name of the breaker that closes at "
                         "random."])
    breaker = next(breaker for breaker in case.breakers if breaker.name == case.shots.breaker)
    if breaker.closed:
        raise CaseError([f"shots.breaker = {breaker.name}: is closed at the start of the run. Write closed = false "
                         "for it, or name another breaker."])
    return breaker


def list_obstacles(situation: Situation, loaded: list[str]) -> list[str]:
    """What keeps the closings from beginning in a steady state, a sentence each."""
    if loaded:
        return [f"shots: {', '.join(loaded)} at standstill on a live grid leave no steady state to close from. Put an "
                "open breaker before each."]
    tables, name = situation.network.tables, situation.breaker.name
    ends = (tables.switches.start[situation.switch], tables.switches.end[situation.switch])
    mistakes = [] if any(map(situation.is_live, ends)) else [
        f"shots.breaker = {name}: no voltage on either side, grids alone are live before the closings. Name a breaker "
        "next to a live grid, or close the breakers before it."]
    for cable in situation.case.shots.trapped_cables:
        first, _ = situation.network.cable_rows[situation.network.cable_names.index(cable)]
        if situation.is_live(tables.cables.start[first]):
            mistakes.append(f"shots.trapped_cables: {cable} is live before the closings and holds no charge. Take it "
                          "out of the list, or open the breaker that feeds it.")
    return mistakes
