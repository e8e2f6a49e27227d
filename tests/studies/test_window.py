"""Start windows: phasors at standstill against two-ports and the envelope engine, the map against a desk table, openers
against the case they open, trials in the time domain."""

from pathlib import Path

import numpy as np
import pytest
from reference import line as lines

from sim.case import load_case, parse_case
from sim.engines.run.timeline import simulate
from sim.errors import CaseError
from sim.measures.signals.axis import join_signal
from sim.params.motor.circuit import input_impedance
from sim.phasors.drive_line import find_voltage
from sim.studies.run import run
from sim.studies.window.changes import straighten_cores
from sim.studies.window.points import solve_points
from sim.studies.window.search import stand
from sim.studies.window.study import find_windows, list_feeders, solve_where
from sim.studies.window.summary import describe_windows
from sim.studies.window.voltages import find_range, find_torque_voltage

CASES = Path(__file__).parents[2] / "cases"
BRIDGE_OHM = 1e-4       # contact resistance of an ideal bridge
COARSE = np.geomspace(0.5, 5.0, 21)
QUILLFEN, TESSAROOK = CASES / "quillfen.toml", CASES / "tessarook.toml"


def parallel(*impedances):
    return 1.0 / sum(1.0 / z for z in impedances)


def series(z):
    return np.array([[1.0, z], [0.0, 1.0]], dtype=complex)


def shunt(z):
    return np.array([[1.0, 0.0], [1.0 / z, 1.0]], dtype=complex)


def halves(unit, hz, volts):
    """Impedance of each half of a core at a frequency: half the magnetising current, half the constant loss. [ohm]"""
    base = volts**2 / unit.rated_va
    whole = 1.0 / np.sqrt(unit.no_load_current_pu**2 - unit.no_load_loss_pu**2)
    return parallel(2j * whole * base * hz / 50.0, 2.0 * base / unit.no_load_loss_pu)


def leakage(unit, hz, volts):
    base = volts**2 / unit.rated_va
    x = unit.impedance_pu * base / np.hypot(1.0, 1.0 / unit.x_over_r)
    return x / unit.x_over_r + 1j * x * hz / 50.0


@pytest.mark.parametrize("hz", (1.0, 1.5, 5.0))
def test_standstill_against_a_chain_of_two_ports(hz):
    """Quillfen with iron that never saturates: drive filter, core halves, leakages, the exact line, the motor's circuit
    at slip 1.  Stray and winding capacitances are left out here; at these frequencies they take 1e-6 of the current."""
    case = load_case(QUILLFEN, [f"{name}.high_frequency_quality=1e9" for name in ("stepup", "subsea_transformer")])
    feeder = straighten_cores(list_feeders(case)[0][0])
    still = stand(feeder, np.array([hz]))
    points = solve_points(still, np.array([0]), find_voltage(feeder.line, still.hz, 0.02))
    drive, (up, down), cable, motor = case.drives[0], case.transformers, case.cables[0], case.machines[0].motor
    up_ratio, down_ratio = up.to_v / up.from_v, down.to_v / down.from_v
    base = drive.rated_v**2 / drive.rated_va
    own = drive.output_resistance_pu * base + 1j * drive.output_reactance_pu * base * hz / 50.0
    data = cable.sections[0].positive
    exact = lines.Line(data.resistance_ohm_per_m, data.inductance_h_per_m, data.capacitance_f_per_m, 28e3)
    # everything referred to the drive's side, one after the other from the drive to the motor
    k1, k2 = up_ratio**2, (up_ratio * down_ratio) ** 2
    contacts = [breaker.contact_resistance_ohm for breaker in case.breakers]
    chain = series(own + BRIDGE_OHM + contacts[0]) @ shunt(halves(up, hz, up.from_v))
    chain = chain @ series(leakage(up, hz, up.to_v) / k1) @ shunt(halves(up, hz, up.to_v) / k1)
    same, z, y = lines.chain_matrix(exact, 2j * np.pi * hz)[:3]
    chain = chain @ np.array([[same, z / k1], [y * k1, same]])
    chain = chain @ shunt(halves(down, hz, down.from_v) / k1) @ series(leakage(down, hz, down.to_v) / k2)
    chain = chain @ shunt(halves(down, hz, down.to_v) / k2)
    rotor = input_impedance(motor.circuit, 1.0, hz / 50.0)
    load = (rotor + contacts[1]) / k2
    emf = points.emf[0]
    far = emf / (chain[0, 0] + chain[0, 1] / load)
    current = far * (chain[1, 0] + chain[1, 1] / load)
    assert points.current[0] == pytest.approx(abs(current) / np.sqrt(3.0), rel=2e-6)
    terminal = abs(far * rotor / (rotor + contacts[1])) * np.sqrt(k2)
    stator = complex(motor.circuit.stator_resistance_ohm, motor.circuit.stator_reactance_ohm * hz / 50.0)
    gap = abs(1.0 - stator / rotor)
    cage = complex(motor.circuit.rotor_resistance_ohm, motor.circuit.rotor_reactance_ohm * hz / 50.0)
    torque = 2.0 / (2.0 * np.pi * hz) * motor.circuit.rotor_resistance_ohm * (terminal * gap / abs(cage)) ** 2
    assert points.torque[0, 0] == pytest.approx(torque, rel=2e-6)


