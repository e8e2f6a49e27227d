"""Loading of drives, cables and transformers, on signals with known answers."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from sim.measures import summarise

from ..synthetic import BASE, RATED_SPEED, RATED_TORQUE, make_case, make_drive_case, make_envelope, make_run

T = np.linspace(0.0, 10.0, 10001)
RISE = RATED_SPEED * np.minimum(T / 4.0, 1.0)     # 95 % at 3.8 s
LINKS = {
    "cables": [SimpleNamespace(name="umbilical", from_node="host", to_node="motor_bus", ampacity_a=100.0)],
    "transformers": [SimpleNamespace(name="step_up", from_node="host", to_node="motor_bus")],
}


def read(case, speed=RISE, frequency=50.0, **signals):
    stretch = make_envelope(case, T, speed, BASE, frequency=frequency, torque=0.5 * RATED_TORQUE)
    stretch.signals.update(
        {
            name: {key: np.broadcast_to(value, T.shape).copy() for key, value in entry.items()}
            for name, entry in signals.items()
        }
    )
    return summarise(make_run(case, stretch))


def row(summary, id):
    found, = (row for row in summary["criteria"] if row["id"] == id)
    return found


def test_cable_is_judged_at_speed_not_on_the_starting_current():
    current = np.where(T < 3.8, 500.0, 80.0)
    summary = read(make_case(**LINKS), umbilical={"current_from": 0.9 * current, "current_to": current})
    assert summary["cables"]["umbilical"]["max_current_a"] == pytest.approx(500.0, rel=1e-9)
    judged = row(summary, "cable_current")
    assert judged["value"] == pytest.approx(80.0, rel=1e-9)
    assert judged["margin_pct"] == pytest.approx(20.0, rel=1e-9)


def test_cable_without_ampacity_or_without_speed_is_not_assessed():
    links = {"cables": [SimpleNamespace(**(vars(LINKS["cables"][0]) | {"ampacity_a": None}))]}
    assert (
        row(read(make_case(**links), umbilical={"current_to": 80.0}), "cable_current")["level"]
        == "not assessed"
    )
    stuck = read(make_case(**LINKS), speed=0.5 * RISE, umbilical={"current_to": 80.0})
    assert row(stuck, "cable_current")["level"] == "not assessed"
    assert stuck["cables"]["umbilical"]["max_current_a"] == pytest.approx(80.0, rel=1e-9)


def test_flux_left_by_energising_is_no_overfluxing():
    """An offset of one rated crest dying out with 0.2 s: the peak is 2 pu, at speed it is gone."""
    flux = 1.0 + np.exp(-T / 0.2)
    summary = read(make_case(**LINKS), step_up={"flux_from": flux, "flux_to": 0.98})
    assert summary["transformers"]["step_up"]["peak_flux_pu"] == pytest.approx(2.0, rel=1e-12)
    assert row(summary, "flux_at_speed")["value"] == pytest.approx(1.0, rel=1e-6)    # exp(-19) is 6e-9
    assert row(summary, "flux_at_speed")["margin_pct"] == pytest.approx(100.0, rel=1e-4)
    assert row(summary, "flux_starting")["level"] == "not assessed"


def test_limbs_count_where_they_are_known_and_magnitudes_elsewhere():
    """A zero-sequence flux of 0.5 pu lies in the limbs but not in the space vector; the magnitude bounds the rest."""
    case, late = make_case(**LINKS), np.linspace(10.0, 10.1, 1001)
    first = make_envelope(case, T, RISE, BASE, torque=0.5 * RATED_TORQUE)
    second = make_envelope(case, late, np.full(1001, RATED_SPEED), BASE, torque=0.5 * RATED_TORQUE)
    limbs = {f"flux_to_{limb}": 0.5 + np.cos(314.0 * late - 2.1 * k) for k, limb in enumerate("abc")}
    first.signals["step_up"] = {"flux_to": np.full(len(T), 1.2)}
    second.signals["step_up"] = {"flux_to": np.full(1001, 1.9)} | limbs
    summary = summarise(make_run(case, first, replace(second, engine="waveform")))
    highest = max(np.abs(limb).max() for limb in limbs.values())
    assert summary["transformers"]["step_up"]["peak_flux_pu"] == pytest.approx(highest, rel=1e-12)
    assert 1.49 < highest <= 1.5


def test_flux_while_starting_counts_below_90_percent_of_rated_frequency():
    f = np.minimum(1.5 + 20.0 * T, 50.0)
    flux = np.where(f < 10.0, 1.3, np.where(f < 45.0, 1.05, 1.08))
    case = make_drive_case(criteria=SimpleNamespace(start_flux_max_pu=1.2), **LINKS)
    summary = read(case, frequency=f, step_up={"flux_from": flux})
    assert row(summary, "flux_starting")["value"] == pytest.approx(1.3, rel=1e-12)
    assert row(summary, "flux_starting")["level"] == "fail"
    assert row(summary, "flux_at_speed")["value"] == pytest.approx(1.08, rel=1e-9)


def test_start_flux_without_a_limit_is_not_assessed():
    f = np.minimum(1.5 + 20.0 * T, 50.0)
    judged = row(read(make_drive_case(**LINKS), frequency=f, step_up={"flux_from": 1.3}), "flux_starting")
    assert judged["level"] == "not assessed"
    assert "criteria.start_flux_max_pu" in judged["reason"]


def test_drive_current_is_a_mean_over_one_rated_cycle():
    """Rated current 3 MVA / (sqrt(3) 6.6 kV); 200 % for 5 ms in a cycle at 100 % averages to 125 %."""
    rated = 3.0e6 / (np.sqrt(3.0) * BASE)
    current = rated * np.where((T >= 5.0 - 1e-9) & (T < 5.005 - 1e-9), 2.0, 1.0)
    judged = row(read(make_drive_case(), host_drive={"current": current}), "drive_current")
    # the two flanks, 1 ms long each, keep the area of the step: exact for the trapezium rule
    assert judged["value"] == pytest.approx(125.0, rel=1e-9)
    assert judged["level"] == "fail"
