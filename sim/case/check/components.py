"""Checks within one component: values that contradict or need each other."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from sim.case.check.drives import check_control
from sim.case.check.no_load import check_main_path, check_no_load
from sim.case.check.switching import (
    check_arrester,
    check_breaker,
    check_core,
    check_fault,
    check_grid,
    check_neutrals,
    is_known,
)
from sim.case.read.messages import show
from sim.case.read.validation import Parts
from sim.components.at_nodes import shunt as shunts
from sim.components.branches import cable as cables
from sim.components.branches.transformer import is_possible_group
from sim.components.fields import Read
from sim.components.machines.motor import (
    CIRCUIT,
    MAGNETISING,
    NO_LOAD_VOLTAGE,
    SECOND_CAGE,
    find_poles,
    find_synchronous_rpm,
    has_circuit,
)
from sim.components.study.event import EXTRAS

STEPS_PER_PERIOD = 10   # fewest waveform steps in a period of the bandwidth
SHORTEST_KM = 1e-3      # anything shorter is a connection, not a cable [km]


def check_parts(parts: Parts) -> list[str]:
    """Mistakes within the components, one sentence each."""
    mistakes = [*check_study(parts.single["study"]), *check_detail(parts.single["study"])]
    for item in parts.items:
        if item.kind in CHECKS:
            mistakes += CHECKS[item.kind](item.path, item.table)
    return mistakes


def check_study(study: Read) -> Iterator[str]:
    step, bandwidth = study.waveform_step_us, study.bandwidth_khz
    if is_known(step, bandwidth) and step * bandwidth > 1e3 / STEPS_PER_PERIOD:
        yield (f"study.waveform_step_us = {show(step)}: must be <= {1e3 / STEPS_PER_PERIOD / bandwidth:g} to "
               f"resolve bandwidth_khz = {bandwidth:g}. Shorten the step or leave it out.")


def check_detail(study: Read) -> Iterator[str]:
    """Spans in detail run forward and begin within the study."""
    for span in study.detail_s or []:
        if span is not None and (span[1] <= span[0] or is_known(study.duration_s) and span[0] >= study.duration_s):
            yield (f"study.detail_s = {show(span)}: must run forward and begin before duration_s = "
                   f"{study.duration_s:g}. Give each span as [from, to] in s.")


def check_node(path: str, node: Read) -> Iterator[str]:
    if is_known(node.um_kv, node.nominal_kv) and node.um_kv < node.nominal_kv:
        yield (f"{path}.um_kv = {show(node.um_kv)}: must be >= nominal_kv = {node.nominal_kv:g}. Give the "
               "highest voltage for equipment, line-to-line RMS.")
    if is_known(node.um_kv, node.lightning_withstand_kv) and node.lightning_withstand_kv < node.um_kv:
        yield (f"{path}.lightning_withstand_kv = {show(node.lightning_withstand_kv)}: must be >= um_kv = "
               f"{node.um_kv:g}. Give the impulse withstand as a peak value.")


def check_drive(path: str, drive: Read) -> Iterator[str]:
    target = drive.target_hz if drive.target_hz is not None else drive.frequency_hz
    if is_known(drive.start_hz, target) and drive.start_hz > target:
        yield (f"{path}.start_hz = {show(drive.start_hz)}: must be <= the target {target:g} Hz. Lower "
               "start_hz or raise target_hz.")
    if is_known(drive.target_hz, drive.frequency_hz) and drive.target_hz > 2.0 * drive.frequency_hz:
        yield (f"{path}.target_hz = {show(drive.target_hz)}: must be <= twice frequency_hz = "
               f"{drive.frequency_hz:g}. Correct one of the two.")
    yield from check_control(path, drive)


def check_transformer(path: str, transformer: Read) -> Iterator[str]:
    group = transformer.vector_group
    if group is not None and not is_possible_group(group):
        yield (f"{path}.vector_group = {show(group)}: must have an even clock number between like "
               "connections and an odd one between star and delta. Correct the letters or the number.")
    else:
        yield from check_neutrals(path, transformer)
    yield from check_core(path, transformer)
    yield from check_losses(path, transformer)
    current, loss = transformer.no_load_current_pct, transformer.no_load_loss_pct
    if is_known(current, loss) and loss > current:
        yield (f"{path}.no_load_loss_pct = {show(loss)}: must be <= no_load_current_pct = {current:g}, of "
               "which it is the part in phase with the voltage. Correct one of the two.")


def check_losses(path: str, transformer: Read) -> Iterator[str]:
    """Losses are given once and fit under impedance and no-load current."""
    for key, other in (("load_loss_kw", "x_over_r"), ("no_load_loss_kw", "no_load_loss_pct")):
        if is_known(getattr(transformer, key), getattr(transformer, other)):
            yield (f"{path}.{other} = {show(getattr(transformer, other))}: follows from {key} = "
                   f"{getattr(transformer, key):g}. Keep one of the two.")
    power, impedance = transformer.rated_mva, transformer.impedance_pct
    loss, no_load = transformer.load_loss_kw, transformer.no_load_loss_kw
    if is_known(power, impedance, loss) and loss / power / 10.0 >= impedance:
        yield (f"{path}.load_loss_kw = {show(loss)}: {loss / power / 10.0:.3g} % of rated power, must be < "
               f"impedance_pct = {impedance:g}. Check the units of both.")
    if is_known(power, transformer.no_load_current_pct, no_load):
        if no_load / power / 10.0 > transformer.no_load_current_pct:
            yield (f"{path}.no_load_loss_kw = {show(no_load)}: {no_load / power / 10.0:.3g} % of rated power, must be "
                   f"<= no_load_current_pct = {transformer.no_load_current_pct:g}. Check the units of both.")


def check_cable(path: str, cable: Read) -> Iterator[str]:
    """Length and constants of a cable, or of each of its sections."""
    if not cable.section:
        if cable.length_km is None and "length_km" not in cable.model_fields_set:
            yield f"{path}.length_km: missing. Add length_km = a number in km > 0 and <= 500, the length of the cable."
        yield from check_line(path, cable, cable.length_km)
        return
    if is_known(cable.length_km):
        yield (f"{path}.length_km = {show(cable.length_km)}: follows from the sections. Leave it out or give it to "
               "a section.")
    for number, section in enumerate(cable.section, start=1):
        if section is not None:
            yield from check_line(f"{path}.section[{number}]", cables.inherit(section, cable), section.length_km)


def check_line(path: str, cable: Read, length: Any) -> Iterator[str]:
    if is_known(length) and length < SHORTEST_KM:
        yield (f"{path}.length_km = {show(length)}: shorter than 1 m. Leave it out and join what is at its ends to "
               "one node.")
    missing = [key for key in cables.CONSTANTS if getattr(cable, key) is None and key not in cable.model_fields_set]
    if missing and "conductor_mm2" not in cable.model_fields_set:
        yield (f"{path}.{missing[0]}: missing. Add {' and '.join(missing)}, or conductor_mm2 to derive them from the "
               "construction.")
    pairs = (("inductance_mh_per_km", "capacitance_uf_per_km"),
             ("zero_inductance_mh_per_km", "zero_capacitance_uf_per_km"))
    for inductance, capacitance in pairs:
        values = getattr(cable, inductance), getattr(cable, capacitance)
        if is_known(*values) and cables.find_speed(*values) > cables.LIGHT_KM_PER_S:
            yield (f"{path}.{capacitance} = {show(values[1])}: with {inductance} = {values[0]:g} waves would "
                   f"travel at {cables.find_speed(*values):.3g} km/s, faster than light. Check the units of "
                   "both.")


def check_shunt(path: str, shunt: Read) -> Iterator[str]:
    given = [part for part in shunts.PARTS if part in shunt.model_fields_set]
    if not given:
        yield f"{path}: no part given. Give at least one of {', '.join(shunts.PARTS)}."
    if shunt.connection == "series" and len(given) == 1:
        yield (f"{path}.connection = \"series\": a string needs two parts or more, only {given[0]} is given. "
               "Give another part or write connection = \"parallel\".")


def check_event(path: str, event: Read) -> Iterator[str]:
    needed = EXTRAS.get(event.action)
    if needed and needed not in event.model_fields_set:
        yield f"{path}.{needed}: missing. An event with action = \"{event.action}\" needs it."
    for action, key in EXTRAS.items():
        if is_known(event.action, getattr(event, key)) and event.action != action:
            yield (f"{path}.{key} = {show(getattr(event, key))}: belongs to action = \"{action}\", not to "
                   f"\"{event.action}\". Remove it or change the action.")


def check_machine(path: str, machine: Read) -> Iterator[str]:
    if "motor" in machine.model_fields_set:
        yield from check_motor(f"{path}.motor", machine.motor)
    yield from check_shaft(f"{path}.shaft", machine.shaft)
    if machine.load.kind == "table":
        yield from check_table(f"{path}.load", machine.load)


def check_motor(path: str, motor: Read) -> Iterator[str]:
    """Circuit, speed and poles; a stator resistance alone goes with the nameplate."""
    mistakes = list(check_no_load(path, motor))
    if "circuit" in motor.model_fields_set and has_circuit(motor):
        mistakes += check_circuit(f"{path}.circuit", motor.circuit, NO_LOAD_VOLTAGE in motor.model_fields_set)
    yield from mistakes or check_main_path(path, motor)
    if not {"poles", "rated_rpm"} & motor.model_fields_set:
        yield f"{path}.poles: missing. Add poles, an even number, or rated_rpm."
    if is_known(motor.code_letter, motor.locked_rotor_current_pct):
        yield (f"{path}.code_letter = {show(motor.code_letter)}: says the same as locked_rotor_current_pct = "
               f"{motor.locked_rotor_current_pct:g}. Keep one of the two.")
    yield from check_speed(path, motor)


def check_shaft(path: str, shaft: Read) -> Iterator[str]:
    """A shaft that twists is given by its stiffness or by its length and diameter."""
    if is_known(shaft.stiffness_knm_per_rad, shaft.length_m):
        yield (f"{path}.stiffness_knm_per_rad = {show(shaft.stiffness_knm_per_rad)}: follows from length_m and "
               "diameter_mm. Keep one of the two.")
    for key, other in (("length_m", "diameter_mm"), ("diameter_mm", "length_m")):
        if key in shaft.model_fields_set and other not in shaft.model_fields_set:
            yield f"{path}.{other}: missing. A shaft with {key} needs it to twist."


def check_circuit(path: str, circuit: Read, has_curve: bool) -> Iterator[str]:
    """Each value once, in one of its two units; the second cage whole or not at all.

    A no-load curve says the magnetising reactance where it is not given.
    """
    second = [part for part in SECOND_CAGE if is_given(circuit, part)]
    for part in (*CIRCUIT, *SECOND_CAGE):
        ohm, pu = getattr(circuit, f"{part}_ohm"), getattr(circuit, f"{part}_pu")
        if is_known(ohm, pu):
            yield (f"{path}.{part}_pu = {show(pu)}: given a second time as {part}_ohm = {ohm:g}. Keep one of "
                   "the two.")
        is_needed = part in CIRCUIT and not (has_curve and part == MAGNETISING) or part in SECOND_CAGE and second
        if is_needed and not is_given(circuit, part):
            yield f"{path}.{part}_pu: missing. Add {part}_pu in pu or {part}_ohm in ohm."


def is_given(circuit: Read, part: str) -> bool:
    """Whether a value was written in either unit, be it sound or not."""
    return bool({f"{part}_ohm", f"{part}_pu"} & circuit.model_fields_set)


def check_speed(path: str, motor: Read) -> Iterator[str]:
    if is_known(motor.rated_rpm, motor.frequency_hz) and (motor.poles or "poles" not in motor.model_fields_set):
        synchronous = find_synchronous_rpm(motor)
        if not 0.8 * synchronous <= motor.rated_rpm < synchronous:
            yield (f"{path}.rated_rpm = {show(motor.rated_rpm)}: must be >= {0.8 * synchronous:g} and < the "
                   f"synchronous speed {synchronous:g} of {find_poles(motor)} poles at {motor.frequency_hz:g} Hz. "
                   "Check poles and speed.")


def check_table(path: str, load: Read) -> Iterator[str]:
    """The torque table is there, of equal lengths, from standstill upwards."""
    for key in ("speed_pct", "torque_pct"):
        if key not in load.model_fields_set:
            yield f"{path}.{key}: missing. A load of kind = \"table\" needs a list of numbers in %."
    if not is_known(load.speed_pct, load.torque_pct):
        return
    if len(load.speed_pct) != len(load.torque_pct):
        yield (f"{path}.torque_pct: holds {len(load.torque_pct)} numbers, speed_pct holds "
               f"{len(load.speed_pct)}. Give one torque for each speed.")
    if len(load.speed_pct) < 2 or load.speed_pct[0] != 0:
        yield (f"{path}.speed_pct = {show(load.speed_pct)}: must start at 0 and hold 2 numbers or more. Add "
               "the points.")
    if any(after <= before for before, after in pairwise(load.speed_pct)):
        yield (f"{path}.speed_pct = {show(load.speed_pct)}: must ascend. Sort the points by speed, each "
               "speed once.")


CHECKS = {"node": check_node, "grid": check_grid, "drive": check_drive, "transformer": check_transformer,
          "cable": check_cable, "breaker": check_breaker, "shunt": check_shunt, "machine": check_machine,
          "arrester": check_arrester, "fault": check_fault, "event": check_event}
