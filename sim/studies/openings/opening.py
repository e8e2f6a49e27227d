"""One opening of a breaker from a state that a run held, by the waveform engine alone.

The state is that of the run as its order to open came.  From there the run goes on with closed contacts up to the
moment of each opening; other orders of the case do not happen.
"""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from sim.engines.waveform.engine import WaveformEngine, choose_steps, copy_state, make_watch, race_steps
from sim.engines.waveform.gear import read_timing
from sim.errors import SolveError
from sim.kernels.columns import PEAK_EARTH, PEAK_PHASE
from sim.network.build import build_network
from sim.network.tables import is_inner

NOTHING_STORED = 2**40      # a stride that no run reaches, finer steps included
PIECE = 1e-3                # between looks at the poles [s]
PERIODS_MOST = 3.0          # followed at the most after the order to open
STRIKES_MOST = 200          # an opening with so many re-ignitions is not followed further: no insulation stands that


class Outcome(NamedTuple):
    """Largest voltages to earth and between phases (N, 2) [V], re-ignitions, energy of each arrester's worst phase
    [J], and whether it was not followed to its end."""

    peaks: np.ndarray
    reignitions: int
    energy: list[float]
    cut: bool


class Breaking:
    """A network and its engine, built once, before any number of openings of one breaker.

    Parameters
    ----------
    case : CheckedCase
    breaker : str
    """

    def __init__(self, case: Any, breaker: str):
        self.network = build_network(case)
        self.switch = self.network.switch_names.index(breaker)
        self.names = [name for name in self.network.node_names if not is_inner(name)]
        self.rows = [self.network.node_names.index(name) for name in self.names]
        ports = self.network.port_names, self.network.tables.ports.link
        self.arresters = list(dict.fromkeys(name for name, link in zip(*ports) if link < 0))
        record = next(one for one in case.breakers if one.name == breaker)
        self.timings = {self.switch: read_timing(record)}
        self.period = 2.0 * np.pi / float(self.network.switch_w[self.switch])
        regular, fine = choose_steps(case.study, self.network.bands)
        self.engine = WaveformEngine(self.network, regular, NOTHING_STORED, timings=self.timings, fine=fine,
                                     racing=race_steps(self.network, regular, fine))

    def walk(self, held: Any, moments: list[float]) -> Iterator[tuple[float, Any]]:
        """States with closed contacts at ascending moments [s]."""
        state, t = copy_state(held.state), held.t
        self._set_out(held.pole_g)
        for moment in moments:
            if moment > t:
                t, _ = self.engine.advance(state, t, moment)
            yield t, copy_state(state)

    def open(self, t: float, state: Any, pole_g: np.ndarray, most: int = STRIKES_MOST) -> Outcome:
        """What an order to open at a moment [s] leaves; it ends half a period after the last pole has moved, or with
        `most` re-ignitions.

        Raises
        ------
        SolveError
        """
        state, engine = copy_state(state), self.engine
        self._set_out(pole_g)
        state.peak[:] = 0.0
        engine.open(self.switch, t)
        until, quiet = t + PERIODS_MOST * self.period + max(self.timings[self.switch].opening), t
        while t < until and self._count() < most and not (self._is_open() and t > quiet + 0.5 * self.period):
            t, _ = engine.advance(state, t, t + PIECE)
            engine.recorder.blocks.clear()
            quiet = max([quiet, *(moved[0] for moved in engine.gear.moved)])
            engine.gear.moved.clear()
        taken = np.array(engine.watch.taken)
        energy = [float(taken[[p for p, name in enumerate(self.network.port_names) if name == arrester]].max())
                  for arrester in self.arresters]
        return Outcome(state.peak[self.rows][:, [PEAK_EARTH, PEAK_PHASE]].copy(), self._count(), energy,
                       self._count() >= most)

    def _count(self) -> int:
        """Re-ignitions of this opening so far."""
        return sum(one.reignitions for (switch, _), one in self.engine.gear.attempts.items() if switch == self.switch)

    def _is_open(self) -> bool:
        return not self.engine.gear.pole_g[self.switch].any() and not self.engine.gear.is_moving()

    def _set_out(self, pole_g: np.ndarray) -> None:
        """Engine with fresh gear and nothing followed yet."""
        engine = self.engine
        engine.make_gear(self.timings)
        engine.watch = make_watch(self.network)
        engine.gear.pole_g = pole_g.copy()
        engine.dense_until = engine.fine_until = engine.race_until = -np.inf
        engine.stirred = np.inf
        engine.recorder.blocks.clear()


def explain_refused(error: SolveError) -> str:
    """Why an opening could not be followed."""
    return f"an opening could not be followed to its end: {error}"