@pytest.mark.parametrize("hz, boost, enough", [(1.4, 0.023, 1e-3), (0.9, 0.03, 1e-3)])
def test_standstill_with_saturated_cores_against_the_envelope_engine(hz, boost, enough):
    """The motor is held by an impossible breakaway torque, the voltage comes up over 10 s: what the engine settles at.
    Both carry a core by its fundamental; what is left is the last of the offset after 40 s."""
    sets = ["booster.load.breakaway_pct=1000", f"host_drive.start_hz={hz}", f"host_drive.boost_pct={100.0 * boost}",
            "host_drive.hold_s=100", "host_drive.voltage_rise_s=10", "host_drive.current_limit_pct=400",
            "study.duration_s=40", "stepup.knee_pu=1.2", "booster.load.kind=\"pump\""]
    text = QUILLFEN.read_text()
    text = text[:text.index("[[event]]")].replace("breakaway_pct = 30.0", "breakaway_pct = 300.0")
    case = parse_case(text, sets[1:])
    feeder = list_feeders(case)[0][0]
    still = stand(feeder, np.array([hz]))
    points = solve_points(still, np.array([0]), find_voltage(feeder.line, still.hz, boost))
    assert points.flux[0, 1] > 1.2                      # beyond its knee
    result = simulate(case, "envelope")
    assert join_signal(result, "host_drive", "current")[-1] == pytest.approx(points.current[0], rel=enough)
    assert join_signal(result, "booster", "torque")[-1] == pytest.approx(points.torque[0, 0], rel=enough)
    assert join_signal(result, "stepup", "flux_from")[-1] == pytest.approx(points.flux[0, 1], rel=enough)


UNITS = ("stepup", "subsea_transformer")
DESK_HZ = np.array([1.0, 1.5, 2.0, 3.0, 5.0])
DESK_CURRENT = np.array([0.81, 0.98, 1.13, 1.38, 1.78])
DESK_FLUX = {28.0: np.array([1.77, 1.46, 1.28, 1.09, 0.96]), 60.0: np.array([2.56, 2.10, 1.83, 1.53, 1.27])}


