"""Small rules of the single tables."""

import pytest

from sim.components.branches.cable import LIGHT_KM_PER_S, Cable, find_defaults, find_speed
from sim.components.branches.transformer import is_possible_group, split_group
from sim.components.machines.load import BREAKAWAY_PCT, USED_BY, Load, is_used
from sim.components.study.criteria import DEFAULTS, MARGINAL, ROWS, RUNNING, START, SWITCHING, WHOLE, Criteria
from sim.components.study.event import EXTRAS, TARGETS, Event
from sim.components.supply.drive import Drive
from sim.components.supply.drive import find_defaults as find_drive_defaults


def test_every_limit_is_judged_and_every_criterion_has_its_limit():
    keys = {row.key for row in ROWS}
    assert keys - {None} == set(Criteria.model_fields) - {MARGINAL} and Criteria().model_dump() == DEFAULTS
    assert [row.id for row in ROWS if row.key is None] == ["thermal"]


def test_sense_and_parts_of_a_run():
    assert {row.id for row in ROWS if row.sense == "min"} == {"motor_voltage", "bus_voltage", "accelerating_torque",
                                                              "breakaway"}
    parts = {phase: {row.id for row in ROWS if phase in row.phases} for phase in (START, SWITCHING, RUNNING, WHOLE)}
    assert sum(map(len, parts.values())) == len(ROWS)
    assert parts[RUNNING] == {"flux_at_speed", "cable_current"}
    assert parts[SWITCHING] == {"statistical_peak", "recovery_voltage", "recovery_rate", "missing_zeros", "reignition",
                                "opening_peak"}
    assert parts[WHOLE] > {"transient_peak", "temporary_overvoltage", "energy_residual"}


def test_vector_group_is_split():
    assert split_group("YNd11") == ("YN", "d", 11)
    assert split_group("Dyn5") == ("D", "yn", 5)
    assert split_group("Yy0") == ("Y", "y", 0)


def test_possible_groups_are_half_of_all():
    # every pair of connections has six of the twelve clock numbers (IEC 60076-1, from memory, to be checked)
    pairs = [first + second for first in ("D", "Y", "YN") for second in ("d", "y", "yn")]
    assert all(sum(is_possible_group(f"{pair}{clock}") for clock in range(12)) == 6 for pair in pairs)


def test_wave_speed():
    # an air-insulated coaxial line: L = mu0/(2 pi) ln(b/a), C = 2 pi eps0 / ln(b/a), so LC = 1/c^2
    from scipy import constants
    ratio = 1.0
    inductance = constants.mu_0 / (2.0 * constants.pi) * ratio * 1e6            # mH/km
    capacitance = 2.0 * constants.pi * constants.epsilon_0 / ratio * 1e9        # uF/km
    # mu0 and eps0 are measured values since 2019: their product agrees with 1/c^2 to 1e-9 and better
    assert find_speed(inductance, capacitance) == pytest.approx(constants.c / 1e3, rel=1e-9)
    assert LIGHT_KM_PER_S == constants.c / 1e3


def test_zero_sequence_of_a_cable():
    cable = Cable.model_validate({
        "name": "c", "from": "a", "to": "b", "length_km": 1.0, "resistance_ohm_per_km": 0.1,
        "inductance_mh_per_km": 0.4, "capacitance_uf_per_km": 0.2})
    values = {key: filled.value for key, filled in find_defaults(cable).items()}
    assert values == pytest.approx({"zero_resistance_ohm_per_km": 0.4, "zero_inductance_mh_per_km": 1.2,
                                    "zero_capacitance_uf_per_km": 0.2})


def test_drive_target():
    drive = Drive(name="d", node="a", rated_kv=3.3, rated_kva=1000.0, frequency_hz=60.0)
    assert find_drive_defaults(drive)["target_hz"].value == 60.0


def test_every_kind_of_load_has_a_breakaway_and_known_keys():
    assert set(BREAKAWAY_PCT) == set(Load.model_fields["kind"].annotation.__args__)
    assert set(USED_BY) < set(Load.model_fields)
    assert is_used("dip_pct", "pump") and not is_used("dip_pct", "table") and is_used("load_pct", "none")


def test_every_action_has_a_target():
    assert set(TARGETS) == set(Event.model_fields["action"].annotation.__args__)
    assert set(EXTRAS) <= set(TARGETS) and set(EXTRAS.values()) <= set(Event.model_fields)
