"""The cases of cases/starting: the same motor started in different ways, against one another and against phasors."""

from pathlib import Path

import pytest
import runs

from sim.case import load_case

CASES = Path(__file__).parents[2] / "cases" / "starting"


@pytest.fixture(scope="module")
def found():
    """Summaries of the three that take seconds."""
    return {name: runs.run(load_case(CASES / f"{name}.toml"))[1] for name in ("direct", "series_reactor", "capacitor")}


def test_all_come_up_to_speed(found):
    for name, summary in found.items():
        assert summary["motors"]["pump_motor"]["outcome"] == "accelerated", name
        assert summary["quality"]["energy_residual_pct"] < 0.01, name       # measured 0.003


def test_coils_spare_the_bus_and_cost_torque(found):
    direct, eased = found["direct"], found["series_reactor"]
    assert eased["nodes"]["subsea_bus"]["min_urms_pu"] > direct["nodes"]["subsea_bus"]["min_urms_pu"] + 0.05
    times = [one["motors"]["pump_motor"]["time_to_speed_s"] for one in (direct, eased)]
    assert times[1] > 1.5 * times[0]


def test_capacitors_help_the_motor(found):
    direct, helped = found["direct"], found["capacitor"]
    assert helped["nodes"]["motor_terminals"]["min_urms_pu"] > direct["nodes"]["motor_terminals"]["min_urms_pu"] + 0.02
    times = [one["motors"]["pump_motor"]["time_to_speed_s"] for one in (direct, helped)]
    assert times[1] < 0.9 * times[0]
