"""The [[series_reactor]] table: three coils in the way of the current, for starting or limiting."""

from sim.components.fields import Component, Name, high_frequency_quality, quantity, setting


class SeriesReactor(Component):
    """Three linear coils, such as air-core ones; a breaker beside them is the bypass.

    With shunts to earth or to a star point behind them they are the filter of a drive.
    """

    from_node: Name = setting("node of the first terminal", alias="from")
    to_node: Name = setting("node of the second terminal", alias="to")
    reactance_ohm: float = quantity("reactance per phase at rated frequency", least=1e-6, most=1e5)
    zero_reactance_ohm: float | None = quantity(
        "reactance in the zero sequence, of a common-mode coil far above the other", least=1e-6, most=1e6, default=None,
        basis="as reactance_ohm: coils without coupling")
    quality: float = quantity("ratio of reactance to resistance", least=1, most=1e5, default=50.0,
                              basis="common practice, 30 to 100 for air cores", role="minor")
    high_frequency_quality: float = high_frequency_quality()