@pytest.mark.parametrize("km", (28.0, 60.0))
def test_current_and_flux_against_a_desk_table(km):
    """A desk calculation of the same arrangement with linear cores and 0.6 % of resistance in each transformer: current
    per unit of the motor's, volts per hertz at the drive.  Its torque is 30 % of the motor's rated power over its
    synchronous speed at the apparent power, so 35.5 % of rated torque.  Every entry within 5 %: the currents agree to
    0.5 %, the fluxes lie 2 to 4 % lower because the table's third digit stands at the drive and ours behind its filter.
    """
    case = load_case(QUILLFEN, [f"umbilical.length_km={km}", *(f"{name}.x_over_r=13.3" for name in UNITS)])
    feeder, motor = straighten_cores(list_feeders(case)[0][0]), case.machines[0].motor
    apparent = motor.rated_w / (motor.efficiency_pu * motor.power_factor_pu)
    torque = 0.3 * apparent / (2.0 * np.pi * 50.0 / 2.0)
    still = stand(feeder, DESK_HZ)
    points = solve_where(still, find_torque_voltage(still, feeder.limits, torque / feeder.limits.breakaway[0]))
    assert points.current / (apparent / (np.sqrt(3.0) * 3300.0)) == pytest.approx(DESK_CURRENT, rel=0.01)
    assert points.flux[:, 1] == pytest.approx(DESK_FLUX[km], rel=0.05)


def test_window_of_the_desk_table():
    """With a core for 1.6 and current per unit of the motor's the desk reads 1.3 to 1.9 Hz off its table.  Here: the
    drive is rated 5 % above the motor (1.9 becomes 2.05), and the flux of the table's 1.3 Hz holds down to 1.2 Hz."""
    sets = ["stepup.knee_pu=1.6", "criteria.start_flux_max_pu=1.6", "criteria.breakaway_ratio_min=1.185"]
    window, = find_windows(load_case(QUILLFEN, sets), COARSE, confirm=False)
    (low, high), = window.intervals
    assert low == pytest.approx(1.2, abs=0.05) and high == pytest.approx(2.08, abs=0.05)
    sets.append("host_drive.current_limit_pct=104.3")          # 110 % of the motor's current
    window, = find_windows(load_case(QUILLFEN, sets), COARSE, confirm=False)
    assert window.intervals[0][1] == pytest.approx(1.9, abs=0.03)


def test_settings_inside_start_and_outside_stall_or_trip():
    """Quillfen: the recommended setting accelerates; less torque stays; more frequency takes the drive to its limit and
    trips it, and the reason is named."""
    case = load_case(QUILLFEN)
    window, = find_windows(case)
    assert [(round(low, 1), round(high, 1)) for low, high in window.intervals] == [(1.0, 2.1)]
    inside, short, beyond = window.trials
    assert inside["outcome"] == "breaks away" and "gaining speed" in inside["sentence"]
    assert inside["margins"].min() > 0.0
    assert short["outcome"] == "stays at standstill" and short["torque_to_breakaway"] == pytest.approx(0.85, abs=0.01)
    assert beyond["outcome"] == "trips" and "at its current limit for too long" in beyond["sentence"]
    assert inside["flux_pu"]["stepup"] < 1.7
    # the time domain meets the phasors: current at the hold, short of the transient
    assert short["drive_current_pct"] == pytest.approx(
        100.0 * short["points"].current[0] / window.feeder.limits.rated_current, rel=0.02)


def test_recommended_overrides_start_the_case():
    """The whole run of the case with them: to speed, torque, flux and current within their limits."""
    case = load_case(QUILLFEN)
    told = describe_windows(case, find_windows(case, COARSE, confirm=False))["drives"]["host_drive"]
    result, summary = run(load_case(QUILLFEN, told["recommended"]["set"]))
    assert summary["motors"]["booster"]["time_to_speed_s"] < 30.0
    ids = ("breakaway", "flux_starting", "drive_current")
    judged = {row["level"] for row in summary["criteria"] if row["id"] in ids}
    assert judged and "fail" not in judged
    assert result.machines["booster"].tripped_at is None


def test_no_window_says_what_would_open_one_and_it_does():
    """Tessarook at 110 %: none.  Each opener's overrides, written into the case, leave a window."""
    window, = find_windows(load_case(TESSAROOK), COARSE, confirm=False)
    assert window.intervals == [] and window.best.margins.min() < 0.0
    assert set(window.openers) == {"drive_current", "core_flux", "cable_resistance", "breakaway"}
    for kind, found in window.openers.items():
        opened, = find_windows(load_case(TESSAROOK, found["set"]), COARSE, confirm=False)
        assert opened.intervals, kind
        low, high = opened.intervals[0]
        assert low - 0.1 < found["start_hz"] < high + 0.1, kind
    less = int(window.openers["drive_current"]["current_limit_pct"]) - 2
    still_none, = find_windows(load_case(TESSAROOK, [f"host_drive.current_limit_pct={less}"]), COARSE, confirm=False)
    assert not still_none.intervals


