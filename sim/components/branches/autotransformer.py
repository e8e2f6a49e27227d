"""The [[autotransformer]] table: a starting transformer with a tap, its star point unearthed."""

from sim.components.fields import Component, Name, high_frequency_quality, quantity, setting


class Autotransformer(Component):
    """Star-connected winding at the `from` end, tapped for the `to` end; saturates like a transformer.

    It makes both ends one zone of rated voltage: a bypass breaker beside it closes once it has been taken out (open
    transition), or the tap is left with its breaker while the bypass closes.
    """

    from_node: Name = setting("node of the whole winding", alias="from")
    to_node: Name = setting("node of the tap", alias="to")
    tap_pct: float = quantity("voltage of the tap, of the whole winding", least=10, most=100, default=65.0,
                              basis="common practice: 50, 65 and 80 %", role="setting")
    rated_mva: float = quantity("rated power at the tap", least=1e-3, most=500)
    impedance_pct: float = quantity("short-circuit impedance seen from the tap, own base", least=0.05, most=50,
                                    default=5.0, basis="common practice")
    x_over_r: float = quantity("ratio of leakage reactance to winding resistance", least=0.5, most=200, default=10.0,
                               basis="common practice")
    high_frequency_quality: float = high_frequency_quality()
    no_load_current_pct: float = quantity("no-load current, of rated current", least=1e-3, most=20, default=2.0,
                                          basis="common practice: small for its short duty", role="minor")
    knee_pu: float = quantity("flux at which the core saturates, of rated flux", least=1.0, most=3, default=1.1,
                              basis="common practice", role="minor")
