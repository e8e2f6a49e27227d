"""The [machine.motor] table: nameplate and equivalent circuit of an induction motor."""

from math import pi, sqrt
from typing import Annotated, Any, Literal

from pydantic import Field

from sim.components.fields import Filled, Graded, Table, given, high_frequency_quality, quantity, setting
from sim.params.estimate import Estimate
from sim.params.motor import no_load
from sim.params.motor.estimates import (
    estimate_breakdown_torque,
    estimate_current_of_code_letter,
    estimate_efficiency,
    estimate_locked_rotor_current,
    estimate_locked_rotor_torque,
    estimate_motor_inertia,
    estimate_power_factor,
    estimate_rated_slip,
)

MAGNETISING = "magnetising_reactance"
CIRCUIT = ("stator_resistance", "stator_reactance", MAGNETISING, "rotor_resistance", "rotor_reactance")
SECOND_CAGE = ("second_rotor_resistance", "second_rotor_reactance")
MOST_SLIP = 0.2         # no motor is rated at more slip than this (common practice) [pu]
IN_OHM = "star equivalent per phase at rated frequency"
IN_PU = "on the motor's rated voltage and input power"


def _ohm(what: str) -> Any:
    return quantity(f"{what}, {IN_OHM}", least=1e-6, most=1e6, default=None)


def _pu(what: str, most: float) -> Any:
    return quantity(f"{what}, {IN_PU}", least=1e-5, most=most, default=None)


class Circuit(Table):
    """Equivalent circuit per phase; each value either in ohm or per unit; the second cage is optional."""

    stator_resistance_ohm: float | None = _ohm("stator resistance")
    stator_resistance_pu: float | None = _pu("stator resistance", 0.5)
    stator_reactance_ohm: float | None = _ohm("stator leakage reactance")
    stator_reactance_pu: float | None = _pu("stator leakage reactance", 1.0)
    magnetising_reactance_ohm: float | None = _ohm("magnetising reactance")
    magnetising_reactance_pu: float | None = _pu("magnetising reactance", 30.0)
    rotor_resistance_ohm: float | None = _ohm("rotor resistance referred to the stator")
    rotor_resistance_pu: float | None = _pu("rotor resistance referred to the stator", 5.0)
    rotor_reactance_ohm: float | None = _ohm("rotor leakage reactance referred to the stator")
    rotor_reactance_pu: float | None = _pu("rotor leakage reactance referred to the stator", 5.0)
    second_rotor_resistance_ohm: float | None = _ohm("resistance of the second cage referred to the stator")
    second_rotor_resistance_pu: float | None = _pu("resistance of the second cage referred to the stator",
                                                   5.0)
    second_rotor_reactance_ohm: float | None = _ohm("leakage reactance of the second cage referred to the "
                                                    "stator")
    second_rotor_reactance_pu: float | None = _pu("leakage reactance of the second cage referred to the "
                                                  "stator", 5.0)


DESIGN_CLASSES = Literal["N", "H", "A", "B", "C", "D"]
NAMEPLATE_ONLY = ("locked_rotor_current_pct", "locked_rotor_torque_pct", "breakdown_torque_pct", "design_class",
                  "code_letter", "locked_rotor_saturation_pu")
USUAL = "common practice for medium-voltage motors of some megawatts"
Voltages = list[Annotated[float, Field(ge=1, le=200)]]
Currents = list[Annotated[float, Field(gt=0, le=1e6)]]
NO_LOAD_VOLTAGE, NO_LOAD_CURRENTS = "no_load_voltage_pct", ("no_load_current_a", "no_load_current_pct")
BEND = ("knee_pu", "saturated_pct")     # two straight lines, where there is no no-load curve
CLASS_BASIS = "by design_class; without it the rotor is taken as a single cage"


