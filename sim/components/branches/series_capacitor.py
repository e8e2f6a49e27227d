"""The [[series_capacitor]] table: three capacitors in the way of the current, against a feeder's reactance."""

from sim.components.fields import Component, Name, quantity, setting


class SeriesCapacitor(Component):
    """Three capacitors; a breaker beside them is the bypass.

    What protects them against overvoltage (varistors or a gap) is not simulated: the largest voltage across them is
    held against the level at which it acts.
    """

    from_node: Name = setting("node of the first terminal", alias="from")
    to_node: Name = setting("node of the second terminal", alias="to")
    reactance_ohm: float = quantity("capacitive reactance per phase at rated frequency", least=1e-6, most=1e5)
    quality: float = quantity("ratio of reactance to resistance", least=10, most=1e5, default=2000.0,
                              basis="common practice, losses of 0.02 to 0.1 %", role="minor")
    rated_a: float | None = quantity("rated current, RMS", over=0, most=1e5, default=None,
                                     basis="no rated current: its voltage is not assessed", role="minor")
    limit_pu: float = quantity(
        "voltage at which its overvoltage protection acts, of the crest of its rated voltage", least=1.05, most=10,
        default=2.3, basis="IEC 60143-2, protective levels of 2.0 to 2.5 (from memory, to be checked)", role="minor")
