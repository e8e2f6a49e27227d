"""The [[transformer]] table: a two-winding transformer from its nameplate."""

import re
from math import sqrt
from typing import Annotated, Any, Literal

from pydantic import Field

from sim.components.fields import Component, Filled, Name, given, high_frequency_quality, quantity, rounding, setting
from sim.params.estimate import Estimate
from sim.params.transformer_estimates import (
    estimate_air_core_reactance,
    estimate_bushing_capacitance,
    estimate_impedance,
    estimate_no_load_current,
    estimate_no_load_loss,
    estimate_winding_capacitance,
    estimate_x_over_r,
    x_over_r_from_load_loss,
)

Fluxes = Annotated[list[Annotated[float, Field(ge=-0.95, le=0.95)]], Field(min_length=3, max_length=3)]
GROUP_PATTERN = r"^(D|YN|Y)(d|yn|y)([0-9]|1[01])$"


NEUTRALS = ("from_neutral_resistance_ohm", "from_neutral_reactance_ohm", "to_neutral_resistance_ohm",
            "to_neutral_reactance_ohm")
THREE_LIMBS_PCT = 60.0


def _neutral(part: str, end: str) -> Any:
    at = " at rated frequency" if part == "reactance" else ""
    return quantity(f"{part}{at} between earth and the neutral of the winding at the `{end}` end", least=0, most=1e6,
                    default=0.0, basis="solidly earthed where the neutral is brought out", role="minor")


class Transformer(Component):
    """Two windings, leakage, linear core, connection and clock number (IEC 60076-1)."""

    from_node: Name = setting("node of the first winding", alias="from")
    to_node: Name = setting("node of the second winding", alias="to")
    rated_mva: float = quantity("rated power", least=1e-3, most=2000)
    from_kv: float = quantity("rated line-to-line voltage of the winding at the `from` end", least=0.1,
                              most=800)
    to_kv: float = quantity("rated line-to-line voltage of the winding at the `to` end", least=0.1, most=800)
    tap_pct: float = quantity("tap position, turns added to the `from` winding", least=-25, most=25,
                              default=0.0, basis="principal tap", role="setting")
    impedance_pct: float | None = quantity("short-circuit impedance on the transformer's own base", least=0.05,
                                           most=50, default=None, basis="by rated_mva")
    load_loss_kw: float | None = quantity("loss in the windings at rated current", least=1e-3, most=1e5,
                                          default=None, basis="from x_over_r")
    x_over_r: float | None = quantity("ratio of leakage reactance to winding resistance", least=0.5, most=200,
                                      default=None, basis="from load_loss_kw, else by rated_mva")
    high_frequency_quality: float = high_frequency_quality()
    vector_group: str = setting("connection of the windings and clock number, such as Dyn11 (IEC 60076-1)",
                                "Dyn11", "common practice", pattern=GROUP_PATTERN, role="setting")
    no_load_current_pct: float | None = quantity("no-load current, of rated current", least=1e-3, most=20,
                                                 default=None, basis="by rated_mva", role="minor")
    no_load_loss_kw: float | None = quantity("no-load loss", least=1e-3, most=1e4, default=None,
                                             basis="from no_load_loss_pct")
    no_load_loss_pct: float | None = quantity("no-load loss, of rated power", least=0, most=5, default=None,
                                              basis="from no_load_loss_kw, else by rated_mva", role="minor")
    knee_pu: float = quantity("flux at which the core saturates, of rated flux", least=1.0, most=3, default=1.15,
                              basis="common practice, 1.1 to 1.25", role="minor")
    knee_rounding_pct: float = rounding()
    air_core_pct: float | None = quantity("reactance of the outer winding with the core saturated, own base",
                                          least=2, most=200, default=None, basis="by rated_mva", role="minor")
    core: Literal["three_limb", "bank"] = setting("core: three limbs in one, or a bank of three single-phase units",
                                                  "three_limb", "common practice", role="minor")
    remanence_pu: Fluxes = setting("flux left in limbs a, b and c at the start, of rated peak flux", [0.0, 0.0, 0.0],
                                   "no remanence", role="setting")
    zero_magnetising_pct: float | None = quantity(
        "zero-sequence magnetising reactance of a three-limb core, own base", least=1, most=1e7, default=None,
        basis="three limbs 60 % (common practice, 30 to 100 %), a bank as in the positive sequence", role="minor")
    from_neutral_resistance_ohm: float = _neutral("resistance", "from")
    from_neutral_reactance_ohm: float = _neutral("reactance", "from")
    to_neutral_resistance_ohm: float = _neutral("resistance", "to")
    to_neutral_reactance_ohm: float = _neutral("reactance", "to")
    winding_nf: float | None = quantity("capacitance to earth per phase of each winding", least=0, most=1000,
                                        default=None, basis="by rated_mva", role="minor")
    bushing_nf: float | None = quantity("capacitance to earth per phase of the bushings at each end", least=0,
                                        most=100, default=None, basis="common practice", role="minor")


