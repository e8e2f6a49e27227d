"""The [[arrester]] table: metal-oxide surge arresters from the three phases to earth."""

from typing import Annotated

from pydantic import Field

from sim.components.fields import Component, Filled, Name, given, quantity, setting
from sim.params.arrester_curve import RESIDUAL_CURRENT, find_voltage

Currents = list[Annotated[float, Field(ge=0, le=1e6)]]
Voltages = list[Annotated[float, Field(gt=0, le=5000)]]
CURVE = ("curve_a", "curve_kv")
CONTINUOUS_SHARE, RESIDUAL_SHARE = 0.8, 2.45


class Arrester(Component):
    """A set of three, phase to earth, with one curve of voltage against current."""

    node: Name = setting("node the arresters stand at")
    rated_kv: float = quantity("rated voltage, RMS phase to earth (IEC 60099-4)", least=0.1, most=800, role="minor")
    continuous_kv: float | None = quantity("continuous operating voltage, RMS phase to earth (IEC 60099-4)", least=0.05,
                                           most=800, default=None, basis="0.8 times rated_kv (common practice)")
    residual_kv: float | None = quantity("residual voltage at 10 kA, peak", least=0.1, most=3000, default=None,
                                         basis="from the curve, else 2.45 times rated_kv (common practice)")
    curve_a: Currents | None = setting("currents of the curve, peak, ascending", None, "typical metal oxide")
    curve_kv: Voltages | None = setting("voltages of the curve, peak, ascending", None, "typical metal oxide")
    energy_kj_per_kv: float | None = quantity("energy the arrester may take, for each kV of rated_kv", least=0.01,
                                              most=1000, default=None, basis="not known: its energy is not assessed")


def has_curve(arrester: Arrester) -> bool:
    """Whether the case gives the curve."""
    return bool(arrester.curve_a and arrester.curve_kv)


def find_defaults(arrester: Arrester) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    rated = arrester.rated_kv
    filled = {"continuous_kv": Filled(CONTINUOUS_SHARE * rated, "0.8 times rated_kv (common practice)"),
              "residual_kv": Filled(RESIDUAL_SHARE * rated, "2.45 times rated_kv (common practice)")}
    if has_curve(arrester):
        volts = find_voltage(given(arrester.curve_a), given(arrester.curve_kv), RESIDUAL_CURRENT)
        filled["residual_kv"] = Filled(volts, "the curve at 10 kA", "derived", CURVE)
    return filled
