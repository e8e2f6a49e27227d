"""The [machine.motor] table: nameplate and equivalent circuit of an induction motor."""

from math import pi, sqrt

from sim.components.fields import Filled, Grade, Table, quantity, setting

CIRCUIT = ("stator_resistance", "stator_reactance", "magnetising_reactance", "rotor_resistance",
           "rotor_reactance")
SECOND_CAGE = ("second_rotor_resistance", "second_rotor_reactance")
MOST_SLIP = 0.2         # no motor is rated at more slip than this (common practice) [pu]
IN_OHM = "star equivalent per phase at rated frequency"
IN_PU = "on the motor's rated voltage and input power"


def _ohm(what: str):
    return quantity(f"{what}, {IN_OHM}", least=1e-6, most=1e6, default=None)


def _pu(what: str, most: float):
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


class Motor(Table):
    """Nameplate of the motor."""

    rated_kw: float = quantity("rated shaft power", least=0.1, most=2e5)
    rated_kv: float = quantity("rated line-to-line voltage", least=0.1, most=80)
    frequency_hz: float = quantity("rated frequency", least=5, most=400, default=50.0,
                                   basis="common practice")
    poles: int = quantity("number of poles", least=2, most=48, multiple_of=2)
    rated_rpm: float | None = quantity("rated speed", least=1, most=24000, default=None,
                                       basis="slip of the equivalent circuit at rated power")
    efficiency_pu: float = quantity("efficiency at rated power", least=0.3, under=1, default=0.95,
                                    basis="common practice for medium-voltage motors of some megawatts")
    power_factor_pu: float = quantity("power factor at rated power", least=0.3, most=1, default=0.88,
                                      basis="common practice for medium-voltage motors of some megawatts")
    winding_nf: float = quantity("capacitance of the winding to earth per phase", least=0, most=1e4,
                                 default=10.0, basis="common practice")
    grade: Grade | None = setting("grade of the motor's data", None, "grade of the machine")
    circuit: Circuit = setting("equivalent circuit of the motor")


def find_rated_va(motor: Motor) -> float:
    """Rated input power. [VA]"""
    return motor.rated_kw * 1e3 / (motor.efficiency_pu * motor.power_factor_pu)


def find_rated_current(motor: Motor) -> float:
    """Rated phase current, RMS. [A]"""
    return find_rated_va(motor) / (sqrt(3.0) * motor.rated_kv * 1e3)


def find_synchronous_rpm(motor: Motor) -> float:
    """Synchronous speed at rated frequency. [rpm]"""
    return 120.0 * motor.frequency_hz / motor.poles


def find_circuit(motor: Motor) -> dict[str, float | None]:
    """Equivalent circuit in ohm, keyed `stator_resistance_ohm` and so on, None for an absent cage."""
    base = (motor.rated_kv * 1e3) ** 2 / find_rated_va(motor)
    values = {}
    for part in CIRCUIT + SECOND_CAGE:
        ohm, pu = getattr(motor.circuit, f"{part}_ohm"), getattr(motor.circuit, f"{part}_pu")
        values[f"{part}_ohm"] = pu * base if ohm is None and pu is not None else ohm
    return values


def find_shaft_power(z: dict[str, float | None], voltage: float, slip: float) -> float:
    """Shaft power of a circuit as `find_circuit` gives it at a line-to-line voltage [V], no friction. [W]

    Equivalent circuit in the steady state: P = 3 |I_r|^2 R_r (1 - s)/s summed over the cages, which is
    |E|^2 Re(Y_r) (1 - s) for the line-to-line voltage E across the rotor branches.

    Source: P. C. Krause, O. Wasynczuk, S. D. Sudhoff, *Analysis of Electric Machinery*, chapter on
    symmetrical induction machines, steady state (from memory, to be checked).
    """
    rotor = 1.0 / complex(z["rotor_resistance_ohm"] / slip, z["rotor_reactance_ohm"])
    if z["second_rotor_resistance_ohm"] is not None:
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
    synchronous, slip = find_synchronous_rpm(motor), find_rated_slip(motor)
    if slip is None:
        basis = "slip of 1.5 % (common practice): the circuit does not give rated power at rated voltage"
        return {"rated_rpm": Filled(0.985 * synchronous, basis, "derived")}
    basis = "slip of the equivalent circuit at rated power"
    return {"rated_rpm": Filled((1.0 - slip) * synchronous, basis, "derived")}


def find_torque(power_kw: float, speed_rpm: float) -> float:
    """Shaft torque of a power at a speed. [N m]"""
    return power_kw * 1e3 / (speed_rpm * pi / 30.0)
