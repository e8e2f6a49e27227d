"""Voltage along a cable against standing waves and against cables that are cut where one looks."""

import numpy as np
import pytest
from cross.casefile import write_case, write_table

from sim.case import parse_case
from sim.network.build import build_network
from sim.phasors.nodal import POSITIVE, ZERO
from sim.studies.scan.profile import find_profiles
from sim.studies.scan.resonances import find_gains
from sim.studies.scan.setting import make_setting, whole_matrix
from studies.arrangements import CABLES, LOSSLESS, cable, grid, make, node

BUILT = {"conductor_mm2": 240, "rated_kv": 36.0}


def built(start, end, km, name):
    """A cable from its construction: resistance and inductance change with frequency."""
    return "cable", {"name": name, "from": start, "to": end, "length_km": km, **BUILT}


def set_up(*tables, **study):
    case = make(*tables, **study)
    return case, make_setting(case, build_network(case))


def test_standing_wave_of_an_open_line():
    """V(x) = V2 (cos a - w C Zc sin a), a = beta (l - x), without loss (any text on lines); C is the end's stray."""
    _, inductance, c = CABLES[240]
    case, setting = set_up(grid(mva=1e4), cable(km=60.0, constants=(LOSSLESS, inductance, c)),
                           node("tail", stray_nf=0.01), cable_error_pu=1e-9)
    hz = 3100.0
    gains = find_gains(setting, 2j * np.pi * hz, 0)
    profile, = find_profiles(case, setting.network, 2j * np.pi * hz, gains, POSITIVE)
    beta = 2.0 * np.pi * hz * np.sqrt(inductance * 1e-3 * c * 1e-6)
    load = 2.0 * np.pi * hz * 1e-11 * np.sqrt(inductance * 1e-3 / (c * 1e-6))
    wave = np.cos(beta * (60.0 - profile.km)) - load * np.sin(beta * (60.0 - profile.km))
    expected = gains[setting.network.node_names.index("bus")] * wave / wave[0]
    # 60 uohm of the line beside 39 ohm of surge impedance, ten times that beside a resonance
    assert np.abs(profile.voltage - expected).max() < 1e-5 * np.abs(expected).max()
    assert profile.highest[0] == pytest.approx(np.abs(expected).max(), rel=1e-4)


@pytest.mark.parametrize("row", [POSITIVE, ZERO])
def test_a_cut_cable_has_the_voltage_of_the_whole_one(row):
    """A node 17 km along and the voltage that a current of 1 A into the near end drives there; cables to 1e-8 as in the
    engines' matrix, skin effect and screens included.  The 10 pF y of that node are taken out again: a voltage is
    v/(1 - y Z) without a shunt y at a node of impedance Z (compensation theorem, any text on circuits)."""
    whole, pieces = (set_up(grid(mva=400.0), *cables, node("tail", stray_nf=0.01), *more, cable_error_pu=1e-8)
                     for cables, more in (([built("bus", "tail", 40.0, "feeder")], []),
                                          ([built("bus", "cut", 17.0, "near"), built("cut", "tail", 23.0, "far")],
                                           [node("cut", stray_nf=0.01)])))
    for hz in (50.0, 430.0, 1900.0, 4700.0):
        s = 2j * np.pi * hz
        z, z_cut = (np.linalg.inv(whole_matrix(setting, s, row)) for _, setting in (whole, pieces))
        names, names_cut = (setting.network.node_names for _, setting in (whole, pieces))
        profile, = find_profiles(whole[0], whole[1].network, s, z[:, names.index("bus")] / whole[1].network.node_volts,
                                 row)
        at_cut, at_bus = names_cut.index("cut"), names_cut.index("bus")
        cut = z_cut[at_cut, at_bus] / (1.0 - s * 1e-11 * z_cut[at_cut, at_cut]) / pieces[1].network.node_volts[at_cut]
        at, = np.flatnonzero(np.abs(profile.km - 17.0) < 1e-9)          # 120 steps of 1/3 km
        assert abs(profile.voltage[at] - cut) < 1e-6 * np.abs(profile.voltage).max()


def test_sections_of_a_cable_are_cables_in_series():
    """Two unlike parts, once as sections of one cable and once as two cables with a node of almost no capacitance
    between: the same voltage along the way, and no step at the joint."""
    r, inductance, c = CABLES[240]
    parts, grown = ((10.0, inductance), (30.0, 0.5)), {"bandwidth_khz": 5.0, "cable_error_pu": 1e-8}
    ends = [grid(mva=400.0), node("tail", stray_nf=0.01)]
    shared = {"name": "feeder", "from": "bus", "to": "tail", "resistance_ohm_per_km": r, "capacitance_uf_per_km": c}
    sections = [write_table("[[cable.section]]", {"length_km": km, "inductance_mh_per_km": each}) for km, each in parts]
    text = write_case({"duration_s": 1.0, **grown}, *ends, ("cable", shared | {"inductance_mh_per_km": inductance}))
    joined = parse_case("\n".join([text, *sections]), name="joined")
    apart = make(*ends, node("cut", stray_nf=0.01), cable("bus", "cut", 10.0, (r, inductance, c), "near"),
                 cable("cut", "tail", 30.0, (r, 0.5, c), "far"), **grown)
    for hz in (50.0, 400.0, 2700.0):
        s, found = 2j * np.pi * hz, []
        for case in (joined, apart):
            setting = make_setting(case, build_network(case))
            found.append(find_profiles(case, setting.network, s, find_gains(setting, s, 0), POSITIVE))
        whole, = found[0]
        km = np.concatenate([found[1][0].km, 10.0 + found[1][1].km])
        volts = np.concatenate([profile.voltage for profile in found[1]])
        assert whole.km == pytest.approx(km, abs=1e-9)
        # the cut adds 10 pF to 9.6 uF, 1e-6 of it, which beside a resonance counts as often as the gain is large: 10
        assert np.abs(whole.voltage - volts).max() < 1.1e-5 * np.abs(volts).max()
        joint = np.flatnonzero(np.diff(whole.km) == 0.0)
        assert len(joint) == 1 and abs(np.diff(whole.voltage)[joint[0]]) < 1e-9 * np.abs(volts).max()
