"""The [[cable]] table: a symmetrical three-core cable from its constants per length."""

from math import sqrt

from sim.components.fields import Component, Filled, Name, quantity, setting

LIGHT_KM_PER_S = 299_792.458        # exact, definition of the metre


class Cable(Component):
    """Constants per length at power frequency, positive and zero sequence."""

    from_node: Name = setting("node of the near end", alias="from")
    to_node: Name = setting("node of the far end", alias="to")
    length_km: float = quantity("length of the cable", over=0, most=500)
    resistance_ohm_per_km: float = quantity("resistance per phase at operating temperature", least=1e-6,
                                            most=50)
    inductance_mh_per_km: float = quantity("inductance per phase, positive sequence", least=1e-4, most=10)
    capacitance_uf_per_km: float = quantity("capacitance per phase, positive sequence", least=1e-6, most=5)
    zero_resistance_ohm_per_km: float | None = quantity("zero-sequence resistance", least=1e-6, most=200,
                                                        default=None, basis="4 times the positive sequence")
    zero_inductance_mh_per_km: float | None = quantity("zero-sequence inductance", least=1e-4, most=50,
                                                       default=None, basis="3 times the positive sequence")
    zero_capacitance_uf_per_km: float | None = quantity(
        "zero-sequence capacitance", least=1e-6, most=5, default=None,
        basis="equal to the positive sequence: every core has its own screen")
    conductance_us_per_km: float = quantity("shunt conductance per phase", least=0, most=1000, default=0.0,
                                            basis="losses of extruded insulation are negligible")
    rated_kv: float | None = quantity("rated line-to-line voltage of the cable", least=0.1, most=800,
                                      default=None)
    ampacity_a: float | None = quantity("current the installed cable may carry", least=1, most=10000,
                                        default=None)


def find_defaults(cable: Cable) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    return {
        "zero_resistance_ohm_per_km": Filled(4.0 * cable.resistance_ohm_per_km,
                                             "4 times the positive sequence (common practice)"),
        "zero_inductance_mh_per_km": Filled(3.0 * cable.inductance_mh_per_km,
                                            "3 times the positive sequence (common practice)"),
        "zero_capacitance_uf_per_km": Filled(cable.capacitance_uf_per_km,
                                             "equal to the positive sequence: every core has its own screen"),
    }


def find_speed(inductance_mh_per_km: float, capacitance_uf_per_km: float) -> float:
    """Speed of a wave on the lossless line, 1/sqrt(LC). [km/s]"""
    return 1.0 / sqrt(inductance_mh_per_km * 1e-3 * capacitance_uf_per_km * 1e-6)