class Motor(Graded):
    """Nameplate of the motor; without an equivalent circuit one is fitted to it."""

    rated_kw: float = quantity("rated shaft power", least=0.1, most=2e5)
    rated_kv: float = quantity("rated line-to-line voltage", least=0.1, most=80, role="minor")
    frequency_hz: float = quantity("rated frequency", least=5, most=400, default=50.0,
                                   basis="common practice", role="setting")
    poles: int | None = quantity("number of poles", least=2, most=48, multiple_of=2, default=None,
                                 basis="the synchronous speed next above rated_rpm")
    rated_rpm: float | None = quantity("rated speed", least=1, most=24000, default=None,
                                       basis="slip of the equivalent circuit at rated power, or estimated")
    efficiency_pu: float | None = quantity("efficiency at rated power", least=0.3, under=1, default=None,
                                           basis="estimated from the rated power")
    power_factor_pu: float | None = quantity("power factor at rated power", least=0.3, most=1, default=None,
                                             basis="estimated from the rated power")
    locked_rotor_current_pct: float | None = quantity(
        "locked-rotor current at rated voltage, of rated current", least=150, most=1500, default=None,
        basis=CLASS_BASIS)
    locked_rotor_torque_pct: float | None = quantity(
        "locked-rotor torque at rated voltage, of rated torque", least=10, most=400, default=None, basis=CLASS_BASIS)
    breakdown_torque_pct: float | None = quantity(
        "breakdown torque at rated voltage, of rated torque", least=110, most=600, default=None,
        basis="by design_class, else common practice")
    design_class: DESIGN_CLASSES | None = setting(
        "design class of the motor, N or H (IEC 60034-12), A to D (NEMA MG 1)", None,
        "unknown")
    code_letter: str | None = setting("code letter of locked-rotor kVA per hp (NEMA MG 1), such as G", None, "unknown",
                                       pattern=r"^[A-HJ-NP-V]$")
    locked_rotor_saturation_pu: float = quantity(
        "leakage reactance at standstill and rated voltage, of the unsaturated one", least=0.3, most=1, default=1.0,
        basis="leakage does not saturate", role="minor")
    knee_pu: float = quantity("flux at which the main path saturates, of rated flux", least=0.5, most=3, default=1.15,
                              basis="common practice, 1.1 to 1.2", role="minor")
    saturated_pct: float = quantity(
        "slope of the magnetising inductance beyond the knee, of the unsaturated one; 100 never saturates", least=1,
        most=100, default=20.0, basis="common practice", role="minor")
    no_load_voltage_pct: Voltages | None = setting(
        "voltages of the no-load curve at rated frequency, of rated voltage, ascending; beyond the last one the last "
        "slope goes on", None, "knee_pu and saturated_pct", role="minor")
    no_load_current_a: Currents | None = setting("currents of the no-load curve", None, "knee_pu and saturated_pct",
                                                 role="minor")
    no_load_current_pct: Currents | None = setting("currents of the no-load curve, of rated current", None,
                                                   "knee_pu and saturated_pct", role="minor")
    high_frequency_quality: float = high_frequency_quality()
    inertia_kgm2: float | None = quantity("moment of inertia of the rotor", least=1e-4, most=1e6, default=None,
                                          basis="estimated from rated power and poles")
    winding_nf: float = quantity("capacitance of the winding to earth per phase", least=0, most=1e4,
                                 default=10.0, basis="common practice", role="minor")
    circuit: Circuit = Field(default_factory=Circuit, description="equivalent circuit of the motor")


def find_given_parts(motor: Motor) -> list[str]:
    """Parts of the equivalent circuit that were written, in either unit."""
    written = {name.rpartition("_")[0] for name in motor.circuit.model_fields_set}
    return [part for part in CIRCUIT + SECOND_CAGE if part in written]


def has_circuit(motor: Motor) -> bool:
    """Whether the case gives the equivalent circuit; a stator resistance alone goes with the nameplate."""
    return bool(set(find_given_parts(motor)) - {"stator_resistance"})


def find_poles(motor: Motor) -> int:
    """Number of poles, given or that of the synchronous speed next above the rated one."""
    return motor.poles or 2 * max(int(60.0 * motor.frequency_hz / given(motor.rated_rpm)), 1)