def test_a_bigger_drive_opens_tessarook_near_three_hertz():
    window, = find_windows(load_case(TESSAROOK, ["host_drive.current_limit_pct=150"]), COARSE, confirm=False)
    (low, high), = window.intervals
    assert low < 3.0 < high and 2.9 < window.best.hz < 3.5


def test_a_case_without_a_drive_has_no_window():
    with pytest.raises(CaseError, match="no drive feeds a machine"):
        find_windows(load_case(CASES / "morrowgate.toml"))


def test_a_machine_that_asks_for_nothing_has_none():
    text = QUILLFEN.read_text()
    text = text[:text.index("[[event]]")]
    head, tail = text.split("[machine.load]")
    with pytest.raises(CaseError, match="asks for torque at standstill"):
        find_windows(parse_case(head + '[machine.load]\nkind = "none"\n'))
    assert "breakaway_pct" in tail


FAR = """
[study]
duration_s = 3.0
[[grid]]
name = "host"
node = "host_bus"
rated_kv = 6.6
short_circuit_mva = 300.0
frequency_hz = 50.0
[[drive]]
name = "far_drive"
node = "drive_out"
rated_kv = 6.6
rated_kva = 3000.0
frequency_hz = 100.0
start_hz = 2.0
boost_pct = 3.0
[drive.front_end]
node = "host_bus"
[[transformer]]
name = "step"
from = "drive_out"
to = "step_out"
rated_mva = 3.0
from_kv = 6.6
to_kv = 6.6
[[machine]]
name = "booster"
node = "step_out"
[machine.motor]
rated_kw = 1000.0
rated_kv = 6.6
poles = 2
frequency_hz = 100.0
[machine.load]
kind = "pump"
"""


def test_window_does_not_depend_on_the_frequency_of_the_host():
    """A 100 Hz drive behind a host of 50, 60 or 100 Hz, and alone: the same window to the last digit, fluxes of the
    volts per hertz of its own island."""
    told = []
    for sets in (["host.frequency_hz=50"], ["host.frequency_hz=60"], ["host.frequency_hz=100"]):
        found = describe_windows(case := parse_case(FAR, sets), find_windows(case, COARSE, confirm=False))
        told.append(found["drives"]["far_drive"])
    assert told[0] == told[1] == told[2]
    alone = FAR[FAR.index("[[drive]]"):].replace('[drive.front_end]\nnode = "host_bus"\n', "")
    case = parse_case("[study]\nduration_s = 3.0\n" + alone)
    own = describe_windows(case, find_windows(case, COARSE, confirm=False))["drives"]["far_drive"]
    assert own == told[0]
    flux = own["at_required_torque"][2]
    assert flux["flux_pu"]["step.from"] == pytest.approx(
        0.01 * flux["drive_voltage_pct"] / (flux["start_hz"] / 100.0), rel=0.15)      # short of the drop in the filter


def test_voltage_of_the_map_stays_below_the_ceiling_of_the_drive():
    """Half of rated voltage at most, less than boost may add; the line itself is below it up to 25 Hz."""
    case = load_case(QUILLFEN, ["host_drive.voltage_max_pct=50", "host_drive.boost_pct=50",
                                "host_drive.boost_end_hz=100"])
    feeder = list_feeders(case)[0][0]
    assert find_voltage(feeder.line, np.array([1.0, 5.0])) == pytest.approx(0.5 * case.drives[0].rated_v, rel=1e-12)
    _, most = find_range(feeder.line, np.array([1.0, 20.0, 40.0]))
    assert most == pytest.approx(0.5 * case.drives[0].rated_v, rel=1e-12)
