"""Arrays of small cases against hand calculation."""

import numpy as np
import pytest
from engines.circuits import TURN, breaker, build, cable, drive, grid, machine, node, shunt, transformer

from sim.kernels.columns import DRIVE_LIMIT, DRIVE_VOLTS, LOAD_BREAKAWAY, LOAD_DUTY, LOAD_SPEED
from sim.network.build import build_network
from sim.network.tables import CLARKE, EARTH
from sim.network.windings import find_windings

NANO = 1e-9


def link(network, name):
    return network.link_names.index(name)


def test_clarke_matrix_is_orthonormal_and_power_invariant():
    assert CLARKE @ CLARKE.T == pytest.approx(np.eye(3), abs=1e-15)
    angle = np.array([0.0, -1.0, 1.0]) * 2.0 * np.pi / 3.0
    alpha, beta, zero = CLARKE @ (np.sqrt(2.0 / 3.0) * 400.0 * np.cos(0.7 + angle))
    assert np.hypot(alpha, beta) == pytest.approx(400.0)        # line-to-line RMS of a balanced set
    assert np.arctan2(beta, alpha) == pytest.approx(0.7)        # positive sequence turns forwards
    assert zero == pytest.approx(0.0, abs=1e-12)


def test_grid_impedance():
    """Z = V^2/Sk, X/R given: 11 kV, 242 MVA, X/R 7 -> 0.5 ohm; zero sequence 2.5 times."""
    _, network = build(grid(kv=11.0, mva=242.0, x_over_r=7.0, x0_over_x1=2.5, voltage_pu=1.02, phase_deg=30.0),
                       shunt("bus", resistance_ohm=1e3))
    links, b = network.tables.links, link(network, "supply.source")
    z = links.r[:, b] + 1j * TURN * links.l[:, b]
    assert np.abs(z) == pytest.approx([0.5, 1.25])
    assert z.imag / z.real == pytest.approx([7.0, 7.0])
    assert (links.start[b], links.end[b], links.wt[b], links.zt[b]) == (EARTH, 0, -1.0, -1.0)
    sources = network.tables.sources
    assert sources.volts[0] == pytest.approx(11220.0)
    assert sources.phase[0] == pytest.approx(np.pi / 6.0)
    assert sources.w[0] == pytest.approx(TURN)


def test_unearthed_grid_carries_no_zero_sequence():
    _, network = build(grid(earthed=False), shunt("bus", resistance_ohm=1e3))
    assert network.tables.links.zt[0] == 0.0


@pytest.fixture(scope="module")
def unit():
    """10/20 kV, 4 MVA, 8 %, X/R 15, tap +5 %, Dyn11, 1 % no-load current and 0.6 % loss (0.8 % magnetising)."""
    _, network = build(grid(), transformer("bus", "tail", to_kv=20.0, x_over_r=15.0, tap_pct=5.0, group="Dyn11",
                                           no_load_current_pct=1.0, no_load_loss_pct=0.6, winding_nf=3.0,
                                           bushing_nf=0.0))
    return network


def test_transformer_ratio_and_clock(unit):
    """20/(10 * 1.05) at -30 degrees times 11, that is +30 degrees: the low side leads at clock number 11."""
    links, b = unit.tables.links, link(unit, "unit.leakage")
    assert np.abs(links.wf[b]) == pytest.approx(20.0 / 10.5)
    assert np.angle(links.wf[b]) == pytest.approx(np.pi / 6.0)
    assert links.wt[b] == -1.0


def test_transformer_leakage(unit):
    """8 % of 20^2/4 = 100 ohm on the second side."""
    links, b = unit.tables.links, link(unit, "unit.leakage")
    z = links.r[0, b] + 1j * TURN * links.l[0, b]
    assert abs(z) == pytest.approx(8.0)
    assert z.imag / z.real == pytest.approx(15.0)