def find_efficiency(motor: Motor) -> Estimate:
    """Efficiency at rated power, given or estimated. [pu]"""
    if motor.efficiency_pu is not None:
        return Estimate(motor.efficiency_pu, "given")
    if has_circuit(motor):
        return Estimate(0.95, USUAL)
    return estimate_efficiency(motor.rated_kw * 1e3)


def find_power_factor(motor: Motor) -> Estimate:
    """Power factor at rated power, given or estimated. [pu]"""
    if motor.power_factor_pu is not None:
        return Estimate(motor.power_factor_pu, "given")
    if has_circuit(motor):
        return Estimate(0.88, USUAL)
    return estimate_power_factor(motor.rated_kw * 1e3, find_poles(motor))


def find_rated_va(motor: Motor) -> float:
    """Rated input power. [VA]"""
    return motor.rated_kw * 1e3 / (find_efficiency(motor).value * find_power_factor(motor).value)


def find_rated_current(motor: Motor) -> float:
    """Rated phase current, RMS. [A]"""
    return find_rated_va(motor) / (sqrt(3.0) * motor.rated_kv * 1e3)


def find_synchronous_rpm(motor: Motor) -> float:
    """Synchronous speed at rated frequency. [rpm]"""
    return 120.0 * motor.frequency_hz / find_poles(motor)


def find_circuit(motor: Motor) -> dict[str, float | None]:
    """Equivalent circuit in ohm, keyed `stator_resistance_ohm` and so on, None for an absent cage.

    A magnetising reactance that is not given is that of the no-load curve.

    Raises
    ------
    ValueError
        When the no-load curve does not show it.
    """
    base = (motor.rated_kv * 1e3) ** 2 / find_rated_va(motor)
    values = {}
    for part in CIRCUIT + SECOND_CAGE:
        ohm, pu = getattr(motor.circuit, f"{part}_ohm"), getattr(motor.circuit, f"{part}_pu")
        values[f"{part}_ohm"] = pu * base if ohm is None and pu is not None else ohm
    curve = find_no_load_curve(motor)
    if has_circuit(motor) and curve is not None and values["magnetising_reactance_ohm"] is None:
        points = no_load.find_points(*curve, find_stator(motor, values, 0.0))
        values["magnetising_reactance_ohm"] = no_load.find_reactance(points)
    return values


def find_no_load_curve(motor: Motor) -> tuple[list[float], list[float]] | None:
    """Voltages between lines [V] and line currents [A] of the no-load curve, None without one."""
    amps = motor.no_load_current_a
    if motor.no_load_current_pct is not None:
        amps = [find_rated_current(motor) * pct / 100.0 for pct in motor.no_load_current_pct]
    if motor.no_load_voltage_pct is None or amps is None:
        return None
    return [motor.rated_kv * 1e3 * pct / 100.0 for pct in motor.no_load_voltage_pct], amps


def find_stator(motor: Motor, circuit: dict[str, float | None], outside_loss: float) -> no_load.Stator:
    """What lies between the terminals and the main path, the losses outside the circuit [W] included."""
    volts = motor.rated_kv * 1e3
    return no_load.Stator(given(circuit["stator_resistance_ohm"]), given(circuit["stator_reactance_ohm"]),
                          outside_loss / volts**2, volts)


