"""Charge left on a cable: it stays or drains, and a breaker that closes on it at the wrong moment launches twice the
difference; capacitive interruption that leaves it behind.

Waves of a lossless line (tests/reference/switching.py, three_pole_line.py).
"""

import numpy as np
import pytest
from energy_books import lost_share
from engines.circuits import CREST, breaker, cable, event, grid, level, list_moments, make_case, node, phases, shunt
from reference import switching

from sim.engines.run.timeline import simulate

W = 100.0 * np.pi
VOLTS = CREST * 1e4
TURNS = np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0
KM, HENRY, FARAD = 60.0, 0.41e-3, 0.18e-6           # per km; both sequences alike, next to no losses
TRAVEL = KM * np.sqrt(HENRY * FARAD)
LINE = {"km": KM, "resistance_ohm_per_km": 1e-5, "zero_resistance_ohm_per_km": 1e-5, "zero_inductance_mh_per_km": 0.41}
CHARGES = [-1.0, 1.0, 0.4]


def run(*parts, lost=2.5e-7, **study):
    """A run whose energy balance closes; nothing but fronts and what they leave behind costs more than rounding."""
    result = simulate(make_case(*parts, **study), "waveform")
    assert lost is None or lost_share(result) < lost
    return result


def test_charge_stays_without_leakage():
    """Nothing moves: not the voltage of either end, not a current, in 0.1 s."""
    result = run(grid(), breaker(closed=False), cable(trapped_pu=CHARGES, **LINE), duration=0.1, bandwidth_khz=1.0,
                 lost=None)
    assert result.energy.residual_pct < 2e-3           # nothing changes: of what went to and fro, measured 5e-4
    for name in ("head", "tail"):
        _, v = phases(result, name)
        assert v / VOLTS == pytest.approx(np.tile(CHARGES, (len(v), 1)), abs=1e-12)         # rounding
    assert not phases(result, "gear", "current")[1].any()
    zero = result.stretches[-1].signals["tail"]["voltage_zero"]
    assert zero / VOLTS == pytest.approx(np.mean(CHARGES), rel=1e-9)


def test_leakage_drains_it():
    """Time constant C'/G' = 0.18 s in all phases alike."""
    result = run(grid(), breaker(closed=False), cable(trapped_pu=CHARGES, conductance_us_per_km=1.0, **LINE),
                 duration=0.2, bandwidth_khz=1.0)
    t, v = phases(result, "tail")
    for time in (0.05, 0.1, 0.19):
        found = np.array([np.interp(time, t, v[:, k]) for k in range(3)]) / VOLTS
        assert found == pytest.approx(np.array(CHARGES) * np.exp(-time / 0.18), rel=1e-3)


def test_charge_drains_through_a_load():
    """60 km, 10.8 uF, through 100 kohm a phase: 1.08 s; all of the energy ends in the resistors."""
    result = run(grid(), breaker(closed=False), cable(trapped_pu=[0.5, -0.5, 1.0], **LINE),
                 shunt("tail", resistance_ohm=1e5), duration=0.3, bandwidth_khz=1.0)
    t, v = phases(result, "head")
    lasting = 1e5 * (KM * FARAD + 2e-9)
    found = np.array([np.interp(0.29, t, v[:, k]) for k in range(3)]) / VOLTS
    assert found == pytest.approx(np.array([0.5, -0.5, 1.0]) * np.exp(-0.29 / lasting), rel=2e-3)
    stored = 0.5 * KM * FARAD * VOLTS**2 * 1.5
    assert result.energy.dissipated == pytest.approx(stored * (1.0 - np.exp(-0.6 / lasting)), rel=5e-3)


