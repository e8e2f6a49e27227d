"""Derived quantities of the transformers, from their nameplates on the principal tap."""

from typing import Any

import numpy as np


def survey_transformers(case: Any) -> dict[str, dict]:
    """Every transformer of a case by name: currents, impedance on each side, what it takes at no load."""
    return {unit.name: survey_transformer(unit) for unit in case.transformers}


def survey_transformer(unit: Any) -> dict:
    """Derived quantities of one transformer; impedances are per phase of the star."""
    entry = {}
    for side, volts in (("from", unit.from_v), ("to", unit.to_v)):
        entry[f"rated_current_{side}_a"] = unit.rated_va / (np.sqrt(3.0) * volts)
        entry[f"short_circuit_impedance_{side}_ohm"] = unit.impedance_pu * volts**2 / unit.rated_va
    return entry | {"no_load_mvar": find_magnetising(unit) / 1e6,
                    "no_load_loss_kw": unit.no_load_loss_pu * unit.rated_va / 1e3}


def find_magnetising(unit: Any) -> float:
    """Reactive power at rated voltage without load. [var]"""
    return unit.rated_va * np.sqrt(max(unit.no_load_current_pu**2 - unit.no_load_loss_pu**2, 0.0))
