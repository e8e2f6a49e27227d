"""Checks of a motor's no-load curve: its lists, and what they say with the circuit of the case."""

from collections.abc import Iterator
from itertools import pairwise

from sim.case.check.switching import is_known
from sim.case.read.messages import show
from sim.components.fields import Read
from sim.components.machines.motor import BEND, NO_LOAD_CURRENTS, NO_LOAD_VOLTAGE, find_circuit, has_circuit

LEAST_POINTS = 3


def check_no_load(path: str, motor: Read) -> Iterator[str]:
    """The no-load curve is there as a whole, ascends, and says alone how the main path saturates."""
    written = [key for key in (NO_LOAD_VOLTAGE, *NO_LOAD_CURRENTS) if key in motor.model_fields_set]
    if not written:
        return
    amps, share = NO_LOAD_CURRENTS
    if NO_LOAD_VOLTAGE not in written:
        yield f"{path}.{NO_LOAD_VOLTAGE}: missing. Add the voltages that belong to {written[0]}, in % of rated voltage."
    if written == [NO_LOAD_VOLTAGE]:
        yield f"{path}.{amps}: missing. Add the currents that belong to {NO_LOAD_VOLTAGE}, in A, or {share} in %."
    if amps in written and share in written:
        yield f"{path}.{share}: given a second time as {amps}. Keep one of the two."
    for key in BEND:
        if key in motor.model_fields_set:
            yield f"{path}.{key} = {show(getattr(motor, key))}: follows from the no-load curve. Keep one of the two."
    for key in written:
        yield from check_ascent(f"{path}.{key}", getattr(motor, key))
    volts = motor.no_load_voltage_pct
    for key in written[1:]:
        if is_known(volts, getattr(motor, key)) and len(getattr(motor, key)) != len(volts):
            yield (f"{path}.{key}: holds {len(getattr(motor, key))} numbers, {NO_LOAD_VOLTAGE} holds {len(volts)}. "
                   "Give one current for each voltage.")
    if volts and is_known(volts[-1]) and volts[-1] < 100.0:
        yield (f"{path}.{NO_LOAD_VOLTAGE} = {show(volts)}: must reach 100 at least. Add the points up to rated voltage "
               "or beyond.")


def check_ascent(path: str, values: Read) -> Iterator[str]:
    """A list of the no-load curve."""
    if not is_known(values) or not is_known(*values):
        return
    if len(values) < LEAST_POINTS:
        yield f"{path} = {show(values)}: must hold {LEAST_POINTS} numbers or more. Add the points."
    if any(after <= before for before, after in pairwise(values)):
        yield f"{path} = {show(values)}: must ascend. Sort the points by voltage, each once."


def check_main_path(path: str, motor: Read) -> Iterator[str]:
    """A curve without mistakes of its own shows the magnetising reactance that the circuit of the case leaves out."""
    circuit = motor.circuit
    numbers = [motor.rated_kw, motor.rated_kv, *(getattr(circuit, key) for key in circuit.model_fields_set)]
    if not has_circuit(motor) or not is_known(*numbers):
        return
    try:
        find_circuit(motor)
    except ValueError as error:
        yield f"{path}.{NO_LOAD_VOLTAGE}: {error}."
