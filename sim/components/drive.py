"""The [[drive]] table: a variable-frequency supply at the host with boost, ramp and current limit."""

from sim.components.fields import Component, Filled, Name, quantity, setting


class Drive(Component):
    """Open-loop V/f drive behind an output impedance.

    The voltage follows rated_kv * frequency / frequency_hz; the boost is added to it, full at zero frequency
    and falling in a straight line to nothing at boost_end_hz.
    """

    node: Name = setting("node the drive feeds")
    rated_kv: float = quantity("rated line-to-line RMS output voltage", least=0.1, most=72.5)
    rated_kva: float = quantity("rated apparent power", least=1, most=2e5)
    frequency_hz: float = quantity("rated output frequency", least=5, most=400, default=50.0,
                                   basis="common practice")
    output_resistance_pct: float = quantity("resistance of the output filter on the drive's own base",
                                            least=0, most=20, default=0.5, basis="common practice")
    output_reactance_pct: float = quantity("reactance of the output filter on the drive's own base",
                                           least=0.01, most=50, default=3.0, basis="common practice")
    start_hz: float = quantity("frequency at which the drive starts", least=0.05, most=100, default=1.5,
                               basis="common practice, 0.5 to 3 Hz")
    hold_s: float = quantity("time at the start frequency before the ramp", least=0, most=600, default=0.5,
                             basis="common practice")
    ramp_hz_per_s: float = quantity("rate of the frequency ramp", least=1e-3, most=100, default=2.0,
                                    basis="common practice, 1 to 5 Hz/s")
    target_hz: float | None = quantity("frequency at the end of the ramp", least=0.05, most=400, default=None,
                                       basis="frequency_hz")
    boost_pct: float = quantity("voltage added at zero frequency, of rated voltage", least=0, most=50,
                                default=0.0, basis="no boost")
    boost_end_hz: float = quantity("frequency at which the boost has fallen to nothing", least=0.1, most=100,
                                   default=10.0, basis="common practice")
    voltage_rise_s: float = quantity("time over which the voltage comes up after a start", least=0, most=60,
                                     default=0.3, basis="common practice")
    current_limit_pct: float = quantity("current limit, of rated current", least=10, most=400, default=110.0,
                                        basis="common practice: normal duty, 110 % for 60 s")
    current_filter_ms: float = quantity("time constant of the current measurement", least=0.1, most=1000,
                                        default=20.0, basis="common practice: one cycle at 50 Hz")
    stall_s: float = quantity("time at the current limit after which the drive trips", least=0.01, most=3600,
                              default=10.0, basis="common practice")
    earthed: bool = setting("whether the output neutral is earthed, true or false", False,
                            "drives feed an unearthed winding (common practice)")


def find_defaults(drive: Drive) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    return {"target_hz": Filled(drive.frequency_hz, "frequency_hz")}