def test_transformer_core(unit):
    """Two halves: each magnetising branch 2 V^2/(0.8 % S), each loss 0.3 % S at its rated voltage."""
    links = unit.tables.links
    for side, volts, name in (("from", 10e3, "bus"), ("to", 20e3, "tail")):
        b, n = link(unit, f"unit.core_{side}"), unit.node_names.index(name)
        assert TURN * links.l[0, b] == pytest.approx(2.0 * volts**2 / (0.008 * 4e6))
        assert links.r[0, b] == 0.0
        assert unit.tables.nodes.g[0, n] * volts**2 == pytest.approx(0.003 * 4e6)
        assert unit.link_volts[b] == volts
        assert unit.tables.nodes.c[:, n] == pytest.approx([4.0 * NANO] * 2)     # 3 nF of winding, 1 nF stray


@pytest.mark.parametrize("group, weights", [
    ("Dyn11", (0.0, -1.0)), ("YNd1", (2.0, 0.0)), ("YNyn0", (2.0, -1.0)), ("YNyn6", (-2.0, -1.0)),
    ("YNyn4", (2.0, -1.0)), ("YNyn8", (2.0, -1.0)), ("YNyn2", (-2.0, -1.0)), ("YNyn10", (-2.0, -1.0)),
    ("Dd0", (0.0, 0.0)), ("Yyn0", (0.0, 0.0)), ("YNy0", (0.0, 0.0)), ("Yd11", (0.0, 0.0))])
def test_zero_sequence_weights(group, weights):
    """Through (both earthed), to earth on the star side (the other a delta), or open.

    Clock numbers 4 and 8 only rename the phases of 0; 2, 6 and 10 have the coils the other way round.
    """
    _, network = build(grid(), transformer("bus", "tail", to_kv=20.0, group=group))
    links, b = network.tables.links, link(network, "unit.leakage")
    assert (links.zf[b], links.zt[b]) == pytest.approx(weights, abs=1e-12)


@pytest.mark.parametrize("text, parts", [("Dyn11", ("D", "YN", 11)), ("YNd1", ("YN", "D", 1)), ("Yy0", ("Y", "Y", 0)),
                                         ("YNyn6", ("YN", "YN", 6)), ("Dd10", ("D", "D", 10))])
def test_vector_group_is_taken_apart(text, parts):
    assert find_windings(text) == parts


def test_cable_keeps_its_capacitance_and_inductance():
    """What the oscillators and the two ends hold: C' l at slow change, L' l for the uniform current."""
    _, network = build(grid(), cable("bus", "tail", km=20.0, zero_capacitance_uf_per_km=0.1))
    cables = network.tables.cables
    for row, per_km in ((0, 0.18e-6), (1, 0.1e-6)):
        w, g = cables.w[row], cables.gf[row]
        swing = w > 0.0
        # each end sees its own capacitance and that of the oscillators: half of the total from each end
        both = (cables.gf[row] + cables.gt[row])[swing] / w[swing]
        total = 2.0 * cables.end_c[row, 0] + np.sum(both**2)
        assert total == pytest.approx(per_km * 20.0, rel=1e-9)
        assert 1.0 / g[~swing] ** 2 == pytest.approx((1.0, 3.0)[row] * 0.41e-3 * 20.0, rel=1e-9)
    assert cables.a[:, 0] == pytest.approx([0.246 / 0.41e-3, 4.0 * 0.246 / (3.0 * 0.41e-3)])
    assert not cables.b.any()
    assert network.tables.nodes.c[0, 1] == pytest.approx(cables.end_c[0, 0] + 1.0 * NANO)


def test_shunts():
    """Parallel parts at the node (zero sequence only when earthed), a string as one link."""
    _, network = build(grid(), shunt("bus", resistance_ohm=50.0, capacitance_uf=2.0, inductance_mh=30.0, earthed=False),
                       shunt("bus", name="filter", connection="series", resistance_ohm=3.0, capacitance_uf=4.0))
    nodes, links = network.tables.nodes, network.tables.links
    assert nodes.g[:, 0] == pytest.approx([0.02, 0.0])
    assert nodes.c[:, 0] == pytest.approx([2e-6 + NANO, NANO])
    b = link(network, "bank")
    assert (links.l[0, b], links.zf[b], links.start[b], links.end[b]) == (0.03, 0.0, 0, EARTH)
    b = link(network, "filter")
    assert (links.r[0, b], links.l[0, b], links.s[0, b], links.zf[b]) == (3.0, 0.0, pytest.approx(2.5e5), 1.0)


