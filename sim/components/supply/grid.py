"""The [[grid]] table: a fixed-frequency supply behind its short-circuit impedance."""

from sim.components.fields import Component, Name, quantity, setting


class Grid(Component):
    """Stiff voltage behind the short-circuit impedance of the host."""

    node: Name = setting("node the grid feeds")
    rated_kv: float = quantity("rated line-to-line RMS voltage", least=0.1, most=800, role="minor")
    frequency_hz: float = quantity("frequency of the grid", least=5, most=400, default=50.0,
                                   basis="common practice", role="setting")
    short_circuit_mva: float = quantity("three-phase short-circuit power at the node", least=0.01, most=1e6)
    x_over_r: float = quantity("ratio of reactance to resistance of the short-circuit impedance", least=0.1,
                               most=500, default=10.0, basis="common practice for a host switchboard")
    voltage_pu: float = quantity("voltage behind the impedance, per unit of rated_kv", least=0.5, most=1.3,
                                 default=1.0, basis="rated voltage", role="setting")
    phase_deg: float = quantity("phase angle of the voltage at the start of the run", least=-360, most=360,
                                default=0.0, basis="free choice", role="setting")
    x0_over_x1: float = quantity("ratio of zero- to positive-sequence impedance", least=0.01, most=1000,
                                 default=1.0, basis="solidly earthed source (common practice)", role="minor")
    earthed: bool = setting("whether the neutral is earthed, true or false", True, "common practice", role="setting")
    neutral_resistance_ohm: float = quantity("resistance between neutral and earth", least=0, most=1e6, default=0.0,
                                             basis="solidly earthed, as x0_over_x1 says", role="minor")
    neutral_reactance_ohm: float = quantity("reactance between neutral and earth at rated frequency", least=0,
                                            most=1e6, default=0.0, basis="solidly earthed, as x0_over_x1 says",
                                            role="minor")