def find_defaults(transformer: Transformer) -> dict[str, Filled]:
    """Defaults that follow from other values, by key."""
    power = transformer.rated_mva * 1e6
    volts = max(transformer.from_kv, transformer.to_kv) * 1e3
    impedance = scale(estimate_impedance(power), 100.0)
    pct = transformer.impedance_pct or impedance.value
    return {
        "impedance_pct": impedance,
        "x_over_r": find_x_over_r(transformer, power, pct / 100.0),
        "no_load_current_pct": scale(estimate_no_load_current(power), 100.0),
        "no_load_loss_pct": find_no_load_loss(transformer, power),
        "zero_magnetising_pct": find_zero_magnetising(transformer, power),
        "air_core_pct": scale(estimate_air_core_reactance(power), 100.0),
        "winding_nf": scale(estimate_winding_capacitance(power), 1e9),
        "bushing_nf": scale(estimate_bushing_capacitance(volts), 1e9),
    }


def scale(estimate: Estimate, factor: float) -> Filled:
    """Default of an estimate in the unit of its key."""
    return Filled(factor * estimate.value, estimate.basis)


def find_x_over_r(transformer: Transformer, power: float, impedance: float) -> Filled:
    """From the load loss where it is given."""
    if transformer.load_loss_kw is None:
        return scale(estimate_x_over_r(power), 1.0)
    loss = transformer.load_loss_kw * 1e3
    if loss / power >= impedance:
        return Filled(None, "not given")
    return Filled(x_over_r_from_load_loss(loss, power, impedance), "load_loss_kw and impedance_pct", "derived")


def find_no_load_loss(transformer: Transformer, power: float) -> Filled:
    """From the loss in kW where it is given."""
    if transformer.no_load_loss_kw is None:
        return scale(estimate_no_load_loss(power), 100.0)
    return Filled(1e5 * transformer.no_load_loss_kw / power, "no_load_loss_kw and rated_mva", "derived")


def find_zero_magnetising(transformer: Transformer, power: float) -> Filled:
    """Zero-sequence magnetising reactance of the core: through air beside three limbs, within each unit of a bank."""
    if transformer.core != "bank":
        return Filled(THREE_LIMBS_PCT, "three limbs: the flux returns through air, 30 to 100 % (common practice)")
    current = transformer.no_load_current_pct or scale(estimate_no_load_current(power), 100.0).value
    loss = transformer.no_load_loss_pct
    loss = find_no_load_loss(transformer, power).value if loss is None else loss
    return Filled(1e4 / sqrt(max(current**2 - loss**2, 1e-8)), "a bank: as in the positive sequence, from "
                  "no_load_current_pct and no_load_loss_pct", "derived", ("no_load_current_pct", "no_load_loss_pct"))


def split_group(text: str) -> tuple[str, str, int]:
    """Letters of both windings and the clock number of a vector group; text must match `GROUP_PATTERN`."""
    first, second, clock = given(re.match(GROUP_PATTERN, text)).groups()
    return first, second, int(clock)


def is_possible_group(text: str) -> bool:
    """Whether the clock number can be wound: even between like connections, odd between star and delta."""
    first, second, clock = split_group(text)
    is_alike = (first == "D") == (second == "d")
    return clock % 2 == (0 if is_alike else 1)