@pytest.mark.parametrize("second", [False, True])
def test_machine_inductances(second):
    """gamma is the inverse of Lm (all ones) + leakages; per-unit base 10 kV, 2000/(0.95 * 0.88) kVA."""
    _, network = build(grid(), machine("bus", load={"kind": "pump", "duty_kw": 1500.0, "duty_rpm": 1480.0},
                                       second=second))
    machines = network.tables.machines
    base = 1e8 / (2e6 / (0.95 * 0.88)) / TURN
    size = 3 if second else 2
    inductance = 3.5 * base * np.ones((size, size)) + np.diag([0.1, 0.1, 0.06][:size]) * base
    assert machines.gamma[0, :size, :size] @ inductance == pytest.approx(np.eye(size), abs=1e-9)
    assert machines.r[0, :size] == pytest.approx(np.array([0.01, 0.012, 0.08])[:size] * base * TURN)
    assert not machines.gamma[0, size:].any() and not machines.r[0, size:].any()
    assert machines.pairs[0] == 2.0 and machines.j[0] == 40.0
    speed = 1480.0 * np.pi / 30.0
    assert machines.load[0, [LOAD_DUTY, LOAD_SPEED, LOAD_BREAKAWAY]] == pytest.approx([1.5e6 / speed, speed, 0.15])
    assert network.tables.nodes.c[:, 0] == pytest.approx([11.0 * NANO] * 2)     # 10 nF of winding, 1 nF stray


def test_drive_has_a_bridge_node_and_a_switch():
    """3 % and 0.5 % of 10^2/3 = 33.3 ohm; limit 110 % of 3000/(sqrt3 10) A; pulses blocked at first."""
    _, network = build(drive(), shunt("bus", resistance_ohm=100.0))
    assert network.node_names == ("bus", "inverter.bridge")
    assert network.switch_names == ("inverter",) and not network.closed[0]
    links, b = network.tables.links, link(network, "inverter.source")
    assert TURN * links.l[0, b] == pytest.approx(0.03 * 100.0 / 3.0)
    assert links.r[0, b] == pytest.approx(0.005 * 100.0 / 3.0)
    assert links.zt[b] == 0.0
    data = network.tables.drives.data[0]
    assert data[DRIVE_VOLTS] == 1e4
    assert data[DRIVE_LIMIT] == pytest.approx(1.1 * 3e6 / (np.sqrt(3.0) * 1e4))


def test_islands_set_frames_and_columns():
    """Two islands, one with a grid and two machines, one with a drive: source and heaviest machine of each."""
    case, network = build(grid(), breaker("bus", "head", closed=False), machine("head", inertia=10.0),
                          machine("bus", inertia=70.0, name="second"), drive("other", kv=5.0),
                          machine("other", kv=5.0, kw=1000.0, name="third"), node("bus", stray_nf=2.0))
    islands = network.tables.islands
    of_node = dict(zip(network.node_names, network.tables.nodes.island))
    assert of_node["bus"] == of_node["head"] != of_node["other"] == of_node["inverter.bridge"]
    first, other = of_node["bus"], of_node["other"]
    assert network.source_names[islands.source[first]] == "supply"
    assert network.source_names[islands.source[other]] == "inverter"
    assert network.machine_names[islands.machine[first]] == "second"
    assert network.machine_names[islands.machine[other]] == "third"
    assert len(islands.column) == network.tables.layout.columns
    assert list(islands.column[-9:]) == [of_node[n] for n in ("head", "bus", "other") for _ in range(3)]
    assert build_network(case).node_names == network.node_names