def find_shaft_power(circuit: dict[str, float | None], voltage: float, slip: float) -> float:
    """Shaft power of a circuit as `find_circuit` gives it at a line-to-line voltage [V], no friction. [W]

    Equivalent circuit in the steady state: P = 3 |I_r|^2 R_r (1 - s)/s summed over the cages, which is
    |E|^2 Re(Y_r) (1 - s) for the line-to-line voltage E across the rotor branches.

    Source: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, *Analysis of Electric Machinery*, chapter on
    symmetrical induction machines, steady state (from memory, to be checked).
    """
    z = {part: ohm for part, ohm in circuit.items() if ohm is not None}
    rotor = 1.0 / complex(z["rotor_resistance_ohm"] / slip, z["rotor_reactance_ohm"])
    if "second_rotor_resistance_ohm" in z:
        rotor += 1.0 / complex(z["second_rotor_resistance_ohm"] / slip, z["second_rotor_reactance_ohm"])
    inner = 1.0 / (rotor + 1.0 / complex(0.0, z["magnetising_reactance_ohm"]))
    stator = complex(z["stator_resistance_ohm"], z["stator_reactance_ohm"])
    gap = voltage * inner / (inner + stator)
    return abs(gap) ** 2 * rotor.real * (1.0 - slip)


def find_rated_slip(motor: Motor) -> float | None:
    """Slip at rated power on the running branch; None when the circuit does not give rated power there.

    The power is followed upwards from a slip of 0.01 % in steps of 5 % until it reaches rated power, and the
    crossing is bisected.
    """
    z, voltage, target = find_circuit(motor), motor.rated_kv * 1e3, motor.rated_kw * 1e3
    low, high = 0.0, 1e-4
    while find_shaft_power(z, voltage, high) < target:
        low, high = high, 1.05 * high
        if high > MOST_SLIP:
            return None
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if find_shaft_power(z, voltage, middle) >= target else (middle, high)
    return high


def find_defaults(motor: Motor) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    filled = {"efficiency_pu": Filled(*find_efficiency(motor)), "power_factor_pu": Filled(*find_power_factor(motor)),
              "rated_rpm": find_rated_rpm(motor),
              "poles": Filled(find_poles(motor), "the synchronous speed next above rated_rpm", "derived"),
              "inertia_kgm2": Filled(*estimate_motor_inertia(motor.rated_kw * 1e3, find_poles(motor)))}
    return filled | ({} if has_circuit(motor) else find_standstill(motor))


def find_rated_rpm(motor: Motor) -> Filled:
    """Rated speed from the circuit where there is one, else from the usual slip."""
    synchronous = find_synchronous_rpm(motor)
    if not has_circuit(motor):
        usual, basis = estimate_rated_slip(motor.rated_kw * 1e3, find_efficiency(motor).value)
        return Filled((1.0 - usual) * synchronous, basis)
    slip = find_rated_slip(motor)
    if slip is None:
        basis = "slip of 1.5 % (common practice): the circuit does not give rated power at rated voltage"
        return Filled(0.985 * synchronous, basis)
    return Filled((1.0 - slip) * synchronous, "slip of the equivalent circuit at rated power", "derived")


def find_standstill(motor: Motor) -> dict[str, Filled]:
    """Locked-rotor and breakdown figures of the nameplate where it does not give them."""
    design = motor.design_class
    given_torque, given_current = motor.locked_rotor_torque_pct, motor.locked_rotor_current_pct or motor.code_letter
    breakdown = estimate_breakdown_torque(design)
    filled = {"breakdown_torque_pct": Filled(100.0 * breakdown.value, breakdown.basis)}
    if motor.code_letter:
        current = estimate_current_of_code_letter(motor.code_letter, find_efficiency(motor).value,
                                                  find_power_factor(motor).value)
        filled["locked_rotor_current_pct"] = Filled(100.0 * current.value, current.basis, "derived",
                                                    ("code_letter", "efficiency_pu", "power_factor_pu"))
    elif design or given_torque:
        current = estimate_locked_rotor_current(design)
        filled["locked_rotor_current_pct"] = Filled(100.0 * current.value, current.basis)
    if design or given_current:
        torque = estimate_locked_rotor_torque(design)
        filled["locked_rotor_torque_pct"] = Filled(100.0 * torque.value, torque.basis)
    return filled


def find_torque(power_kw: float, speed_rpm: float) -> float:
    """Shaft torque of a power at a speed. [N m]"""
    return power_kw * 1e3 / (speed_rpm * pi / 30.0)
