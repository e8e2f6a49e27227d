"""Every criterion of the table held against everything it applies to.

What a run cannot tell is listed as "not assessed" with the reason, never left out and never passed.
"""

from typing import Any

from sim.measures.findings import Findings, scale
from sim.measures.starts.acceleration import Start
from sim.measures.starts.torque import TorqueMargin
from sim.measures.switching.openings import find_unresolved
from sim.measures.verdict.criteria import judge
from sim.measures.verdict.switching import judge_chatter, judge_switching
from sim.measures.voltages.overvoltage import find_withstand

LOW_VOLTAGE = 600.0   # the bus criterion is for systems above this nominal voltage [V]
FAILED = ("stalled", "hung")
# What is known from below passes where so many times of it would: a wave doubles at an open end, a ring overshoots by
# its own step (textbook, losses left out)
OVERSHOOT = 2.0


def judge_all(result: Any, found: Findings) -> list[dict]:
    """All judged criteria of a run, in the order of the table."""
    case = result.case
    rows = [row for machine in case.machines for row in judge_machine(case, machine, found)]
    rows += [row for node in case.nodes for row in judge_node(case, node, found)]
    rows += [row for transformer in case.transformers for row in judge_transformer(case, transformer, found)]
    rows += [judge(case.criteria, "drive_current", drive.name, found.drive_loading[drive.name])
             for drive in case.drives]
    rows += [judge_cable(case, cable, found) for cable in case.cables]
    rows += judge_switching(case, found)
    return rows + judge_run(result)


def judge_machine(case: Any, machine: Any, found: Findings) -> list[dict]:
    """Voltage, torque and time of one machine's start."""
    start, torque = found.starts[machine.name], found.torques[machine.name]
    criteria, name = case.criteria, machine.name
    unstarted = explain_no_start(start)
    voltage = found.motors[name]["min_voltage_pu"]
    by_drive = f"started by drive {start.drive}, whose voltage follows its frequency" if start.drive else None
    return [judge(criteria, "motor_voltage", name, scale(voltage), unstarted or by_drive),
            judge(criteria, "accelerating_torque", name, found.motors[name]["min_accelerating_torque_pct"],
                  unstarted or explain_ramp(start) or explain_standstill(found.motors[name])),
            judge_breakaway(criteria, start, torque, unstarted),
            judge(criteria, "time_to_speed", name, start.time_to_speed,
                  unstarted or (None if start.reached is not None else "speed was not reached")),
            judge(criteria, "thermal", name, None, "no thermal model of the motor in this version")]


def explain_no_start(start: Start) -> str | None:
    """Why a machine's start cannot be judged at all."""
    if start.outcome == "not started":
        return "the machine saw no voltage"
    return "the machine was running before the run began" if start.was_running else None


def explain_ramp(start: Start) -> str | None:
    """Why accelerating torque says nothing about a start that a drive carried through."""
    if start.drive is None or start.outcome in FAILED:
        return None
    return f"the frequency ramp of drive {start.drive} sets the acceleration, not the torque left over"


def explain_standstill(motor: dict) -> str | None:
    """Why there is no accelerating torque to judge."""
    seen = motor["min_accelerating_torque_pct"] is not None
    return None if seen else "no torque seen between 5 % and 95 % of rated speed"


def judge_breakaway(criteria: Any, start: Start, torque: TorqueMargin, unstarted: str | None) -> dict:
    """Torque available at standstill against breakaway.

    A shaft that moved hides what the motor could still have given: a ratio seen short of the limit is then
    no failure, and is not assessed.
    """
    if unstarted or torque.breakaway is None or torque.available is None:
        reason = unstarted or ("the load asks no breakaway torque" if torque.breakaway is None else None)
        return judge(criteria, "breakaway", start.machine, None, reason)
    ratio = torque.available / torque.breakaway
    judged = judge(criteria, "breakaway", start.machine, ratio)
    if judged["level"] == "fail" and start.outcome != "stalled":
        return judge(criteria, "breakaway", start.machine, ratio,
                     "the shaft moved before more torque was called for; hold it to see what is available")
    return judged


