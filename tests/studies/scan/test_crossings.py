"""Crossings of harmonics with resonances, against closed forms of a series circuit and an exact feeder with a motor."""

import numpy as np
import pytest
from reference import line

from sim.network.build import build_network
from sim.params.motor.circuit import input_impedance
from sim.studies.scan.crossings import GAIN_LIMIT, ORDERS, find_fundamental, find_range, sample_ray, spread_fan
from sim.studies.scan.response import find_response
from sim.studies.scan.setting import make_setting
from studies.arrangements import CABLES, cable, drive, grid, make, motor, node

KV, KVA, RATED_HZ = 3.3, 2900.0, 50.0
CAPACITANCE = 6e-4
BASE = (KV * 1e3) ** 2 / (KVA * 1e3)
R, L = 0.02 * BASE, 0.05 * BASE / (2.0 * np.pi * RATED_HZ)          # behind the drive's terminals
OUTPUT = {"output_resistance_pct": 2.0, "output_reactance_pct": 5.0}


def spread(*tables, orders=ORDERS, share=None, **study):
    case = make(*tables, **study)
    setting = make_setting(case, build_network(case))
    response = find_response(setting, 1.0, setting.network.bands.rest)
    return spread_fan(case, setting, case.drives[0], response, orders, share)


def series_circuit(**more):
    return (drive(kv=KV, kva=KVA, **(OUTPUT | more)), node("bus", stray_nf=0.01),
            ("shunt", {"name": "bank", "node": "bus", "capacitance_uf": CAPACITANCE * 1e6}))


def series_gain(hz):
    w = 2.0 * np.pi * hz
    return 1.0 / abs(1.0 - w**2 * L * CAPACITANCE + 1j * w * R * CAPACITANCE)


# |gain| of R, L and C in series is largest at w^2 = 1/LC - R^2/2L^2 (any text on circuits)
PEAK_HZ = np.sqrt(1.0 / (L * CAPACITANCE) - 0.5 * (R / L) ** 2) / (2.0 * np.pi)
QUALITY = np.sqrt(L / CAPACITANCE) / R


def test_every_order_crosses_the_resonance_of_a_series_circuit():
    """Grid points at the peak leave 0.1 % of the gain; a parabola through three of them places it within a hundredth of
    the half-width.  Contacts of 0.1 mohm beside 75 mohm take 0.13 % of the gain."""
    fan = spread(*series_circuit(start_hz=5.0, target_hz=60.0))
    assert (fan.from_hz, fan.to_hz, fan.nodes) == (5.0, 60.0, ("bus",))
    expected = [order for order in ORDERS if 5.0 < PEAK_HZ / order < 60.0]
    assert [crossing.order for crossing in fan.crossings] == expected and len(expected) >= 5
    for crossing in fan.crossings:
        assert crossing.harmonic_hz == pytest.approx(PEAK_HZ, rel=0.01 / QUALITY)
        assert crossing.drive_hz == pytest.approx(crossing.harmonic_hz / crossing.order, rel=1e-12)
        assert crossing.gain == pytest.approx(series_gain(PEAK_HZ), rel=3e-3)
        assert crossing.node == "bus" and crossing.exceeds and not crossing.at_end
        assert crossing.cable is crossing.cable_km is crossing.cable_gain is None


def test_band_is_where_the_gain_is_above_the_limit():
    """The ends solve |1 - w^2 LC + j w RC| = 1/3, a quadratic in w^2.  A chord is off by 1 % of the gain, which there
    changes at least as fast as the frequency."""
    fan = spread(*series_circuit(start_hz=5.0, target_hz=80.0), orders=(5,))
    a, b, c = (L * CAPACITANCE) ** 2, (R * CAPACITANCE) ** 2 - 2.0 * L * CAPACITANCE, 1.0 - GAIN_LIMIT**-2
    low, high = np.sort(np.sqrt(np.roots([a, b, c]))) / (2.0 * np.pi * 5.0)
    crossing, = fan.crossings
    assert (crossing.from_hz, crossing.to_hz) == (pytest.approx(low, rel=0.01), pytest.approx(high, rel=0.01))


def test_size_of_a_crossing():
    """1/k of the fundamental that V/f gives, or the share asked for; crests add up."""
    for share, level in ((None, 0.2), (0.04, 0.04)):
        crossing, = spread(*series_circuit(start_hz=5.0, target_hz=60.0, voltage_max_pct=120.0), orders=(5,),
                           share=share).crossings
        sent = crossing.drive_hz / RATED_HZ
        assert crossing.harmonic_pu == pytest.approx(level * sent * series_gain(PEAK_HZ), rel=3e-3)
        assert crossing.fundamental_pu == pytest.approx(sent * series_gain(crossing.drive_hz), rel=1e-4)
        assert crossing.peak_pu == pytest.approx(crossing.harmonic_pu + crossing.fundamental_pu, rel=1e-12)


