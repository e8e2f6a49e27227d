"""The [[reactor]] table: a shunt reactor from its nameplate, with an iron core that may saturate."""

from math import pi

from sim.components.fields import Component, Filled, Name, high_frequency_quality, quantity, rounding, setting


class Reactor(Component):
    """Three coils in star; beyond the knee each has the slope of its saturated core."""

    node: Name = setting("node the reactor hangs on")
    rated_mvar: float = quantity("rated reactive power of the three phases", least=1e-4, most=1000)
    rated_kv: float | None = quantity("rated line-to-line voltage", least=0.1, most=800, default=None,
                                      basis="nominal voltage of its node", role="minor")
    quality: float = quantity("ratio of reactance to resistance", least=1, most=1e5, default=300.0,
                              basis="common practice, 200 to 500", role="minor")
    high_frequency_quality: float = high_frequency_quality()
    knee_pu: float | None = quantity("flux at which the core saturates, of rated flux", least=1, most=3, default=None,
                                     basis="air core or a gap that keeps it linear", role="minor")
    knee_rounding_pct: float = rounding()
    saturated_pct: float = quantity("slope of the inductance beyond the knee, of the linear one", least=1, most=100,
                                    default=30.0, basis="common practice, 20 to 40 %", role="minor")
    earthed: bool = setting("whether the star point is earthed, true or false", True, "common practice", role="setting")


def find_defaults(reactor: Reactor, nominal_kv: float) -> dict[str, Filled]:
    """Rated voltage by the nominal voltage of its node. [kV]"""
    return {"rated_kv": Filled(nominal_kv, "nominal voltage of its node", "derived")}


def list_idle(reactor: Reactor) -> tuple[str, ...]:
    """Keys that mean nothing because the core does not saturate."""
    return () if reactor.knee_pu is not None else ("knee_rounding_pct", "saturated_pct")


def find_coil(rated_var: float, rated_v: float, quality: float, frequency_hz: float) -> tuple[float, float]:
    """Inductance and series resistance of one coil of the star.

    Parameters
    ----------
    rated_var, rated_v : float
        Reactive power of the three phases [var] at the line-to-line voltage [V].
    quality : float
        Reactance over resistance.
    frequency_hz : float
        [Hz]

    Returns
    -------
    inductance, resistance : float
        [H], [ohm]: Z = R + jX takes Q = V^2 X / (R^2 + X^2), hence X = V^2 / (Q (1 + 1/q^2)).
    """
    reactance = rated_v**2 / (rated_var * (1.0 + 1.0 / quality**2))
    return reactance / (2.0 * pi * frequency_hz), reactance / quality
