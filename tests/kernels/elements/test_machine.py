"""Machine and load kernels, as plain Python, against the equations solved by NumPy."""

import numpy as np
import pytest
from factories import bend

from sim.kernels import small
from sim.kernels.columns import (
    LOAD_BREAKAWAY,
    LOAD_COLUMNS,
    LOAD_COMPRESSOR,
    LOAD_CONSTANT,
    LOAD_DIP,
    LOAD_DIP_SPEED,
    LOAD_DUTY,
    LOAD_KIND,
    LOAD_NONE,
    LOAD_PUMP,
    LOAD_SPEED,
    LOAD_TABLE,
)
from sim.kernels.elements import machine as machine_kernels
from sim.network.tables import Machines


@pytest.fixture(autouse=True)
def plain_python(monkeypatch):
    """Every kernel of both modules as the function it was compiled from (none when NUMBA_DISABLE_JIT is set)."""
    for module in (machine_kernels, small):
        for name, kernel in list(vars(module).items()):
            if hasattr(kernel, "py_func"):
                monkeypatch.setattr(module, name, kernel.py_func)


R = np.array([0.4, 0.5, 2.5])
INDUCTANCE = np.full((3, 3), 0.2) + np.diag([0.006, 0.005, 0.003])
GAMMA = np.linalg.inv(INDUCTANCE)


@pytest.mark.parametrize("w, n", [(0.0, 0.0), (0.0, 300.0), (314.0, 290.0), (314.0, -50.0)])
@pytest.mark.parametrize("d", [1e-6, 1e-3, 0.1])
def test_machine_stage_solves_the_flux_equations(w, n, d):
    """psi = e + d (v - R i - j w psi; - R i - j (w - n) psi), i = gamma psi; Krause et al., chapter 4."""
    rng = np.random.default_rng(3)
    e = rng.normal(size=3) + 1j * rng.normal(size=3)
    out = np.zeros(8, dtype=complex)
    machine_kernels.machine_stage(d, w, n, GAMMA, R, *e, out)
    system = np.eye(3) + d * (np.diag(R) @ GAMMA + 1j * np.diag([w, w - n, w - n]))
    at_rest, per_volt = np.linalg.solve(system, e), np.linalg.solve(system, d * np.array([1.0, 0.0, 0.0]))
    assert out[:3] == pytest.approx(at_rest, rel=1e-10)
    assert out[3:6] == pytest.approx(per_volt, rel=1e-10)
    assert out[6] == pytest.approx((GAMMA @ at_rest)[0], rel=1e-9)      # differences of near-equal fluxes
    assert out[7] == pytest.approx((GAMMA @ per_volt)[0], rel=1e-9)


def test_single_cage_is_the_limit_without_a_second():
    gamma, r = np.zeros((3, 3)), np.array([0.4, 0.5, 0.0])
    gamma[:2, :2] = np.linalg.inv(INDUCTANCE[:2, :2])
    out = np.zeros(8, dtype=complex)
    machine_kernels.machine_stage(1e-3, 0.0, 250.0, gamma, r, 1.0 + 0j, 0.5j, 0j, out)
    system = np.eye(2) + 1e-3 * (np.diag(r[:2]) @ gamma[:2, :2] - 1j * np.diag([0.0, 250.0]))
    assert out[:2] == pytest.approx(np.linalg.solve(system, np.array([1.0, 0.5j])), rel=1e-12)
    assert out[2] == 0.0 and out[5] == 0.0


def make_machine(knee=1e9, excess=0.0):
    """Tables of one machine; leakages and magnetising inductance are those of INDUCTANCE."""
    main = INDUCTANCE[0, 1]
    leak = 1.0 / (np.diag(INDUCTANCE) - main)
    none, empty = np.zeros((1, 0)), np.zeros(0)
    return Machines(np.zeros(1, np.int64), GAMMA[None], R[None], np.ones(1), leak[None],
                    np.array([leak.sum() + 1.0 / main]), *(part[None] for part in bend(knee, excess)), np.ones(1),
                    np.zeros((1, 3)), np.zeros(1, np.int64), none, np.zeros(2, np.int64), empty, empty)


@pytest.mark.parametrize("excess", [0.0, 30.0])
def test_a_saturated_main_path_is_a_smaller_magnetising_inductance(excess):
    """At any flux the currents are those of the inductance matrix with L_m psi_m / (psi_m + L_m k (psi_m - knee))."""
    psi, main = np.array([1.0 + 0.4j, 0.9 - 0.1j, 1.1 + 0.2j]), INDUCTANCE[0, 1]
    machines = make_machine(0.3, excess)
    flux = machine_kernels.main_flux(machines, 0, *psi)
    assert flux > 0.3
    effective = flux / (flux / main + excess * (flux - 0.3))
    i = np.linalg.solve(INDUCTANCE - main + effective, psi)
    assert abs(effective * i.sum()) == pytest.approx(flux, rel=1e-12)
    assert machine_kernels.stator_current(machines, 0, *psi) == pytest.approx(i[0], rel=1e-12)
    out = np.zeros((3, 3))
    machine_kernels.saturate(machines, 0, flux, out)
    assert out @ psi == pytest.approx(i, rel=1e-12)
    assert machine_kernels.copper_loss(machines, 0, *psi) == pytest.approx(np.sum(R * np.abs(i) ** 2), rel=1e-12)


