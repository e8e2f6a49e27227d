"""The [[transformer]] table: a two-winding transformer from its nameplate."""

import re

from sim.components.fields import Component, Name, quantity, setting

GROUP_PATTERN = r"^(D|YN|Y)(d|yn|y)([0-9]|1[01])$"


class Transformer(Component):
    """Two windings, leakage, linear core, connection and clock number (IEC 60076-1)."""

    from_node: Name = setting("node of the first winding", alias="from")
    to_node: Name = setting("node of the second winding", alias="to")
    rated_mva: float = quantity("rated power", least=1e-3, most=2000)
    from_kv: float = quantity("rated line-to-line voltage of the winding at the `from` end", least=0.1,
                              most=800)
    to_kv: float = quantity("rated line-to-line voltage of the winding at the `to` end", least=0.1, most=800)
    tap_pct: float = quantity("tap position, turns added to the `from` winding", least=-25, most=25,
                              default=0.0, basis="principal tap")
    impedance_pct: float = quantity("short-circuit impedance on the transformer's own base", least=0.1,
                                    most=50)
    x_over_r: float = quantity(
        "ratio of leakage reactance to winding resistance", least=0.5, most=200, default=15.0,
        basis="common practice: about 0.6 % resistance at 8 to 10 % impedance")
    vector_group: str = setting("connection of the windings and clock number, such as Dyn11 (IEC 60076-1)",
                                "Dyn11", "common practice", pattern=GROUP_PATTERN)
    no_load_current_pct: float = quantity("no-load current, of rated current", least=1e-3, most=20,
                                          default=0.5, basis="common practice, 0.5 to 1 %")
    no_load_loss_pct: float = quantity("no-load loss, of rated power", least=0, most=5, default=0.1,
                                       basis="common practice")
    winding_nf: float = quantity("capacitance to earth per phase of each winding", least=0, most=1000,
                                 default=2.0, basis="common practice")


def split_group(text: str) -> tuple[str, str, int]:
    """Letters of both windings and the clock number of a vector group; text must match `GROUP_PATTERN`."""
    first, second, clock = re.match(GROUP_PATTERN, text).groups()
    return first, second, int(clock)


def is_possible_group(text: str) -> bool:
    """Whether the clock number can be wound: even between like connections, odd between star and delta."""
    first, second, clock = split_group(text)
    is_alike = (first == "D") == (second == "d")
    return clock % 2 == (0 if is_alike else 1)
