"""A circuit by its ohms, for the worked examples."""

from types import SimpleNamespace


def make_circuit(rs, xs, xm, rr, xr, second=(None, None)):
    """Star-equivalent circuit; `second` is (R, X) of an outer cage."""
    return SimpleNamespace(stator_resistance_ohm=rs, stator_reactance_ohm=xs, magnetising_reactance_ohm=xm,
                           rotor_resistance_ohm=rr, rotor_reactance_ohm=xr,
                           second_rotor_resistance_ohm=second[0], second_rotor_reactance_ohm=second[1])