def test_powers_add_up():
    """d/dt of the magnetic energy = input - copper loss - air-gap power, for any fluxes and speed."""
    rng = np.random.default_rng(5)
    psi = rng.normal(size=3) + 1j * rng.normal(size=3)
    v, n, pairs = 3.0 - 1.0j, 40.0, 2.0
    i = GAMMA @ psi
    slope = np.array([v, 0.0, 0.0]) - R * i + 1j * np.array([0.0, n, n]) * psi
    energy_rate = np.real(np.conj(i) @ slope)
    torque = machine_kernels.air_gap_torque(pairs, psi[0], machine_kernels.stator_current(make_machine(), 0, *psi))
    loss = machine_kernels.copper_loss(make_machine(), 0, *psi)
    assert loss == pytest.approx(np.sum(R * np.abs(i) ** 2))
    assert energy_rate == pytest.approx(np.real(np.conj(i[0]) * v) - loss - torque * n / pairs)


def make_load(kind):
    row = np.zeros(LOAD_COLUMNS)
    row[[LOAD_DUTY, LOAD_SPEED, LOAD_KIND]] = 1000.0, 150.0, kind
    row[[LOAD_BREAKAWAY, LOAD_DIP, LOAD_DIP_SPEED, LOAD_CONSTANT]] = 0.3, 0.08, 0.15, 0.1
    return row


NO_TABLE = np.zeros(0)
TABLE = np.array([0.0, 0.5, 1.0]), np.array([0.1, 0.2, 1.0])


def torque(kind, share, factor=1.0):
    table = TABLE if kind == LOAD_TABLE else (NO_TABLE, NO_TABLE)
    return machine_kernels.running_torque(150.0 * share, factor, make_load(kind), 0, len(table[0]), *table)


@pytest.mark.parametrize("share, per_unit", [
    (0.0, 0.3), (0.075, 0.08 + 0.22 / 4.0), (0.15, 0.08), (1.0, 1.0),
    (0.5, 0.08 + 0.92 * (0.25 - 0.0225) / (1.0 - 0.0225)), (1.1, 0.08 + 0.92 * (1.21 - 0.0225) / (1.0 - 0.0225))])
def test_pump_falls_to_a_dip_and_rises_with_the_square(share, per_unit):
    assert torque(LOAD_PUMP, share) == pytest.approx(1000.0 * per_unit)
    assert torque(LOAD_PUMP, share, 0.5) == pytest.approx(500.0 * per_unit)


def test_compressor_and_table():
    assert torque(LOAD_COMPRESSOR, 1.0) == pytest.approx(1000.0)
    assert torque(LOAD_COMPRESSOR, 0.5) == pytest.approx(1000.0 * (0.1 + 0.9 * 0.25))
    assert torque(LOAD_COMPRESSOR, 0.0) == pytest.approx(300.0)         # breakaway
    assert torque(LOAD_COMPRESSOR, 0.02) == pytest.approx(1000.0 * (0.1 + 0.9 * 0.0004))
    assert [torque(LOAD_TABLE, s) for s in (0.25, 0.5, 0.75, 1.0, 1.25)] == pytest.approx(
        [150.0, 200.0, 600.0, 1000.0, 1400.0])
    assert torque(LOAD_TABLE, 0.0) == pytest.approx(300.0)
    assert torque(LOAD_NONE, 0.7) == 0.0


@pytest.mark.parametrize("kind", [LOAD_PUMP, LOAD_COMPRESSOR, LOAD_TABLE])
def test_load_opposes_the_motion_without_a_jump(kind):
    shares = np.linspace(1e-6, 1.2, 2001)
    forwards = np.array([torque(kind, s) for s in shares])
    assert [torque(kind, -s) for s in shares[::200]] == pytest.approx(-forwards[::200])
    assert (forwards > 0.0).all()
    assert np.abs(np.diff(forwards)).max() < 25.0       # 0.0006 of duty speed on, steepest in the 2 % of breakaway


def test_breakaway_is_the_torque_at_rest():
    for kind in (LOAD_PUMP, LOAD_COMPRESSOR, LOAD_TABLE):
        assert machine_kernels.breakaway_torque(1.0, make_load(kind), 0, TABLE[1]) == pytest.approx(torque(kind, 0.0))
    assert machine_kernels.breakaway_torque(1.0, make_load(LOAD_NONE), 0, TABLE[1]) == 0.0
