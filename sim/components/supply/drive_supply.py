"""What feeds a drive: its direct-voltage link and the front end at a node of another supply."""

from math import pi, sqrt
from typing import Literal

from sim.components.fields import Filled, Graded, Name, quantity, setting

STORED_S = 0.01         # energy of a usual link over rated power [s]
BRIDGE = sqrt(6.0) / pi     # fundamental line-to-line RMS per unit of direct voltage of a bridge that conducts
SPARE = 1.1             # a controlled front end works above the crest of its supply
DIODE_SPARE = 1.15      # diodes leave less than the crest: the bridge is fed with so much more


class DcLink(Graded):
    """Direct-voltage link between front end and output.

    While it falls below ride_through_pct the drive lowers its frequency, so that the turning masses feed the link.
    """

    rated_kv: float | None = quantity("rated direct voltage; with cells, twice the sum of a phase's", least=0.1,
                                      most=200, default=None,
                                      basis="by the front end, else by rated_kv of the drive", role="minor")
    capacitance_uf: float | None = quantity("capacitance of the link; with cells, of one link with the energy of all",
                                            least=1, most=1e7, default=None,
                                            basis="10 ms of rated power (common practice, 5 to 20 ms)")
    modulation_max_pct: float = quantity(
        "highest output voltage, of what sine modulation gives at most", least=10, most=127.3, default=115.5,
        basis="third-harmonic injection: 2/sqrt(3)", role="setting")
    loss_pct: float = quantity("power lost in the drive while it is on, of rated power", least=0, most=20, default=1.5,
                               basis="common practice", role="minor")
    undervoltage_trip_pct: float = quantity("direct voltage at which the pulses are blocked, of rated", least=1,
                                            most=99, default=70.0, basis="common practice, 65 to 80 %", role="setting")
    ride_through_pct: float = quantity(
        "direct voltage below which the drive lowers its frequency to live on the turning masses, of rated", least=0,
        most=99, default=0.0, basis="no kinetic buffering", role="setting")
    ride_through_hz_per_s: float = quantity("steepest slope of the frequency then", least=0.1, most=1000, default=300.0,
                                            basis="common practice: the motor's slip turns within 10 ms",
                                            role="setting")


class Pulses(Graded):
    """Pulse pattern of the output bridge, by comparison of a sine with a triangular carrier.

    It acts in the stretches of the waveform engine, those that study.detail_s asks for among them; the envelope engine
    carries the fundamental, and what the dead time takes from it.
    """

    bridge: Literal["two_level", "three_level", "cells"] = setting(
        "bridge: two or three levels, or cells in series in each phase", "three_level", "common practice")
    cells: int = quantity("cells in series in each phase", least=1, most=20, default=5,
                          basis="common practice in the medium-voltage range")
    carrier_hz: float = quantity("frequency of the carrier", least=50, most=50000, default=1000.0,
                                 basis="common practice, 0.5 to 2 kHz in the megawatt range")
    carrier_phase_deg: float = quantity("angle of the carrier at the start of the study", least=-360, most=360,
                                        default=0.0, basis="its top at the start")
    third_harmonic_pct: float = quantity("third harmonic added to the reference, of its fundamental", least=0, most=25,
                                         default=100.0 / 6.0, basis="one sixth: the most linear range")
    dead_time_us: float = quantity("time by which a switch turns on late", least=0, most=100, default=0.0,
                                   basis="compensated by the drive")


class FrontEnd(Graded):
    """Controlled or diode bridge that takes the drive's power from a node of another supply."""

    node: Name = setting("node the front end takes its power from")
    kind: Literal["active", "rectifier"] = setting("controlled bridge or diodes", "active", "common practice subsea",
                                                   role="setting")
    rated_kv: float | None = quantity("rated line-to-line RMS voltage of its supply", least=0.1, most=72.5,
                                      default=None, basis="nominal voltage of its node", role="minor")
    bridge_kv: float | None = quantity("rated line-to-line RMS voltage at the bridge, behind a transformer of its own",
                                       least=0.1, most=72.5, default=None, basis="by rated_kv of the drive")
    reactance_pct: float = quantity("reactance between node and bridge, filter and transformer, on the drive's base",
                                    least=0.5, most=50, default=12.0, basis="common practice")
    resistance_pct: float = quantity("resistance of the same", least=0, most=20, default=0.5, basis="common practice")
    pulses: int = quantity("pulses of a period of a diode bridge, a multiple of six", least=6, most=60, default=12,
                           basis="common practice: 12 or more in the megawatt range")
    power_factor: float = quantity("power factor at the node of a controlled bridge, lagging", least=0.3, most=1,
                                   default=1.0, basis="common practice", role="setting")
    leading: bool = setting("whether this power factor is leading instead, true or false", False, "lagging",
                            role="setting")
    current_max_pct: float = quantity("largest current of a controlled bridge, of rated", least=50, most=300,
                                      default=130.0, basis="common practice", role="setting")
    control_hz: float = quantity("natural frequency of the controller of the direct voltage", least=0.1, most=200,
                                 default=10.0, basis="common practice, 5 to 30 Hz", role="setting")
    current_ms: float = quantity("time constant of the controlled current", least=0.1, most=100, default=2.0,
                                 basis="common practice", role="setting")
    voltage_filter_ms: float = quantity("time constant of the measured supply voltage", least=0.1, most=1000,
                                        default=5.0, basis="common practice", role="setting")
    charged: bool = setting("whether the link is charged at the start of the study, true or false", True,
                            "the supply has been on for long", role="setting")
    charging_resistance_pct: float = quantity("resistor through which an empty link is charged, on the drive's base",
                                              least=5, most=1e4, default=200.0, basis="common practice", role="minor")


def find_front_defaults(front: FrontEnd, rated_kv: float, nominal_kv: float) -> dict[str, Filled]:
    """Defaults of a front end that follow from the drive's rated voltage and its node's nominal one. [kV]"""
    share = 1.0 if front.kind == "active" else DIODE_SPARE
    return {"rated_kv": Filled(nominal_kv, "nominal voltage of its node", "derived"),
            "bridge_kv": Filled(share * rated_kv, f"{share:g} times rated_kv of the drive")}


def find_link_defaults(rated_kv: float, rated_kva: float, front: FrontEnd | None,
                       bridge_kv: float) -> dict[str, Filled]:
    """Defaults of a link that follow from the drive's rating and the voltage at the bridge of its front end, if any."""
    if front is None:
        volts, basis = sqrt(2.0) * rated_kv, "the crest of rated_kv"
    elif front.kind == "active":
        volts, basis = SPARE * sqrt(2.0) * bridge_kv, "1.1 times the crest of bridge_kv"
    else:
        volts, basis = bridge_kv / BRIDGE, "pi/sqrt(6) times bridge_kv: diodes that conduct all the time"
    farads = 2.0 * STORED_S * 1e3 * rated_kva / (1e3 * volts) ** 2
    return {"rated_kv": Filled(volts, basis, "derived"),
            "capacitance_uf": Filled(1e6 * farads, "10 ms of rated power at rated_kv")}
