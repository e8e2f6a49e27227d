"""Surges of opening gaps: closed forms of lumped loops and of a line, and what cannot be held."""

import numpy as np
import pytest
from engines.circuits import breaker, build, cable, event, grid, make_case, node, shunt, write

from sim.network.build import build_network
from sim.network.gaps import FRONT

RACE = {"recovery_rise_kv_per_ms": 20.0}
W = 100.0 * np.pi


def test_both_capacitances_in_series_swing_through_the_loop():
    """1 / (2 pi sqrt(L C1 C2 / (C1 + C2))); the grid's 4.6 mH and the coil's 45 mH beside 40 uH: 1 %."""
    _, network = build(grid(kv=6.6, mva=30.0), node("bus", stray_nf=60.0), breaker(**RACE), node("head", stray_nf=0.01),
                       write("[[series_reactor]]", name="loop", from_="head", to="motor", reactance_ohm=W * 40e-6,
                           high_frequency_quality=1e9),
                       node("motor", stray_nf=30.0), shunt("motor", inductance_mh=45.0), event(0.02, "open"))
    surge = network.surges["gear"]
    assert surge.hz == pytest.approx(1.0 / (2.0 * np.pi * np.sqrt(40e-6 * 20e-9)), rel=0.01)
    assert surge.band_hz == pytest.approx(FRONT * surge.hz) and surge.reason is None


def test_line_on_a_large_bus_swings_at_a_quarter_wave():
    """The bus holds its voltage, the line is open at its far end: 1 / (4 l sqrt(L C)) and odd multiples of it.

    1 km: 29.1 kHz.  Currents of the odd multiples fall with their order, the third one's is a third of it.
    """
    _, network = build(grid(kv=6.6, mva=30.0), node("bus", stray_nf=1e4), breaker(**RACE), node("head", stray_nf=0.01),
                       cable(km=1.0), node("tail", stray_nf=0.01), event(0.02, "open"))
    travel = np.sqrt(0.41e-3 * 0.18e-6)
    assert network.surges["gear"].hz == pytest.approx(0.25 / travel, rel=0.02)


def test_cables_near_a_gap_are_sized_for_its_surge():
    parts = [grid(kv=6.6, mva=30.0), node("bus", stray_nf=1e4), cable(km=1.0), event(0.02, "open")]
    plain, racing = (build_network(make_case(*parts, breaker(**race), bandwidth_khz=5.0)) for race in ({}, RACE))
    assert plain.surges == {} and racing.tables.cables.first[-1] > 2 * plain.tables.cables.first[-1]


def test_surge_beyond_what_is_held_says_why():
    """20 m of cable at a bus of 3 nF: a quarter wave of 1.5 MHz."""
    _, network = build(grid(kv=6.6, mva=3000.0), node("bus", stray_nf=3.0), breaker(**RACE), cable(km=0.02),
                       node("head", stray_nf=0.01), event(0.02, "open"))
    surge = network.surges["gear"]
    assert surge.reason is not None and "stray_nf" in surge.reason
