"""What a survey sees of a network with series reactors, bypasses, faults and open breakers, against impedances by hand.
"""

import numpy as np
import pytest

from sim.case import parse_case
from sim.studies.survey.study import survey
from studies.arrangements import breaker, grid, make, motor

COIL = ("series_reactor", {"name": "start_coil", "from": "head", "to": "terminals", "reactance_ohm": 2.2,
                           "quality": 300.0})
MAIN = breaker("bus", "head", "motor_breaker", closed=False)


def close(name, at):
    return "event", {"at_s": at, "action": "close", "target": name}


def find_start(*parts):
    found = survey(make(grid(kv=6.6, mva=100.0, x_over_r=100.0), motor("terminals", kv=6.6), *parts))
    return found["machines"]["pump"], found


SUPPLY_OHM = 6.6**2 / 100.0         # of 100 MVA at 6.6 kV, next to no resistance


@pytest.mark.parametrize("bypass, ohm", [
    ([], SUPPLY_OHM + 2.2),
    ([breaker("head", "terminals", "by_pass", closed=False), close("by_pass", 0.9)], SUPPLY_OHM + 2.2),
    ([breaker("head", "terminals", "by_pass")], SUPPLY_OHM)])
def test_fault_level_behind_a_series_reactor_behind_an_open_breaker(bypass, ohm):
    """Reactances of supply and coil add up; a bypass counts as it stands when the motor first gets voltage."""
    found, whole = find_start(MAIN, COIL, close("motor_breaker", 0.3), *bypass)
    assert found["fault_level_mva"] == pytest.approx(6.6**2 / ohm, rel=2e-3)
    assert found["start_to_fault_level_pct"] == pytest.approx(100.0 * found["start_mva"] * ohm / 6.6**2, rel=2e-3)
    assert found["tripped_by"] == "motor_breaker"
    island = whole["islands"]["host"]
    assert set(whole["nodes"]) == {"bus", "head", "terminals"}
    assert island["motor_magnetising_mvar"] == pytest.approx(found["magnetising_mvar"])
    assert island["farthest_node"] == "terminals"


def test_breakers_that_no_order_closes_count_as_closed():
    found, _ = find_start(MAIN, COIL)
    assert found["fault_level_mva"] == pytest.approx(6.6**2 / (SUPPLY_OHM + 2.2), rel=2e-3)


def test_a_survey_sees_the_network_without_its_faults():
    case = make(grid(kv=6.6, mva=100.0), motor("bus", kv=6.6))
    short = parse_case(case.text + '[[fault]]\nname = "short"\nnode = "bus"\nat_s = 0.5\nphases = "abc"\n')
    assert survey(short) == survey(case)
    assert np.isclose(survey(short)["nodes"]["bus"]["no_load_pu"], 1.0, rtol=1e-3)