def test_reclosing_on_opposite_charge_gives_three():
    """-1 pu on phase a, closed at its crest of +1 pu: -1 + 2 (1 + 1) = 3 pu at the open end, waves and all.

    Away from the fronts (a third of a period of 5 kHz wide, doubled by what of it precedes the order) the far end
    follows the waves of a lossless line within what its band leaves of the fronts: 0.1 % of ripple, and 10 us of time.
    """
    at = 0.02
    result = run(grid(mva=1e5), breaker(closed=False), cable(trapped_pu=CHARGES, **LINE), event(at, "close"),
                 duration=at + 4.0 * TRAVEL, lost=6e-4, bandwidth_khz=5.0)
    t, v = phases(result, "tail")
    assert v[:, 0].max() / VOLTS == pytest.approx(switching.reclosing_peak(1.0, -1.0), rel=1e-3)
    fronts = at + TRAVEL * np.array([1.0, 3.0])
    away = (t > at) & (np.abs(t[:, None] - fronts).min(axis=1) > 1.5e-4)
    for phase in range(3):
        exact = switching.open_end_voltage(t - at, TRAVEL, CHARGES[phase] * VOLTS,
                                           lambda since, k=phase: VOLTS * np.cos(W * (at + since) + TURNS[k]))
        assert np.abs(v[away, phase] - exact[away]).max() < 2e-3 * 4.0 * VOLTS      # waves of up to 2 pu, doubled


def test_reclosing_pole_by_pole_meets_each_phase_at_its_own_voltage():
    """Each pole at the crest of its phase, opposite to its charge: 3 pu on all three."""
    at = 0.02
    delays = [0.0, 20.0 / 3.0, 40.0 / 3.0]          # crests follow each other by a third of a cycle
    result = run(grid(mva=1e5), breaker(closed=False, closing_delays_ms=delays),
                 cable(trapped_pu=[-1.0, -1.0, -1.0], **LINE), event(at, "close"), duration=at + 0.0133 + 2.5 * TRAVEL,
                 lost=4e-4, bandwidth_khz=5.0)
    t, v = phases(result, "tail")
    for phase, delay in enumerate(delays):
        first = (t > at + 1e-3 * delay) & (t < at + 1e-3 * delay + 2.5 * TRAVEL)
        assert v[first, phase].max() / VOLTS == pytest.approx(3.0, rel=2e-3)
        assert v[t < at + 1e-3 * delay - 1e-4, phase] / VOLTS == pytest.approx(-1.0, abs=1e-3)


def test_closing_on_charge_of_the_same_sign_is_gentle():
    """+1 pu on +1 pu at the crest: no wave, only the supply that turns away."""
    at = 0.02
    result = run(grid(mva=1e5), breaker(closed=False), cable(trapped_pu=[1.0, -0.5, -0.5], **LINE), event(at, "close"),
                 duration=at + 4.0 * TRAVEL, lost=2.5e-5)
    _, v = phases(result, "tail")
    assert np.abs(v).max() / VOLTS == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize("earthed", [True, False])
def test_interruption_leaves_charge_and_recovers_half_a_cycle_later(earthed):
    """The pole that clears first: 2.0 pu across it with an earthed bank, 2.5 pu with an isolated one, along the whole
    half cycle (theory of capacitive switching).

    A supply of 30 GVA drops 0.05 %; the isolated bank has 1 nF at its node, which takes 1 of 5000 parts of its charge.
    """
    result = run(grid(mva=3e4), breaker(), shunt("head", capacitance_uf=5.0, earthed=earthed), event(0.0203, "open"),
                 duration=0.05)
    t, v = phases(result, "head")
    _, source = phases(result, "bus")
    at, first = list_moments(result, "pole_open")[0]
    after = (t > at) & (t < at + 0.01)
    across = (v - source)[after, first] / VOLTS
    expected = switching.capacitive_recovery(t[after] - at, 1.0, 50.0, isolated=not earthed)
    assert across * np.sign(across[-1]) == pytest.approx(expected, abs=3e-3)
    peak = next(o.recovery_peak for o in result.interruptions if o.pole == "abc"[first])
    assert peak / VOLTS == pytest.approx(2.0 if earthed else 2.5, rel=3e-3)


def test_tripped_cable_keeps_what_the_poles_left():
    """Each phase of an open cable is left at its crest; the charge is what a later closing meets."""
    result = run(grid(mva=1e5), breaker(), node("tail"), cable(**LINE | {"km": 20.0}), event(0.0203, "open"),
                 duration=0.09)
    t, v = phases(result, "tail")
    left = level(t, v, 0.06, 0.08) / VOLTS
    # Ferranti rise of 20 km: (w T)^2/2 = 1.5e-3, and as much of ringing
    assert np.abs(left) == pytest.approx(1.0, abs=5e-3)
    assert abs(left.sum()) == pytest.approx(1.0, abs=0.01)      # two of one sign, one of the other
