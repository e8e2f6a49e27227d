"""The gear of a breaker: when its poles move, how a contact closes, which orders are called off."""

from types import SimpleNamespace

import numpy as np
import pytest

from engines.circuits import breaker, build, grid, shunt
from sim.engines.waveform.engine import make_watch
from sim.engines.waveform.gear import CLOSING_OHM, CLOSING_STEPS, Gear, Sweep, Timing, closing_advance

STEP = 1e-5


@pytest.fixture
def gear():
    _, network = build(grid(), breaker("bus", "head", closed=False), shunt("head", resistance_ohm=10.0))
    made = Gear(network, {0: Timing(closing=(0.0, 2e-3, 1e-3), opening=(3e-3, 0.0, 1e-3))}, STEP)
    return made, SimpleNamespace(opening=np.zeros((1, 3), np.int64)), make_watch(network)


def follow(gear, until, t=0.0):
    """Which poles began to move at which step, from t on."""
    made, state, watch = gear
    seen = []
    while t < until:
        before = set(made.sweeps), state.opening.copy()
        made.act(state, watch, t, STEP)
        seen += [(round(t, 7), "close", phase) for _, phase in sorted(set(made.sweeps) - before[0])]
        seen += [(round(t, 7), "part", phase) for phase in np.flatnonzero(state.opening[0] > before[1][0])]
        t += STEP
    return seen


def test_poles_close_after_their_own_delays(gear):
    gear[0].order_close(0, 1e-3)
    assert gear[0].next_time() == pytest.approx(1e-3) and gear[0].is_moving()
    assert [(phase, pytest.approx(t, abs=STEP)) for t, _, phase in follow(gear, 5e-3)] == [
        (0, 1e-3), (2, 2e-3), (1, 3e-3)]


def test_poles_part_after_their_own_delays_and_wait(gear):
    gear[0].place([True])
    gear[0].order_open(0, 1e-3)
    moved = follow(gear, 6e-3)
    assert [(phase, what) for _, what, phase in moved] == [(1, "part"), (2, "part"), (0, "part")]
    assert [t for t, _, _ in moved] == pytest.approx([1e-3, 2e-3, 4e-3], abs=STEP)
    assert gear[1].opening.all() and (gear[0].pole_g > 0.0).all()


def test_an_order_to_open_calls_off_what_has_not_closed_yet(gear):
    gear[0].order_close(0, 1e-3)
    assert [phase for _, _, phase in follow(gear, 1.5e-3)] == [0]
    gear[0].order_open(0, 1.6e-3)
    assert all(what == "part" for _, what, _ in follow(gear, 8e-3, 1.6e-3))


def test_a_contact_sweeps_its_resistance_geometrically():
    """Equal factors from 10 kilo-ohm to 0.1 ohm over the steps of a front, then the closed contact."""
    sweep = Sweep(1.0 / CLOSING_OHM[0], 1.0 / CLOSING_OHM[1], 2e4)
    found = []
    for _ in range(CLOSING_STEPS + 1):
        found.append(sweep.conductance())
        sweep.taken += 1
    assert found[0] == pytest.approx(1e-4) and found[-1] == 2e4
    assert found[1:-1] == pytest.approx(np.geomspace(1e-4, 10.0, CLOSING_STEPS + 1)[1:-1])
    assert closing_advance(2.0 * STEP) == pytest.approx(2.0 * closing_advance(STEP))


def test_a_slow_contact_holds_each_level_for_several_steps():
    """The same sweep, four steps a level, and the same share of it before the middle of the front."""
    quick, slow = (Sweep(1.0 / CLOSING_OHM[0], 1.0 / CLOSING_OHM[1], 2e4, hold) for hold in (1, 4))
    for _ in range(CLOSING_STEPS + 1):
        assert slow.conductance() == quick.conductance()
        quick.taken += 1
        slow.taken += 4
    assert quick.is_done and slow.is_done
    slow.taken = 4 * CLOSING_STEPS - 1
    assert not slow.is_done


def test_fronts_of_unlike_contacts_have_their_middle_at_one_time():
    """The slowest begins at the order, a quicker one later by the difference of their leads."""
    _, network = build(grid(), breaker("bus", "head", closed=False), breaker("bus", "tail", name="other", closed=False),
                       shunt("head", resistance_ohm=10.0), shunt("tail", "load", resistance_ohm=10.0))
    made = Gear(network, {}, STEP, np.array([STEP, 5.0 * STEP]))
    begins = []
    for switch in range(2):
        made.agenda = []
        made.order_close(switch, 1e-3)
        begins.append(made.next_time() + closing_advance(made.levels[switch]))
    assert begins == pytest.approx([1e-3 + made.lead] * 2) and made.lead == closing_advance(5.0 * STEP)


def test_a_pole_that_interrupts_leaves_a_record(gear):
    made, state, watch = gear
    made.place([True])
    made.order_open(0, 1e-3)
    follow(gear, 2e-3)
    made.interrupt(state, watch, 0, 1, 1.5e-3, -4.0)
    assert made.pole_g[0].tolist()[1] == 0.0 and state.opening[0, 1] == 0
    assert watch.separated[0, 1] == pytest.approx(1e-3)
    made.reignite(state, 0, 1, 1.6e-3)
    assert made.pole_g[0, 1] > 0.0
    made.conclude(watch)
    one = next(record for record in made.interruptions if record.pole == "b")
    assert (one.switch, one.opened, one.chopped, one.reignitions) == ("gear", 1.5e-3, 4.0, 1)
    assert one.separated == pytest.approx(1e-3) and one.ordered == pytest.approx(1e-3)