@pytest.mark.parametrize("ceiling", [60.0, 100.0, 115.0])
def test_fundamental_follows_the_line_of_the_drive(ceiling):
    """V/f and boost by hand, up to the ceiling of the drive and not to its rated voltage."""
    own = make(*series_circuit(voltage_max_pct=ceiling, boost_pct=4.0, boost_end_hz=10.0, target_hz=60.0)).drives[0]
    for hz, line_pu in ((2.5, 0.05 + 0.03), (10.0, 0.2), (25.0, 0.5), (40.0, 0.8), (60.0, 1.2)):
        assert find_fundamental(own, hz) == pytest.approx(min(line_pu, ceiling / 100.0), rel=1e-12)


def test_the_end_of_a_range_counts_where_its_gain_is_high():
    """The range stops short of the peak on the side that is above 3 already."""
    fan = spread(*series_circuit(start_hz=5.0, target_hz=0.95 * PEAK_HZ / 5.0), orders=(5,))
    crossing, = fan.crossings
    assert crossing.at_end and crossing.harmonic_hz == pytest.approx(0.95 * PEAK_HZ, rel=1e-9)
    assert crossing.gain == pytest.approx(series_gain(0.95 * PEAK_HZ), rel=1e-3)
    assert fan.needs_filter


def test_a_range_below_the_resonance_needs_no_filter():
    fan = spread(*series_circuit(start_hz=5.0, target_hz=0.5 * PEAK_HZ / 5.0), orders=(5,))
    assert fan.crossings == [] and fan.needs_filter is False


def test_what_lies_beyond_the_band_is_not_passed():
    fan = spread(*series_circuit(start_hz=5.0, target_hz=60.0), orders=(5, 7), bandwidth_khz=0.1)
    assert fan.assessed_hz == pytest.approx(100.0)
    assert fan.unassessed == [5, 7] and fan.crossings == [] and fan.needs_filter is None


def test_range_holds_every_frequency_sent():
    """Start, target and what events ask for."""
    events = [("event", {"at_s": 0.3 + 0.1 * k, "action": "speed", "target": "inverter", "to_hz": hz})
              for k, hz in enumerate((3.0, 62.0))]
    case = make(*series_circuit(start_hz=5.0, target_hz=40.0), *events)
    assert find_range(case, case.drives[0]) == (3.0, 62.0)


CIRCUIT = {"stator_resistance_pu": 0.007, "stator_reactance_pu": 0.09, "magnetising_reactance_pu": 3.2,
           "rotor_resistance_pu": 0.03, "rotor_reactance_pu": 0.09}


@pytest.mark.parametrize("order", [5, 7, 11, 13])
def test_gain_of_an_exact_feeder_with_its_motor(order):
    """Drive, line and motor as two-ports.  Orders 5 and 11 turn backwards: slip (k + 1 - s)/k; 7 and 13 (k - 1 + s)/k
    (any text on machines fed by inverters).  Cable to 1e-9 at constant R, L and C, so that 1e-6 is left beside sharp
    resonances; the drive's contact and the 1 nF behind it are part of the reference."""
    case = make(drive(kv=6.6, kva=KVA, start_hz=5.0, target_hz=60.0, **OUTPUT),
                cable(km=12.0, constants=CABLES[95]), motor("tail", circuit=CIRCUIT), bandwidth_khz=2.0,
                cable_error_pu=1e-9)
    setting = make_setting(case, build_network(case))
    names, machine = setting.network.node_names, case.machines[0].motor
    r, inductance, c = CABLES[95]
    own = line.Line(r * 1e-3, inductance * 1e-6, c * 1e-9, 12e3)
    base, contact = 6600.0**2 / (KVA * 1e3), 1.0 / setting.network.tables.switches.g[0]
    drive_hz = np.array([6.0, 20.0, 43.0, 60.0])
    found = sample_ray(setting, 0, order, order * drive_hz, {})
    backwards = order % 3 == 2
    for k, hz in enumerate(order * drive_hz):
        w, slip = 2.0 * np.pi * hz, setting.slip[0]
        of_order = (order + 1.0 - slip) / order if backwards else (order - 1.0 + slip) / order
        load = (1.0 / input_impedance(machine.circuit, of_order, hz / 50.0)
                + 1j * w * (machine.winding_f + 1e-9) + setting.network.tables.nodes.g[0, names.index("tail")])
        y = np.zeros((3, 3), dtype=complex)         # bridge, bus, tail
        y[1:, 1:] = line.admittance_matrix(own, 1j * w)
        series = 1.0 / (0.02 * base + 0.05j * base * hz / 50.0)
        y[0, 0] += series + 1j * w * 1e-9
        y[:2, :2] += np.array([[1.0, -1.0], [-1.0, 1.0]]) / contact
        y[1, 1] += 1j * w * 1e-9
        y[2, 2] += load
        expected = np.linalg.solve(y, [series, 0.0, 0.0])[1:]
        got = found[k, [names.index("bus"), names.index("tail")]]
        assert np.abs((np.conj(got) if backwards else got) - expected).max() < 1e-6 * np.abs(expected).max(), hz


def test_a_drive_that_feeds_no_cable_names_none():
    """The cable of another island has no share in the harmonics of this one."""
    fan = spread(grid(node="shore", name="shore_grid"), cable("shore", "sea"),
                 *series_circuit(start_hz=5.0, target_hz=60.0), orders=(5,))
    assert fan.nodes == ("bus",) and fan.crossings[0].cable is None