def judge_node(case: Any, node: Any, found: Findings) -> list[dict]:
    """Sag, temporary overvoltage and peak of one node."""
    measured, criteria = found.nodes[node.name], case.criteria
    rows = [judge_temporary(criteria, node, measured),
            judge_peak(criteria, node, measured, find_unresolved(found.openings))]
    if all(machine.node != node.name for machine in case.machines):
        low = "the limit is for systems above 600 V" if node.nominal_v <= LOW_VOLTAGE else None
        absent = "not fed, or never at 90 % of rated frequency" if measured["min_urms_pu"] is None else None
        rows.append(judge(criteria, "bus_voltage", node.name, scale(measured["min_urms_pu"]), low or absent))
    return rows


def judge_temporary(criteria: Any, node: Any, measured: dict) -> dict:
    """Highest one-cycle RMS of a node; what stays connected to a cable can raise it after its supply has opened."""
    highest, after = measured["max_urms_pu"], measured["max_urms_after_opening_pu"]
    judged = judge(criteria, "temporary_overvoltage", node.name, highest)
    if after is None or after < highest or after <= 1.0:
        return judged
    return judged | {"basis": f"{judged['basis']}; reached after the supply had opened (self-excitation of a machine, "
                              "or ringing of a reactor with a cable)"}


def judge_peak(criteria: Any, node: Any, measured: dict, unresolved: str | None = None) -> dict:
    """Largest peak of a node in per cent of its withstand voltage.

    One that passes is not assessed where a gap may leave more than the run resolves.
    """
    withstand, origin = find_withstand(node)
    if withstand is None or measured["peak_phase_earth_pu"] is None:
        return judge(criteria, "transient_peak", node.name, None, None if withstand else origin)
    between = measured["peak_phase_phase_pu"] * 2.0**0.5 * node.nominal_v
    worst = max(1e3 * measured["peak_phase_earth_kv"], between)
    judged = judge(criteria, "transient_peak", node.name, 100.0 * worst / withstand)
    if judged["level"] != "fail" and unresolved:
        return judge(criteria, "transient_peak", node.name, 100.0 * worst / withstand, unresolved)
    if judged["level"] != "fail" and measured["peak_at_least"]:
        if judge(criteria, "transient_peak", node.name, OVERSHOOT * 100.0 * worst / withstand)["level"] == "fail":
            return judge(criteria, "transient_peak", node.name, 100.0 * worst / withstand,
                         f"the peak is at least {worst / 1e3:.4g} kV: study.bandwidth_khz would have to be "
                         f"{measured['peak_needs_khz']:.3g}")
        origin = f"at least this, and {OVERSHOOT:g} times it would still pass; {origin}"
    return judged | {"basis": f"{judged['basis']}; {origin}, {withstand / 1e3:g} kV"}


def judge_transformer(case: Any, transformer: Any, found: Findings) -> list[dict]:
    """Flux of one transformer at speed and on the way there."""
    before, settled = found.flux[transformer.name]
    return [judge(case.criteria, "flux_at_speed", transformer.name, settled),
            judge(case.criteria, "flux_starting", transformer.name, before,
                  "the source never was below 90 % of rated frequency" if before is None else None)]


def judge_cable(case: Any, cable: Any, found: Findings) -> dict:
    """Current of one cable at speed against its ampacity."""
    if cable.ampacity_a is None:
        return judge(case.criteria, "cable_current", cable.name, None, "no ampacity given (ampacity_a)")
    return judge(case.criteria, "cable_current", cable.name, found.cable_loading[cable.name])


def judge_run(result: Any) -> list[dict]:
    """What concerns the run as a whole."""
    criteria = result.case.criteria
    residual = result.energy.residual_pct if result.energy is not None else None
    return [judge(criteria, "energy_residual", "run", residual,
                  "the run kept no energy balance" if residual is None else None),
            judge_chatter(result)]
